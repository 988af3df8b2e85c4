"""Slow work that a turn or the clock asks for, done off the reply path."""

from __future__ import annotations

from typing import TypeAlias

from .base import Frozen, JsonValue

ErrandKey: TypeAlias = tuple[str, str, int]


class Errand(Frozen):
    """Work to do at `due_us` (microseconds UTC) or soon after; the three names together are done once.

    `kind` says who does it, `subject` what it is about, `doc` what else the doer must know.
    """

    kind: str
    subject: str
    due_us: int
    doc: dict[str, JsonValue] = {}

    @property
    def key(self) -> ErrandKey:
        """The three names together."""
        return self.kind, self.subject, self.due_us
