"""What is due now, done once under its key: a restart, a late wake-up and a clock change are one case.

Rows are filed in the transaction of the fact that they follow from; what comes again each day is worked
out from when it was last done. A tick costs what is due, not what is stored.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from datetime import time
from typing import Protocol

from storage import due
from storage.database import Tx
from storage.ledger import seal
from storage.midnight import seal_heads
from storage.work import Store, Work, WriteSet

from .dialogue.turn import Trade
from .model.board import Board, Missing
from .model.due import Due
from .model.errand import Errand
from .model.errors import ColdjarError
from .model.message import Outgoing
from .model.people import Unit
from .model.times import DAY_US
from .ports import Clock
from .rules.alerts import digest_times, rungs
from .watch.due import DIGEST, MIDNIGHT, VERIFY, each_day, midnights
from .watch.duties import DUTIES
from .watch.ladder import LADDER
from .watch.scene import Scene, Watched, outgoing

log = logging.getLogger("coldjar.ticker")

BATCH = 100  # rows a transaction: replies go between
LOOKS = 60  # a duty that needs more look-ups than this is broken, not thorough


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


class Ticker:
    """Called by a clock, or by replay; what is due stands in the store alone."""

    def __init__(self, store: Store, clock: Clock, mail: Mail, trade_of: Callable[[Unit], Trade]) -> None:
        self._store = store
        self._clock = clock
        self._mail = mail
        self._trade_of = trade_of
        self.verifies = False  # whether the record is verified after each midnight

    async def start(self) -> None:
        """What an older release parked and this one does is due again."""
        async with self._store.work() as work:
            found = await due.unpark(work.tx, DUTIES)
        if found:
            log.warning("%d things were parked; they are done now", found)

    async def tick(self) -> int:
        """Everything that is due has been done, late where it is late; how many things that were."""
        done = 0
        while (due_us := await self.next_due_us()) is not None and due_us <= self._clock.now_us():
            with self._mail.ride() as ride:
                async with self._store.work() as work:
                    some = await self._each_day(work) + await self._some(work, ride)
            ride.depart()
            done += some
            if not some:
                break
        return done

    async def next_due_us(self) -> int | None:
        """When something is due next, None where nothing ever will be."""
        unit = self._store.unit
        if unit is None:
            async with self._store.work() as work:
                unit = work.snapshot.unit
        async with self._store.database.read() as tx:
            waiting = await due.next_us(tx)
            since_us = await due.since(tx, MIDNIGHT)
            daily = [] if since_us is None else [next(midnights(since_us, None, unit.zone))[1]]
            daily += [next(each)[1] for _, each in await self._digests(tx, unit, None)]
        return min((us for us in (waiting, *daily) if us is not None), default=None)

    async def _each_day(self, work: Work) -> int:
        """Every midnight up to now has its entry."""
        now_us, done = self._clock.now_us(), 0
        since_us = await due.since(work.tx, MIDNIGHT)
        if since_us is None:
            return 0
        for day, at_us in midnights(since_us, now_us, work.snapshot.unit.zone):
            if await due.file(work.tx, MIDNIGHT, day, at_us, now_us):
                await seal_heads(work, day, at_us, now_us)
                done += 1
        if done and self.verifies:
            await work.ask([Errand(kind=VERIFY, subject=day, due_us=at_us)])
        for name, each in await self._digests(work.tx, work.snapshot.unit, now_us):
            wanted = [
                Errand(kind=DIGEST, subject=name, due_us=at_us, doc={"day": day}) for day, at_us in each
            ]
            if wanted:
                await work.ask(wanted)
                done += len(wanted)
        return done

    async def _digests(
        self, tx: Tx, unit: Unit, until_us: int | None
    ) -> list[tuple[str, Iterator[tuple[str, int]]]]:
        """Whose digest is due after the last one, until then; a line's first within the day before."""
        first_us = await due.first_entry_us(tx)
        found = []
        for name, at in digest_times(unit).items() if first_us is not None else ():
            last_us = await due.last_of(tx, DIGEST, name)
            since_us = max(first_us or 0, self._clock.now_us() - DAY_US) if last_us is None else last_us
            found.append((name, each_day(time.fromisoformat(at), since_us, until_us, unit.zone)))
        return found

    async def _some(self, work: Work, ride: Ride) -> int:
        """The oldest rows that are due are done, in order; what nobody does or what breaks is parked."""
        now_us = self._clock.now_us()
        rows = await due.ripe(work.tx, now_us, BATCH)
        if not rows:
            return 0
        moment = _Moment(work, self._trade_of(work.snapshot.unit), now_us)
        await work.supply(moment.board, (("alert", row.subject) for row in rows if row.kind == LADDER))
        states = [(row, await moment.do(row)) for row in rows]
        await due.settle(work.tx, states, now_us)
        await work.keep(moment.board, moment.writes)
        await ride.board(work, moment.writes.texts)
        return len(rows)


class _Moment:
    """The working copies of one transaction of the ticker."""

    def __init__(self, work: Work, trade: Trade, now_us: int) -> None:
        self.board: Board = work.board()
        self.writes = WriteSet()
        self._work = work
        self._trade = trade
        self._now_us = now_us
        self._steps = rungs(self.board.unit)  # no duty changes the unit

    async def do(self, row: Due) -> str:
        """What became of this row: done or parked."""
        if row.kind not in DUTIES:
            log.error("nobody here does %s; %s is parked", row.kind, row.subject)
            return "parked"
        try:
            self._absorb(await self._with_all_it_needs(row))
        except ColdjarError:
            raise
        except Exception:
            log.exception("%s of %s broke; it is parked", row.kind, row.subject)
            return "parked"
        return "done"

    async def _with_all_it_needs(self, row: Due) -> Watched:
        trade = self._trade
        for _ in range(LOOKS):
            tables = (trade.holding, trade.plan_table)
            scene = Scene(self.board, trade.words.say, trade.limits, trade.zone, self._now_us, *tables)
            scene.steps = self._steps
            try:
                DUTIES[row.kind](scene, row)
            except Missing as missing:
                await self._work.supply(self.board, missing.keys)
            else:
                return scene.result
        raise RuntimeError("the duty never had what it needed")

    def _absorb(self, watched: Watched) -> None:
        self.writes.entries.extend(seal(watched.drafts, self.board.heads))
        self.board.alerts.update(watched.alerts)
        self.writes.alerts.update(watched.alerts)
        self.writes.due.extend(watched.due)
        sent = outgoing(
            watched.tells, self.board.unit, self._trade.channels, self._now_us, self._trade.say_again
        )
        self.writes.texts.extend(sent)
