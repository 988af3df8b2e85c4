"""A line to talk to in tests: the real house on a real store, its clock moved by hand."""

from __future__ import annotations

import asyncio
import itertools
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from bot.clock import SeededSecrets, VirtualClock
from bot.install import apply_setup
from bot.model.entries import DisclosureTold, Draft
from bot.model.message import Attachment, Incoming, Outgoing, Receipt, SharedPosition
from bot.model.times import MINUTE_US, us_of_iso
from bot.show import show
from bot.wiring import House, build
from storage.database import open_database
from storage.rebuild import contents, rebuild
from storage.verify import Verdict, verify
from storage.work import Store

ADDRESSES = {
    "R1": "sms:+447700900001",
    "R2": "sms:+447700900002",
    "C1": "sms:+447700900003",
    "S1": "sms:+447700900004",
    "S2": "sms:+447700900005",
    "D1": "sms:+447700900006",
}
SETUP = """
[unit]
name = "Corrowby Haven"
zone = "Europe/Lisbon"
area = { south = 47.20, north = 47.40, west = -20.10, east = -19.80 }
region = "GB"
[[people]]
name = "R1"
roles = ["responder"]
addresses = ["sms:+447700900001", "web:r1"]
[[people]]
name = "R2"
roles = ["responder"]
addresses = ["sms:+447700900002"]
[[people]]
name = "C1"
roles = ["custodian"]
addresses = ["sms:+447700900003"]
[[people]]
name = "S1"
roles = ["supervisor"]
addresses = ["sms:+447700900004"]
[[kits]]
name = "A"
numbers = [1, 19]
seals = ["5101", "5121"]
[[coolers]]
name = "M"
class = "50 L ordinary"
[[cases]]
name = "CH-014"
people = ["R1", "R2"]
kits = ["A"]
opened = "2026-10-12T08:00:00+01:00"
"""
DRILL = """
[[cases]]
name = "CH-900"
exercise = true
people = ["R1", "R2"]
kits = ["A"]
opened = "2026-10-12T08:00:00+01:00"
"""
KEY = b"a key for tests"
START = "2026-10-12T08:00:00Z"


class Outbox:
    """The thinnest stand-in for a channel: it keeps what was sent."""

    def __init__(self, name: str, sent: list[Outgoing]) -> None:
        self.name = name
        self._sent = sent

    async def send(self, text: Outgoing) -> None:
        self._sent.append(text)


class Talk:
    """Says things to a house and tells what came back."""

    def __init__(self, house: House, clock: VirtualClock, sent: list[Outgoing]) -> None:
        self.house = house
        self.clock = clock
        self.sent = sent
        self.receipt: Receipt | None = None
        self._ids = itertools.count()

    async def says(self, who: str, text: str = "", **more: Any) -> str:
        """Send one text a minute later (or `at`); what the sender was answered, joined by lines."""
        await self.hears(who, text, **more)
        address = ADDRESSES.get(who, who)
        return "\n".join(one.text for one in self.sent if one.address == address)

    async def hears(
        self,
        who: str,
        text: str = "",
        *,
        at: str | None = None,
        sent_at: str | None = None,
        message_id: str | None = None,
        position: tuple[float, float] | None = None,
        press: str | None = None,
        files: tuple[Attachment, ...] = (),
    ) -> list[Outgoing]:
        """Send one text; everything that went out because of it, to anybody."""
        self.clock.move_to(us_of_iso(at) if at else self.clock.now_us() + MINUTE_US)
        channel, _, account = ADDRESSES.get(who, who).partition(":")
        message = Incoming(
            channel=channel,
            account=account,
            message_id=message_id or f"m{next(self._ids)}",
            received_us=self.clock.now_us(),
            sent_us=us_of_iso(sent_at) if sent_at else None,
            text=text,
            press=press,
            position=SharedPosition(lat=position[0], lon=position[1]) if position else None,
            attachments=files,
        )
        self.sent.clear()
        await self.take(message)
        return list(self.sent)

    async def take(self, *messages: Incoming) -> None:
        """Hand messages in together, and send what follows."""
        waiting = [asyncio.ensure_future(self.house.desk.take(message)) for message in messages]
        while not all(task.done() for task in waiting):
            await asyncio.sleep(0)
            await self.house.desk.gulp()
        self.receipt = waiting[-1].result()
        await self.house.drain()

    async def waits(self, until: str) -> list[Outgoing]:
        """Let time go by; everything that went out on the way, each thing done at its own instant."""
        until_us = us_of_iso(until)
        self.sent.clear()
        while (due_us := await self.house.ticker.next_due_us()) is not None and due_us <= until_us:
            self.clock.move_to(max(due_us, self.clock.now_us()))
            assert await self.house.ticker.tick()
            await self.house.drain()
        self.clock.move_to(until_us)
        return list(self.sent)

    async def show(self, what: str, case: str | None = None) -> list[dict[str, Any]]:
        """What `show` prints."""
        return await show(self.house.store.database, what, case)

    async def jar(self, number: str, nth: int = 0) -> dict[str, Any]:
        """The jar of this number as `show samples` has it."""
        return [jar for jar in await self.show("samples") if jar["number"] == number][nth]

    async def verdict(self) -> Verdict:
        """What `verify` says."""
        async with self.house.store.database.read() as tx:
            return await verify(tx)

    async def rebuilds_the_same(self) -> bool:
        """True where a rebuild gives the tables bit for bit."""
        async with self.house.store.database.write() as tx:
            before = await contents(tx)
            await rebuild(tx)
            return before == await contents(tx)


async def tell_all(store: Store, now_us: int) -> None:
    """Everybody has been told that what is texted may be disclosed: no answer says so any more."""
    async with store.work() as work:
        told = [DisclosureTold(name=name) for name in work.snapshot.unit.people]
        await work.change_unit(
            [
                Draft(chain="unit", body=body, author="", channel="setup", said_us=now_us, received_us=now_us)
                for body in told
            ]
        )


@asynccontextmanager
async def talk_to(
    url: str, folder: Path, setup: str = SETUP, start: str = START, told: bool = True
) -> AsyncIterator[Talk]:
    """A migrated store brought to a setup, with a house over it."""
    clock = VirtualClock(us_of_iso(start))
    secrets = SeededSecrets("talk")
    database = await open_database(url)
    store = Store(database, lambda: secrets.token(16))
    try:
        await apply_setup(store, setup, clock, secrets, KEY)
        if told:
            await tell_all(store, clock.now_us())
        sent: list[Outgoing] = []
        channels = {name: Outbox(name, sent) for name in ("sms", "web")}
        house = build(store, folder, channels, clock, "talk", KEY)
        house.digests.aside = False
        yield Talk(house, clock, sent)
    finally:
        await store.close()
