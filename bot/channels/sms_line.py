"""What every way to texts by SMS has in common, whichever gateway carries them."""

from __future__ import annotations

import logging

from ..model.message import Incoming
from ..ports import Clock, Pace
from ..rules.gsm import is_gsm
from ..rules.phone_number import e164
from ..rules.sms_words import for_sms

log = logging.getLogger("coldjar.sms")


class SmsLine:
    """A line named "sms" to a gateway, which has a pace of its own."""

    name = "sms"

    def __init__(self, clock: Clock) -> None:
        self.pace: Pace | None = None
        self.trouble: str | None = "the SMS gateway was not reached yet"
        self._clock = clock

    def _incoming(
        self,
        sender: str,
        id_: str,
        text: str,
        sent_us: int | None,
        region: str | None,
        unread: str | None = None,
    ) -> Incoming:
        """A text as it came; what its network says it was sent at is never later than now."""
        now_us = self._clock.now_us()
        return Incoming(
            channel=self.name,
            account=e164(sender, region) or "unknown",
            message_id=id_,
            received_us=now_us,
            sent_us=now_us if sent_us is None else min(now_us, sent_us),
            text=text,
            unread=unread,
        )

    def _lost(self, why: str) -> None:
        """The gateway reaches nobody; said in the log when it begins."""
        if self.trouble != why:
            log.warning("%s", why)
        self.trouble = why

    def _found(self, what: str) -> None:
        """The gateway works; said in the log when it begins."""
        if self.trouble is not None:
            log.info("%s is connected", what)
        self.trouble = None


def worded(text: str) -> tuple[str, bool]:
    """The words as they leave, and whether the 7-bit alphabet holds them all."""
    words = for_sms(text)
    return words, is_gsm(words)
