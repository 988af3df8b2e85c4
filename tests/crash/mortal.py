"""A process that kills itself before its nth step: each BEGIN, statement, COMMIT, send and acknowledgement."""

from __future__ import annotations

import os
import signal
from collections.abc import Awaitable, Callable, Iterable
from typing import Any

from storage.engine import Session


class Steps:
    """Ends the process with SIGKILL before step `last`; counts only steps of these sorts, if any are named."""

    def __init__(self, last: int, sorts: Iterable[str] = ()) -> None:
        self.last, self.sorts, self.count, self.name = last, frozenset(sorts), 0, ""

    def __call__(self, name: str) -> None:
        self.name = name
        self.count += not self.sorts or name in self.sorts
        if self.count == self.last:
            os.kill(os.getpid(), signal.SIGKILL)


class Mortal:
    """A session of the real engine, with a step before each call and one more after COMMIT."""

    def __init__(self, session: Session, step: Steps) -> None:
        self._session, self._step = session, step

    def __getattr__(self, name: str) -> Any:
        held = getattr(self._session, name)
        return held if name in ("lost", "among", "known", "close", "claim") else self._stepping(name, held)

    def _stepping(self, name: str, call: Callable[..., Awaitable[Any]]) -> Callable[..., Awaitable[Any]]:
        async def stepped(*values: Any) -> Any:
            self._step(f"before {name}")
            answer = await call(*values)
            if name == "commit":
                self._step("after commit")
            return answer

        return stepped
