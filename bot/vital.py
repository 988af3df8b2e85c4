"""What the machine's own monitoring is told of a running process."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Callable
from pathlib import Path

from storage.vitals import vitals
from storage.work import Store

from .model.vitals import Vitals
from .ports import Clock


class Vital:
    """How a process and its store are. `at_desk` counts what waits there; without it it stands by."""

    def __init__(self, store: Store, folder: Path, clock: Clock) -> None:
        self.at_desk: Callable[[], int] | None = None
        self._store, self._folder, self._clock = store, folder, clock

    async def look(self) -> Vitals:
        """As it is now. Raises StoreUnavailable."""
        async with self._store.database.read() as tx:
            held = await vitals(tx)
        refused = self._store.database.refused
        return Vitals(
            store=held,
            at_desk=0 if self.at_desk is None else self.at_desk(),
            free_bytes=(await asyncio.to_thread(shutil.disk_usage, self._folder)).free,
            now_us=self._clock.now_us(),
            writes=self.at_desk is not None,
            refused=None if refused is None else str(refused),
        )
