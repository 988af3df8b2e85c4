"""Instants and what a clock on the wall shows: the one place where they meet.

Source: the IANA time zone data as `zoneinfo` reads it; PEP 495 for the meaning of `fold`.
"""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo

from ..model.times import utc


def local(us: int, zone: tzinfo) -> datetime:
    """What the clocks of `zone` show at that instant, aware, with its `fold`."""
    return utc(us).astimezone(zone)


def instant_of(wall: datetime, zone: tzinfo) -> datetime:
    """The one UTC instant that schedules use for a naive wall-clock time.

    Of two it is the first (fold=0). Of none, where clocks go forward, it is the one that the
    offset before the change gives, so what was due in the gap comes as long after the change.
    """
    return wall.replace(tzinfo=zone, fold=0).astimezone(UTC)


def instants_of(wall: datetime, zone: tzinfo) -> tuple[datetime, ...]:
    """Every UTC instant at which the clocks of `zone` show the naive time `wall`: 0, 1 or 2, in order.

    By PEP 495 the two folds have one offset for an ordinary time, a falling offset where it comes
    twice, and a rising one where clocks skip it.
    """
    first, second = (wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    before, after = first.utcoffset(), second.utcoffset()
    if before == after:
        return (first.astimezone(UTC),)
    if before is None or after is None or before < after:
        return ()
    return first.astimezone(UTC), second.astimezone(UTC)
