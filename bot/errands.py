"""Slow work off the reply path: taken under a lease, tried again in time, given up aloud.

A handler works without any transaction and gives back what is to be written; that is written in the
transaction that settles the errand, so that its fruits stand once however often it was tried.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping
from contextlib import AbstractContextManager
from typing import Protocol, TypeAlias

from storage import errands as kept
from storage.work import Store, Work

from .model.errand import Errand
from .model.errors import ErrandFailed, ErrandHopeless, StoreUnavailable
from .model.message import Outgoing
from .ports import Clock

log = logging.getLogger("coldjar.errands")

AT_ONCE = 2  # slow work shares the machine with replies
TRIES = 8
FIRST_WAIT_S = 10
LONGEST_WAIT_S = 3600
LIMIT_S = 300  # what takes longer is stuck; far below the lease
LOOK_S = 5.0
REST_S = 1.0  # after a store that did not answer

Finish: TypeAlias = Callable[[Work], Awaitable[list[Outgoing]]]
GaveUp = Callable[[Errand, str], list[Outgoing]]


class Handler(Protocol):
    """Does one kind of errand."""

    async def __call__(self, errand: Errand) -> Finish:
        """Return what writes the fruits and gives the texts to send; it runs in the settling transaction.

        Raises ErrandFailed (try again) or ErrandHopeless (do not). It may be called again for the same
        errand after a kill: what it did outside the store must bear that.
        """
        ...


class Ride(Protocol):
    """One transaction's mail."""

    async def board(self, work: Work, texts: list[Outgoing]) -> None:
        """Queue these texts in the transaction."""
        ...

    def depart(self) -> None:
        """Send them, once the transaction is on disk."""
        ...


class Mail(Protocol):
    """Who sends texts."""

    def ride(self) -> AbstractContextManager[Ride]:
        """Take a transaction's texts along."""
        ...


async def nothing(work: Work) -> list[Outgoing]:
    """The fruit of an errand that leaves nothing to write and tells nobody."""
    return []


class Errands:
    """The one doer of errands. `gave_up` says who is told when one could not be done, in which words."""

    def __init__(
        self,
        store: Store,
        mail: Mail,
        clock: Clock,
        name: str,
        handlers: Mapping[str, Handler],
        gave_up: GaveUp,
    ) -> None:
        self._store = store
        self._mail = mail
        self._clock = clock
        self._name = name
        self._handlers = dict(handlers)
        self._gave_up = gave_up
        self._running: set[asyncio.Task[None]] = set()

    def learn(self, kind: str, handler: Handler) -> None:
        """This kind of errand is done by this handler from now on; before `start`, or it stays parked."""
        self._handlers[kind] = handler

    async def start(self) -> None:
        """What a process that is gone was doing is done again; what nobody did and somebody does now, too."""
        async with self._store.work() as work:
            orphans = await kept.orphan_leases(work.tx)
            found = await kept.unpark(work.tx, self._handlers)
        if orphans or found:
            log.warning("%d errands were cut short and %d were parked; they are done now", orphans, found)

    async def run(self) -> None:
        """Do what waits, for ever, a few at once."""
        try:
            while True:
                wait_s = await self._take_some()
                try:
                    async with asyncio.timeout(wait_s):
                        await self._store.asked.wait()
                except TimeoutError:
                    continue
                self._store.asked.clear()
        finally:
            for task in self._running:
                task.cancel()
            await asyncio.gather(*self._running, return_exceptions=True)

    async def _take_some(self) -> float:
        """Start what may be done now; how many seconds until there may be more, unless one is asked for."""
        try:
            for errand, attempt in await self._lease(AT_ONCE - len(self._running)):
                task = asyncio.create_task(self._do_and_make_room(errand, attempt))
                self._running.add(task)
                task.add_done_callback(self._running.discard)
            due_us = await self.next_us()
        except StoreUnavailable as problem:
            log.warning("errands wait: %s", problem)
            return REST_S
        if due_us is None or len(self._running) >= AT_ONCE:
            return LOOK_S
        return min(LOOK_S, max(0.01, (due_us - self._clock.now_us()) / 1_000_000))

    async def _do_and_make_room(self, errand: Errand, attempt: int) -> None:
        await self._do(errand, attempt)
        self._store.asked.set()  # there is room for another

    async def drain(self) -> int:
        """Nothing that may be done now waits any more, each done in its order; how many tries that took."""
        count = 0
        while leased := await self._lease(1):
            await self._do(*leased[0])
            count += 1
        return count

    async def next_us(self) -> int | None:
        """When an errand may be done next, None where none waits."""
        async with self._store.database.read() as tx:
            return await kept.next_us(tx)

    async def _lease(self, most: int) -> list[tuple[Errand, int]]:
        """Looked for without writing first: most of the time nothing waits."""
        due_us = await self.next_us()
        if most <= 0 or due_us is None or due_us > self._clock.now_us():
            return []
        async with self._store.work() as work:
            return await kept.lease(work.tx, self._name, self._clock.now_us(), most)

    async def _do(self, errand: Errand, attempt: int) -> None:
        """The errand is settled; where the store does not answer, its lease runs out and it is done again."""
        try:
            try:
                await self._try(errand)
            except ErrandHopeless as problem:
                await self._give_up(errand, str(problem))
            except ErrandFailed as problem:
                await self._later(errand, attempt, str(problem), problem.retry_after_s)
            except TimeoutError:
                await self._later(errand, attempt, f"not done within {LIMIT_S} s", None)
            except StoreUnavailable:
                raise
            except Exception:
                log.exception("errand %s %s broke", errand.kind, errand.subject)
                await self._later(errand, attempt, "it broke", None)
        except StoreUnavailable as problem:
            log.warning("errand %s %s could not be settled: %s", errand.kind, errand.subject, problem)

    async def _try(self, errand: Errand) -> None:
        handler = self._handlers.get(errand.kind)
        if handler is None:
            log.error("nobody here does errands of the kind %s; %s is parked", errand.kind, errand.subject)
            await self._settle(errand, "parked", "nobody does this kind", None, nothing)
            return
        async with asyncio.timeout(LIMIT_S):
            finish = await handler(errand)
        await self._settle(errand, "done", None, None, finish)

    async def _later(self, errand: Errand, attempt: int, problem: str, after_s: float | None) -> None:
        if attempt >= TRIES:
            await self._give_up(errand, f"{problem}, {attempt} tries")
            return
        wait_s = after_s if after_s is not None else min(FIRST_WAIT_S * 2 ** (attempt - 1), LONGEST_WAIT_S)
        log.warning("errand %s %s is tried again in %d s: %s", errand.kind, errand.subject, wait_s, problem)
        try_us = self._clock.now_us() + int(wait_s * 1_000_000)
        await self._settle(errand, "asked", problem, try_us, nothing)

    async def _give_up(self, errand: Errand, problem: str) -> None:
        log.error("errand %s %s was given up: %s", errand.kind, errand.subject, problem)

        async def tell(work: Work) -> list[Outgoing]:
            return self._gave_up(errand, problem)

        await self._settle(errand, "given_up", problem, None, tell)

    async def _settle(
        self, errand: Errand, state: str, problem: str | None, try_us: int | None, finish: Finish
    ) -> None:
        now_us = self._clock.now_us()
        with self._mail.ride() as ride:
            async with self._store.work() as work:
                texts = await finish(work)
                await kept.settle(work.tx, errand, state, now_us, problem, try_us)
                await ride.board(work, texts)
        ride.depart()
