"""The supervisor's digest: gathered off the reply path, sent at their own hour or when they ask."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from storage.work import Store, Work

from .children import answer_of
from .day import gather
from .dialogue.turn import Trade
from .errands import Finish
from .model.entries import UNIT_CHAIN, Draft, ShiftSummed
from .model.errand import Errand
from .model.message import Outgoing
from .model.people import Unit
from .model.times import MINUTE_US
from .ports import Clock
from .rules.civil_time import local

ASKED = "digest_asked"


class Digests:
    """Has a day gathered and sends it. `trade_of` gives the words and limits of a unit."""

    def __init__(self, store: Store, trade_of: Callable[[Unit], Trade], clock: Clock) -> None:
        self._store = store
        self._trade_of = trade_of
        self._clock = clock
        self._one_at_a_time = asyncio.Lock()  # many supervisors have the same hour, and replies need a core
        self.aside = True  # by a child; where time is moved by hand nobody waits for a reply meanwhile

    async def send(self, errand: Errand) -> Finish:
        """Return what sends the digest to whom the errand names: the screen, or what is behind it.

        Raises ErrandFailed.
        """
        to, more = errand.subject, bool(errand.doc.get("more"))
        now_us = self._clock.now_us()
        found = await self._gathered(to, errand.due_us)

        async def finish(work: Work) -> list[Outgoing]:
            if errand.doc.get("shift_of"):
                await work.record([_summed(str(errand.doc["shift_of"]), to, errand.due_us, found)])
            unit = work.snapshot.unit
            person = unit.people.get(to)
            trade = self._trade_of(unit).spoken(unit.language_of(to))
            address = None if person is None else person.address_by(trade.channels)
            if address is None:
                return []
            text = found["more"] or trade.words.say("digest.no_more") if more else found["text"]
            text = _said_late(text, errand.due_us, now_us, trade)
            channel, _, account = address.partition(":")
            return [Outgoing(channel=channel, account=account, person=to, text=text, queued_us=now_us)]

        return finish

    async def _gathered(self, to: str, at_us: int) -> dict[str, Any]:
        """The digest with its `text` and what is behind it as `more`."""
        database = self._store.database
        if not self.aside:
            async with database.read() as tx:
                return await gather(tx, self._trade_of, to, at_us)
        job = {"store": database.url, "to": to, "at_us": at_us}
        async with self._one_at_a_time:
            found: dict[str, Any] = await answer_of("The digest's process", ["bot.day"], job)
        return found


# What of a day is on record with a shift: what the next person takes over, not what was done.
LEFT = ("needs_you", "others_have", "people", "with", "coolers", "promises", "tomorrow")


def _summed(by: str, to: str, at_us: int, found: dict[str, Any]) -> Draft:
    """The shift as it was left, from the digest that its taker gets."""
    left = {name: found[name] for name in LEFT}
    left["coolers"] = [{**one, "readings": len(one["readings"])} for one in found["coolers"]]
    left["waiting"] = [one for one in found["at_risk"] if one["what"] != "excursion"]
    left["plan_gaps"] = {one["case"]: one["plan_gaps"] for one in found["cases"]}
    body = ShiftSummed(by=by, to=to, at_us=at_us, left=left, text=found["text"])
    return Draft(chain=UNIT_CHAIN, body=body, author="", channel="errand", said_us=at_us, received_us=at_us)


def _said_late(text: str, due_us: int, now_us: int, trade: Trade) -> str:
    """The text, saying in its first line of when it is where that is a while ago."""
    if now_us - due_us < trade.limits.due_late_minutes * MINUTE_US:
        return text
    at = local(due_us, trade.zone).strftime("%H:%M")
    first, _, rest = text.partition("\n")
    return "\n".join(filter(None, (f"{first} {trade.words.say('digest.late', at=at)}", rest)))
