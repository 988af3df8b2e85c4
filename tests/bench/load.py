"""The whole job as load: a unit of many phones, each leading jars by the hand through the real house."""

from __future__ import annotations

import asyncio
import itertools
import tempfile
import time
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from string import ascii_uppercase

from bot.clock import SeededSecrets, SystemClock
from bot.install import apply_setup
from bot.model.message import Incoming, Outgoing
from bot.settings import Settings
from bot.wiring import House, build, open_store

SETUP = """
[unit]
name = "Corrowby Haven"
zone = "Europe/Lisbon"
area = {{ south = 47.20, north = 47.40, west = -20.10, east = -19.80 }}
{people}
[[coolers]]
name = "M"
{cases}
"""
PERSON = '[[people]]\nname = "P{0}"\naddresses = ["web:p{0}"]\n'
CASE = '[[cases]]\nname = "CH-{0}"\npeople = [{1}]\nopened = "2026-01-01T00:00:00+00:00"\n'
ANSWERS = (
    "1", "1", "shut now pad", "47.2830N 19.9510W", "{seal}", "skip", "M 4.4C", "gloves changed ok",
)  # fmt: skip


class Phones:
    """A channel that notes when each text went out, for whom."""

    name = "web"

    def __init__(self) -> None:
        self.sent: list[tuple[str, float]] = []
        self.waiting: dict[str, asyncio.Future[None]] = {}

    async def send(self, text: Outgoing) -> None:
        self.sent.append((text.account, time.perf_counter()))
        waiting = self.waiting.pop(text.account, None)
        if waiting is not None and not waiting.done():
            waiting.set_result(None)


@dataclass
class Line:
    """A house under load."""

    house: House
    phones: Phones
    people: int
    jobs: list[asyncio.Task[None]] = field(default_factory=list)


@asynccontextmanager
async def line(people: int, folder: Path | None = None, more: str = "") -> AsyncIterator[Line]:
    """A running house for this many phones, ten to a case, with what `more` of its setup says."""
    with tempfile.TemporaryDirectory(prefix="coldjar-bench-") as made:
        place = folder or Path(made)
        secrets = SeededSecrets("bench")
        store = await open_store(place, Settings(), secrets, make=True)
        text = SETUP.format(
            people="".join(PERSON.format(n) for n in range(people)),
            cases="".join(
                CASE.format(c, ", ".join(f'"P{n}"' for n in range(c * 10, min(people, c * 10 + 10))))
                for c in range((people + 9) // 10)
            ),
        )
        await apply_setup(store, text + more, SystemClock(), secrets, b"bench")
        phones = Phones()
        house = build(store, place, {"web": phones}, SystemClock(), "bench", b"bench")
        await house.pump.start()
        made_line = Line(house, phones, people)
        made_line.jobs = [asyncio.create_task(house.desk.run()), asyncio.create_task(house.pump.run())]
        try:
            yield made_line
        finally:
            for job in made_line.jobs:
                job.cancel()
            await asyncio.gather(*made_line.jobs, return_exceptions=True)
            await house.pump.stop()
            await house.close()


_ids = itertools.count()


def message(person: int, text: str) -> Incoming:
    """One text from a phone, sent and received now."""
    now_us = time.time_ns() // 1000
    return Incoming(
        channel="web", account=f"p{person}", message_id=f"{person}:{next(_ids)}", received_us=now_us,
        sent_us=now_us, text=text,
    )  # fmt: skip


def lettered(person: int, jar: int) -> str:
    """A sample number of this person's in their case: two letters and three digits, as any may be."""
    return f"{ascii_uppercase[person % 10]}{ascii_uppercase[jar // 999]}-{jar % 999 + 1}"


def jar_by_hand(person: int, jar: int) -> Iterator[str]:
    """The texts of one guided jar; the first one of a person answers the safety questions."""
    yield "jar"
    if jar == 0:
        yield "mate, cleared"
        yield "yes"
    yield str(person % 10 * 100 + jar % 100) if jar < 100 else lettered(person, jar)
    for answer in ANSWERS:
        yield answer.format(seal=f"{person:04d}{jar:05d}")
