"""The instant that a line about a cooler speaks of: the time it states, else that of its sending."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.times import MINUTE_US, iso_utc
from .readers.base import Ask
from .readers.clock_time import TimeTold
from .readings import Source, read_clock, time_value
from .turn import Turn


@dataclass(frozen=True)
class When:
    """An instant; `value` as a time stands in an entry, None for the sending."""

    at_us: int
    iso: str
    value: dict[str, object] | None


def when_of(turn: Turn, time: str | None) -> When | None:
    """The time stated, else that of the sending; None where it was asked for instead."""
    if time is None:
        return When(turn.message.said_us, iso_utc(turn.message.said_us), None)
    at = read_clock(time, Source(turn.trade, turn.message))
    if isinstance(at, Ask):
        turn.say(turn.word(at.key, **at.values))
        return None
    if not isinstance(at, TimeTold):
        turn.say(turn.word("cooler.time", raw=time))
        return None
    if at.at_us > turn.message.said_us + turn.trade.limits.time_future_minutes * MINUTE_US:
        turn.say(turn.word("cooler.future", raw=time))
        return None
    return When(at.at_us, at.iso, dict(time_value(at)))
