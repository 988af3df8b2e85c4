"""SMS through one USB modem and its program, gammu-smsd: a text is acknowledged only after its commit.

The program's own database is the meeting place: what it heard stands in there until it is acknowledged.
A text that it gives twice, after a kill, has the same key.
"""

from __future__ import annotations

import asyncio
import logging
import re

from ..model.errors import ChannelDown, StoreUnavailable
from ..model.message import Outgoing
from ..model.modem import Letter, SentPart
from ..ports import Clock, Hands, Modem
from ..rules.gsm import parts
from .modem_parts import Whole, whole
from .sms_line import SmsLine, worded

log = logging.getLogger("coldjar.sms")

LOOK_S = 1.0  # between two looks at the program's tables
MOST = 500  # parts taken in at one look
GONE_S = 180.0  # the program writes of its phone each minute, unless it was told to do so less often
MARK = re.compile(r"coldjar ([0-9]{1,18}) [0-9]+")
FAILED = {"DeliveryFailed": "undelivered", "SendingError": "refused", "Error": "refused"}


class SmsGammu(SmsLine):
    """Channel and Line over the database of gammu-smsd."""

    def __init__(self, modem: Modem, clock: Clock, key: bytes) -> None:
        """`key` is the store's own: what is hidden in texts must not stand in their ids either."""
        super().__init__(clock)
        self.gone_s = GONE_S
        self._modem, self._key = modem, key
        self._told: dict[str, str] = {}

    async def run(self, hands: Hands) -> None:
        """Take in what the program heard, and what became of texts, for ever."""
        while True:
            try:
                self._look(await trouble_of(self._modem, self._clock, self.gone_s))
                await self.take_in(hands)
                await self._report(hands)
            except ChannelDown as problem:
                self._lost(str(problem))
            except StoreUnavailable as problem:
                log.warning("texts were not stored; they are taken in again: %s", problem)
            await asyncio.sleep(LOOK_S)

    async def send(self, text: Outgoing) -> None:
        """The program has the text on its own disk. Raises ChannelDown."""
        if self.trouble is not None:
            raise ChannelDown(self.trouble, LOOK_S)
        words, plain = worded(text.text)
        mark = f"coldjar {text.row} {text.queued_us}"
        await self._modem.place(
            Letter(
                number=text.account,
                parts=parts(words),
                gsm=plain,
                reference=text.row,
                mark=mark,
                again=text.again,
            )
        )

    async def take_in(self, hands: Hands) -> None:
        """What is complete is on record, and only then acknowledged. Raises ChannelDown, StoreUnavailable."""
        heard = await self._modem.heard(MOST)
        texts = whole(heard, self._clock.now_us(), self._key, giving=self.trouble is None)
        # Tasks begin in this order, so texts come to the desk in the order in which they came.
        results = await asyncio.gather(*(self._take(one, hands) for one in texts), return_exceptions=True)
        kept = [row for one, said in zip(texts, results, strict=True) if said is None for row in one.rows]
        if kept:
            await self._modem.done(kept)
        for said in results:
            if said is not None:
                raise said

    async def _take(self, one: Whole, hands: Hands) -> None:
        await hands.take(
            self._incoming(one.sender, one.key, one.text, one.sent_us, hands.region(), one.unread)
        )

    async def _report(self, hands: Hands) -> None:
        """What the program says of texts is kept with them, once for each change."""
        said = reports(await self._modem.sent())
        new = {mark: one for mark, one in said.items() if self._told.get(mark) != one}
        told = [(found[1], one) for mark, one in new.items() if (found := MARK.fullmatch(mark))]
        await asyncio.gather(*(hands.reported(int(row), one) for row, one in told))
        self._told = said

    def _look(self, trouble: str | None) -> None:
        if trouble is None:
            self._found("gammu-smsd")
        else:
            self._lost(trouble)


def reports(sent: list[SentPart]) -> dict[str, str]:
    """By mark, what all parts of a text come to: it was delivered once each of them was."""
    states: dict[str, set[str]] = {}
    for part in sent:
        states.setdefault(part.mark, set()).add(part.status)
    return {mark: _said(found) for mark, found in states.items()}


def _said(states: set[str]) -> str:
    for state, said in FAILED.items():
        if state in states:
            return said
    return "delivered" if states == {"DeliveryOK"} else "accepted"


async def trouble_of(modem: Modem, clock: Clock, gone_s: float = GONE_S) -> str | None:
    """Why the program reaches nobody, None while it does. Raises ChannelDown where its tables do not open."""
    seen_us = await modem.seen_us()
    if seen_us is None:
        return "gammu-smsd has not begun to work; start it"
    if clock.now_us() - seen_us > gone_s * 1_000_000:
        return "gammu-smsd has stopped, or its modem is gone; see to the modem and start it"
    return None
