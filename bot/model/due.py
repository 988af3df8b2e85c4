"""Standing work: what is due when, filed once under its key."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Due:
    """One thing that is due at an instant (microseconds UTC); the three together are its key."""

    due_us: int
    kind: str
    subject: str
