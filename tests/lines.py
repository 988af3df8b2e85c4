"""A house on a store with a line whose far end the test plays: it takes texts, fails, or never answers."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import storage.postgres
import storage.sqlite
from bot.clock import SeededSecrets, VirtualClock
from bot.install import apply_setup
from bot.model.message import Incoming, Outgoing, Receipt
from bot.model.times import us_of_iso
from bot.wiring import House, build
from storage.database import Database, dialect_of
from storage.engine import Session
from storage.work import Store
from tests.talk import ADDRESSES, KEY, SETUP

START_US = us_of_iso("2026-10-12T08:00:00Z")
SECOND_US = 1_000_000


class FarEnd:
    """The SMS line as the test plays it: `answer` is asked at each send; `tried` and `sent` tell what came."""

    name = "sms"

    def __init__(self, clock: VirtualClock) -> None:
        self._clock = clock
        self.tried: list[tuple[float, str, str]] = []
        self.sent: list[Outgoing] = []
        self.answer: Callable[[Outgoing], Exception | None] = lambda text: None
        self.silent = asyncio.Event()
        self.silent.set()

    async def send(self, text: Outgoing) -> None:
        self.tried.append(((self._clock.now_us() - START_US) / SECOND_US, text.address, text.text))
        await self.silent.wait()
        problem = self.answer(text)
        if problem is not None:
            raise problem
        self.sent.append(text)

    def to(self, who: str) -> list[str]:
        """The texts that this person was sent."""
        return [text.text for text in self.sent if text.address == ADDRESSES[who]]


class Line:
    """A house, its far end, and its clock."""

    def __init__(self, house: House, far: FarEnd, clock: VirtualClock) -> None:
        self.house, self.far, self.clock = house, far, clock
        self._count = 0

    def message(self, who: str, text: str, **more: object) -> Incoming:
        self._count += 1
        address = ADDRESSES.get(who, who)
        told = {"message_id": f"m{self._count}", "received_us": self.clock.now_us(), **more}
        return Incoming(channel="sms", account=address.partition(":")[2], text=text, **told)

    async def hears(self, *messages: Incoming) -> list[Receipt | BaseException]:
        """Hand these in together; what each was told. Their answers are on their way, not waited for."""
        waiting = [asyncio.ensure_future(self.house.desk.take(message)) for message in messages]
        while not all(task.done() for task in waiting):
            await asyncio.sleep(0)
            await self.house.desk.gulp()
        return await asyncio.gather(*waiting, return_exceptions=True)

    async def seconds_go_by(self, count: int, step: int = 1) -> None:
        """Time goes by in steps, and what is due at each goes out."""
        for _ in range(0, count, step):
            self.clock.move_to(self.clock.now_us() + step * SECOND_US)
            await self.house.pump.drain()

    async def outbox(self) -> list[tuple[str, str, int]]:
        """(state, problem or "", tries) of each text, in order."""
        async with self.house.store.database.read() as tx:
            return await tx.rows("SELECT state, COALESCE(problem, ''), attempts FROM outbox ORDER BY row")


def wrapped_database(url: str, wrap: Callable[[Session], Session], busy_s: float = 5.0) -> Database:
    """The store at this address, with something between it and each of its connections."""
    engine = storage.sqlite if dialect_of(url) == "sqlite" else storage.postgres
    opening = engine.opener(url, busy_s)

    async def connect(writes: bool) -> Session:
        return wrap(await opening(writes))

    return Database(url, connect)


@asynccontextmanager
async def line_to(
    url: str,
    folder: Path,
    name: str = "first",
    setup: str = SETUP,
    busy_s: float = 5.0,
    wrap: Callable[[Session], Session] = lambda session: session,
) -> AsyncIterator[Line]:
    """`wrap` may stand between the house and each of its connections."""
    clock, secrets = VirtualClock(START_US), SeededSecrets(name)
    store = Store(wrapped_database(url, wrap, busy_s), lambda: secrets.token(16))
    try:
        await apply_setup(store, setup, clock, secrets, KEY)
        far = FarEnd(clock)
        house = build(store, folder, {"sms": far}, clock, name, KEY)
        await house.pump.start()
        yield Line(house, far, clock)
    finally:
        await store.close()
