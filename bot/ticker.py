"""What is due now, filed once under its key: a restart and a late wake-up are one case."""

from __future__ import annotations

from storage import due
from storage.work import Store

from .ports import Clock
from .watch.due import MIDNIGHT, midnights


class Ticker:
    """Called by a clock, or by replay; keeps nothing in memory."""

    def __init__(self, store: Store, clock: Clock) -> None:
        self._store = store
        self._clock = clock

    async def tick(self) -> int:
        """Everything that is due has been done, late where it is late; how many things that were."""
        now_us = self._clock.now_us()
        done = 0
        async with self._store.work() as work:
            unit = work.snapshot.unit
            last_us = await due.last_done(work.tx, MIDNIGHT)
            first_us = await due.first_entry_us(work.tx)
            since_us = last_us if last_us is not None else first_us
            if since_us is None:
                return 0
            for day, at_us in midnights(since_us, now_us, unit.zone):
                if await due.file(work.tx, MIDNIGHT, day, at_us, now_us):
                    await due.seal_heads(work, day, at_us, now_us)
                    done += 1
        return done

    async def next_due_us(self) -> int | None:
        """When something is due next, None where nothing ever will be."""
        async with self._store.work() as work:
            last_us = await due.last_done(work.tx, MIDNIGHT)
            first_us = await due.first_entry_us(work.tx)
            since_us = last_us if last_us is not None else first_us
            if since_us is None:
                return None
            return next(iter(midnights(since_us, None, work.snapshot.unit.zone)))[1]
