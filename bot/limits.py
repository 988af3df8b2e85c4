"""Time limits for much that is short: one timer for all of it."""

from __future__ import annotations

import asyncio
from types import TracebackType


class Limit:
    """Ends what takes longer, each by itself, with TimeoutError, as `asyncio.timeout` does.

    Of one event loop. Nearly all ends long before: a timer set and taken back for each costs more than what
    it watches.
    """

    def __init__(self, limit_s: float) -> None:
        self.limit_s = limit_s
        self._until_s: dict[asyncio.Task[object], float] = {}  # the oldest first
        self._timer: asyncio.TimerHandle | None = None

    def __enter__(self) -> None:
        """The running task has this long from now."""
        loop = asyncio.get_running_loop()
        self._until_s[_this_task()] = loop.time() + self.limit_s
        if self._timer is None:
            self._timer = loop.call_later(self.limit_s, self._end_the_overdue)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """The running task is watched no more. Raises TimeoutError where it was ended."""
        task = _this_task()
        ended = self._until_s.pop(task, None) is None
        if ended and task.uncancel() == 0 and kind is asyncio.CancelledError:
            raise TimeoutError from error

    def _end_the_overdue(self) -> None:
        loop = asyncio.get_running_loop()
        self._timer = None
        for task, until_s in list(self._until_s.items()):
            if until_s > loop.time():
                self._timer = loop.call_at(until_s, self._end_the_overdue)
                return
            del self._until_s[task]
            task.cancel()


def _this_task() -> asyncio.Task[object]:
    task = asyncio.current_task()
    if task is None:
        raise RuntimeError("Only a task can be ended.")
    return task
