"""Standing work: what is due when, filed once under its key."""

from __future__ import annotations

from dataclasses import dataclass

RECORD_ALTERED = "record_altered"  # filed by whoever verified the record and found something
COLD_WINDOW = "cold_window"  # filed by whoever works out until when a cooler stays cold


@dataclass(frozen=True, slots=True, order=True)
class Due:
    """One thing that is due at an instant (microseconds UTC); the three together are its key."""

    due_us: int
    kind: str
    subject: str
