"""Empties the outbox: leases what may go, sends in order within an address, retries, gives up aloud."""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Callable, Mapping

from storage.outbox import Settled
from storage.work import Store

from .model.errors import AddressGone, SendFailed, StoreUnavailable
from .model.message import Outgoing
from .ports import Channel, Clock

log = logging.getLogger("coldjar.pump")

BATCH = 256
TRIES = 12
FIRST_WAIT_S = 2
LONGEST_WAIT_S = 600
SEND_LIMIT_S = 30
REST_S = 1.0  # after a store that did not answer

GaveUp = Callable[[Outgoing, str], list[Outgoing]]


class Pump:
    """The one sender. `gave_up` says who is told when a text could not be sent, and in which words."""

    def __init__(
        self, store: Store, channels: Mapping[str, Channel], clock: Clock, name: str, gave_up: GaveUp
    ) -> None:
        self._store = store
        self._channels = channels
        self._clock = clock
        self._name = name
        self._gave_up = gave_up
        self._bell = asyncio.Event()
        self._results: deque[tuple[Settled, list[Outgoing]]] = deque()
        self._sending: set[asyncio.Task[None]] = set()

    def ring(self) -> None:
        """Something new may wait in the outbox."""
        self._bell.set()

    async def start(self) -> None:
        """What a process that is gone was sending may go again now, marked as a possible repeat."""
        async with self._store.work() as work:
            orphans = await work.orphan_leases()
        if orphans:
            log.warning("%d texts were being sent when the service ended; they may go twice", orphans)

    async def run(self) -> None:
        """Send what waits, for ever."""
        while True:
            self._bell.clear()
            try:
                await self.turn()
                wait_s = None if self._sending or self._results else await self._until_next_s()
            except StoreUnavailable as problem:
                log.warning("the outbox cannot be read: %s", problem)
                wait_s = REST_S
            await self._rest(wait_s)

    async def _rest(self, wait_s: float | None) -> None:
        try:
            await asyncio.wait_for(self._bell.wait(), wait_s)
        except TimeoutError:
            return

    async def _until_next_s(self) -> float | None:
        async with self._store.work() as work:
            due_us = await work.next_text_us()
        return None if due_us is None else max(0.01, (due_us - self._clock.now_us()) / 1_000_000)

    async def turn(self) -> bool:
        """Settle what was sent and lease what may go, in one transaction; True where there was any."""
        done: list[tuple[Settled, list[Outgoing]]] = []
        try:
            # A lease lost by a power cut means at most a text sent twice: no reason to wait for the disk.
            async with self._store.work(durable=False) as work:
                done = self._take_results()
                now_us = self._clock.now_us()
                await work.settle([settled for settled, _ in done], now_us)
                await work.queue([text for _, notices in done for text in notices])
                leased = await work.lease(self._name, now_us, BATCH)
        except StoreUnavailable:
            self._results.extendleft(reversed(done))
            raise
        groups: dict[str, list[tuple[Outgoing, int]]] = {}
        for text, attempt in leased:
            groups.setdefault(text.address, []).append((text, attempt))
        for group in groups.values():
            task = asyncio.create_task(self._send_in_order(group))
            self._sending.add(task)
            task.add_done_callback(self._sending.discard)
        return bool(leased or done)

    def _take_results(self) -> list[tuple[Settled, list[Outgoing]]]:
        return [self._results.popleft() for _ in range(len(self._results))]

    async def drain(self) -> None:
        """Nothing that may go now waits any more."""
        while await self.turn() or self._sending:
            if self._sending:
                await asyncio.wait(self._sending)

    async def stop(self) -> None:
        """What is being sent is sent, and settled."""
        if self._sending:
            await asyncio.wait(self._sending, timeout=SEND_LIMIT_S)
        done = self._take_results()
        async with self._store.work() as work:
            await work.settle([settled for settled, _ in done], self._clock.now_us())
            await work.queue([text for _, notices in done for text in notices])

    async def _send_in_order(self, group: list[tuple[Outgoing, int]]) -> None:
        """Texts to one address: after one that must wait, those behind it wait too."""
        blocked_us = 0
        for text, attempt in group:
            if blocked_us:
                self._results.append((Settled(text.row, "waiting", blocked_us, tried=False), []))
                continue
            settled, notices = await self._send(text, attempt)
            self._results.append((settled, notices))
            if settled.state == "waiting":
                blocked_us = settled.due_us
        self._bell.set()

    async def _send(self, text: Outgoing, attempt: int) -> tuple[Settled, list[Outgoing]]:
        channel = self._channels.get(text.channel)
        if text.again:
            log.warning("text %d to %s may have gone twice", text.row, text.channel)
        if channel is None:
            return self._give_up(text, f"there is no {text.channel} line here")
        try:
            async with asyncio.timeout(SEND_LIMIT_S):
                await channel.send(text)
        except AddressGone as problem:
            return self._give_up(text, str(problem))
        except SendFailed as problem:
            return self._later(text, attempt, str(problem), problem.retry_after_s)
        except TimeoutError:
            return self._later(text, attempt, f"no answer within {SEND_LIMIT_S} s", None)
        except Exception:
            log.exception("sending text %d by %s broke", text.row, text.channel)
            return self._later(text, attempt, "the channel broke", None)
        return Settled(text.row, "sent"), []

    def _later(
        self, text: Outgoing, attempt: int, problem: str, after_s: float | None
    ) -> tuple[Settled, list[Outgoing]]:
        if attempt >= TRIES:
            return self._give_up(text, f"{problem}, {attempt} tries")
        wait_s = after_s if after_s is not None else min(FIRST_WAIT_S * 2 ** (attempt - 1), LONGEST_WAIT_S)
        due_us = self._clock.now_us() + int(wait_s * 1_000_000)
        return Settled(text.row, "waiting", due_us, problem), []

    def _give_up(self, text: Outgoing, problem: str) -> tuple[Settled, list[Outgoing]]:
        log.error("text %d to %s was given up: %s", text.row, text.channel, problem)
        return Settled(text.row, "given_up", 0, problem), self._gave_up(text, problem)


