"""Empties the outbox: sends in order within an address, retries, gives up aloud.

Under load it has no transactions of its own: what became of texts, and the new ones, ride in the
desk's. A text is stored as being sent already, unless an earlier one to its address must wait.
"""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager

from storage.engine import Disk
from storage.outbox import Settled
from storage.work import Store, Work

from .limits import Limit
from .model.errors import AddressGone, ChannelDown, SendFailed, StoreUnavailable
from .model.message import Outgoing
from .ports import Channel, Clock, Pace

log = logging.getLogger("coldjar.pump")

BATCH = 256
TRIES = 12
FIRST_WAIT_S = 2
LONGEST_WAIT_S = 600
SEND_LIMIT_S = 30
DOWN_S = 5.0  # how often a channel that reaches nobody is tried
REST_S = 1.0  # after a store that did not answer
GATHER_S = 0.05  # results wait this long for a transaction to ride in
LOOK_S = 5.0  # how often the outbox is looked at unasked

GaveUp = Callable[[Outgoing, str], list[Outgoing]]


class Ride:
    """One transaction's mail: `board` inside it, `depart` once it is on disk."""

    def __init__(self, pump: Pump) -> None:
        self._pump = pump
        self.results: list[tuple[Settled, list[Outgoing]]] = []
        self.placed: list[Outgoing] = []

    async def board(self, work: Work, texts: list[Outgoing]) -> None:
        """What became of earlier texts is settled, and these are queued."""
        self.results = self._pump.take_results()
        now_us = self._pump.clock.now_us()
        await work.settle([settled for settled, _ in self.results], now_us)
        notices = [text for _, told in self.results for text in told]
        self.placed = await work.queue([*texts, *notices], self._pump.name, now_us, self._pump.later)
        self._pump.note_late(self.placed)

    def depart(self) -> None:
        """The texts that were queued are on their way."""
        self._pump.send_off(self.placed)

    def stay(self) -> None:
        """The texts that were queued wait, and go once a later transaction is on disk."""
        self._pump.hold_back(self.placed)


class Pump:
    """The one sender. `gave_up` says who is told when a text could not be sent, and in which words."""

    def __init__(
        self,
        store: Store,
        channels: Mapping[str, Channel],
        clock: Clock,
        name: str,
        gave_up: GaveUp,
        paces: Mapping[str, Pace] | None = None,
    ) -> None:
        self.clock = clock
        self.name = name
        self.later: set[str] = set()  # addresses with texts that wait: new ones queue behind them
        self._store = store
        self._channels = channels
        self._paces = paces or {}
        self.gather_late_s = 0.0  # how long a text about late jars waits for more of them
        self._late: dict[str, tuple[str, ...]] = {}
        self._stirred: dict[str, asyncio.Event] = {}
        self._stopping = False
        self._gave_up = gave_up
        self._bell = asyncio.Event()
        self._results: list[tuple[Settled, list[Outgoing]]] = []
        self._lanes: dict[str, deque[tuple[Outgoing, int]]] = {}
        self._sending: set[asyncio.Task[None]] = set()
        self.limit = Limit(SEND_LIMIT_S)

    def ring(self) -> None:
        """Something new may wait in the outbox."""
        self._bell.set()

    async def start(self) -> None:
        """What a process that is gone was sending may go again now, marked as a possible repeat."""
        async with self._store.work() as work:
            orphans = await work.orphan_leases()
            self.later = await work.waiting_addresses()
        if orphans:
            log.warning("%d texts were being sent when the service ended; they may go twice", orphans)
        self.ring()

    @contextmanager
    def ride(self) -> Iterator[Ride]:
        """A transaction's mail; as if it never was where the block ends badly."""
        ride = Ride(self)
        try:
            yield ride
        except BaseException:
            self._results[:0] = ride.results
            raise

    def send_off(self, texts: Iterable[Outgoing]) -> None:
        """These texts, stored as being sent, are being sent."""
        for text in texts:
            if text.address in self.later:  # an earlier text to it failed meanwhile
                self.hold_back([text])
            else:
                self._launch(text, 1)

    def note_late(self, texts: Iterable[Outgoing]) -> None:
        """What came after a dead zone waits a moment for what comes behind it, to be told in one text."""
        if self.gather_late_s:
            self._late.update((text.address, text.late) for text in texts if text.late)

    def unsent_late(self, addresses: Iterable[str]) -> dict[str, tuple[str, ...]]:
        """The jars of a text to each of these addresses that waits for what comes behind it."""
        if not self._late:
            return {}
        return {address: self._late[address] for address in addresses if address in self._late}

    def hold_back(self, texts: Iterable[Outgoing]) -> None:
        """These texts, stored as being sent, wait: none of them was tried."""
        for text in texts:
            self.later.add(text.address)
            self._late.pop(text.address, None)
            self._results.append((Settled(text.row, "waiting", self.clock.now_us(), tried=False), []))

    def take_results(self) -> list[tuple[Settled, list[Outgoing]]]:
        """What became of texts since the last time."""
        taken, self._results = self._results, []
        return taken

    async def run(self) -> None:
        """Settle and send what waits, for ever."""
        looks = True
        while True:
            wait_s = LOOK_S
            try:
                if looks or self._results or self.later:
                    await self.turn()
                wait_s = await self._until_next_s()
            except StoreUnavailable as problem:
                log.warning("the outbox cannot be read: %s", problem)
                wait_s = REST_S
            looks = not await self._rung_within(wait_s)

    async def _rung_within(self, wait_s: float) -> bool:
        """True where something happened, once it had its chance to ride in the desk's transaction."""
        try:
            async with asyncio.timeout(wait_s):
                await self._bell.wait()
        except TimeoutError:
            return False
        await asyncio.sleep(GATHER_S)
        self._bell.clear()
        return True

    async def _until_next_s(self) -> float:
        if not self.later:
            return LOOK_S
        async with self._store.database.read() as tx:
            due_us = await self._store.next_text_us(tx)
        wait_s = LOOK_S if due_us is None else (due_us - self.clock.now_us()) / 1_000_000
        return min(LOOK_S, max(0.01, wait_s))

    async def turn(self) -> bool:
        """Settle what was sent and lease what may go, in one transaction; True where there was any."""
        # A lease lost by a power cut means at most a text sent twice: no reason to wait for the disk.
        with self.ride() as ride:
            async with self._store.work(disk=Disk.NEVER) as work:
                await ride.board(work, [])
                leased = await work.lease(self.name, self.clock.now_us(), BATCH)
                self.later = await work.waiting_addresses()
        ride.depart()
        for text, attempt in leased:
            self._launch(text, attempt)
        return bool(leased or ride.results)

    async def drain(self) -> None:
        """Nothing that may go now waits any more."""
        while await self.turn() or self._sending or self._results:
            if self._sending:
                await asyncio.wait(self._sending)

    async def stop(self) -> None:
        """What is being sent is sent, and settled; what waits for its turn goes after the next start."""
        self._stopping = True
        for stirred in self._stirred.values():
            stirred.set()
        for pace in self._paces.values():
            pace.close()
        if self._sending:
            await asyncio.wait(self._sending, timeout=SEND_LIMIT_S)
        try:
            with self.ride() as ride:
                async with self._store.work() as work:
                    await ride.board(work, [])
        except StoreUnavailable as problem:
            log.warning("what was sent last could not be settled, and may go twice: %s", problem)
        else:
            ride.depart()

    def _launch(self, text: Outgoing, attempt: int) -> None:
        """The text goes behind those to its address that are on their way."""
        address = text.address
        lane = self._lanes.get(address)
        if lane is not None:
            if self.gather_late_s:
                self._replace_late(lane, text)
            lane.append((text, attempt))
            if address in self._stirred:
                self._stirred[address].set()
            return
        self._lanes[address] = lane = deque([(text, attempt)])
        task = asyncio.create_task(self._send_in_order(address, lane))
        self._sending.add(task)
        task.add_done_callback(self._sending.discard)

    async def _send_in_order(self, address: str, lane: deque[tuple[Outgoing, int]]) -> None:
        """Texts to one address: after one that must wait, those behind it wait too."""
        while lane:
            await self._let_gather(address, lane)
            text, attempt = lane.popleft()
            if self._late.get(address) == text.late:
                del self._late[address]
            settled, notices = await self._send(text, attempt)
            self._results.append((settled, notices))
            if settled.state == "waiting":
                self.later.add(address)
                behind = [Settled(one.row, "waiting", settled.due_us, tried=False) for one, _ in lane]
                self._results.extend((one, []) for one in behind)
                lane.clear()
        del self._lanes[address]
        self._bell.set()

    def _replace_late(self, lane: deque[tuple[Outgoing, int]], text: Outgoing) -> None:
        """An unsent text about late jars falls away where this one tells of all of them."""
        for one in [one for one in lane if one[0].late and set(one[0].late) <= set(text.late)]:
            lane.remove(one)
            self._results.append((Settled(one[0].row, "merged"), []))

    async def _let_gather(self, address: str, lane: deque[tuple[Outgoing, int]]) -> None:
        """Return once nothing more came for a moment, or another text waits behind."""
        while self.gather_late_s and len(lane) == 1 and lane[0][0].late and not self._stopping:
            stirred = self._stirred[address] = asyncio.Event()
            try:
                async with asyncio.timeout(self.gather_late_s):
                    await stirred.wait()
            except TimeoutError:
                break
            finally:
                del self._stirred[address]

    async def _send(self, text: Outgoing, attempt: int) -> tuple[Settled, list[Outgoing]]:
        channel = self._channels.get(text.channel)
        if text.again:
            log.warning("text %d to %s may have gone twice", text.row, text.channel)
        if channel is None:
            return self._give_up(text, f"there is no {text.channel} line here")
        try:
            await self._hand_over(channel, text)
        except AddressGone as problem:
            return self._give_up(text, str(problem))
        except ChannelDown as problem:
            due_us = self.clock.now_us() + int((problem.retry_after_s or DOWN_S) * 1_000_000)
            return Settled(text.row, "waiting", due_us, str(problem), tried=False), []
        except SendFailed as problem:
            settled, told = self._later(text, attempt, str(problem), problem.retry_after_s)
            return settled._replace(again=problem.maybe_sent), told
        except TimeoutError:
            settled, told = self._later(text, attempt, f"no answer within {self.limit.limit_s:g} s", None)
            return settled._replace(again=True), told
        except Exception:
            log.exception("sending text %d by %s broke", text.row, text.channel)
            return self._later(text, attempt, "the channel broke", None)
        return Settled(text.row, "sent"), []

    async def _hand_over(self, channel: Channel, text: Outgoing) -> None:
        """The text has its turn, however long that takes, and is sent within the limit."""
        pace = self._paces.get(text.channel)
        if pace is not None:
            await pace.turn(text.account)
        with self.limit:
            await channel.send(text)

    def _later(
        self, text: Outgoing, attempt: int, problem: str, after_s: float | None
    ) -> tuple[Settled, list[Outgoing]]:
        if attempt >= TRIES:
            return self._give_up(text, f"{problem}, {attempt} tries")
        wait_s = after_s if after_s is not None else min(FIRST_WAIT_S * 2 ** (attempt - 1), LONGEST_WAIT_S)
        due_us = self.clock.now_us() + int(wait_s * 1_000_000)
        return Settled(text.row, "waiting", due_us, problem), []

    def _give_up(self, text: Outgoing, problem: str) -> tuple[Settled, list[Outgoing]]:
        log.error("text %d to %s was given up: %s", text.row, text.channel, problem)
        return Settled(text.row, "given_up", 0, problem), self._gave_up(text, problem)
