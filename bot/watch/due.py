"""When what comes again each day is due. `civil_time` maps a wall-clock time to its one instant."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from ..model.times import us_of, utc
from ..rules.civil_time import instant_of

MIDNIGHT = "midnight_heads"
DIGEST = "digest"
VERIFY = "verify"


def midnights(after_us: int, until_us: int | None, zone: str) -> Iterator[tuple[str, int]]:
    """Each (day that ended, instant it ended) after one instant and not after the other; None: one only."""
    for day, at_us in each_day(time(), after_us, until_us, zone):
        yield (datetime.fromisoformat(day) - timedelta(days=1)).date().isoformat(), at_us


def each_day(at: time, after_us: int, until_us: int | None, zone: str) -> Iterator[tuple[str, int]]:
    """Each (day, instant) at which clocks show `at`, after one instant, not after the other; None: one only.

    Once a day in every zone: of two such instants the first; where clocks skip it, as long after the change.
    """
    place = ZoneInfo(zone)
    day = utc(after_us).astimezone(place).date() - timedelta(days=1)
    while True:
        due_us = us_of(instant_of(datetime.combine(day, at), place))
        if until_us is not None and due_us > until_us:
            return
        if due_us > after_us:
            after_us = due_us  # a day that a zone left out ends at the instant of the next
            yield day.isoformat(), due_us
            if until_us is None:
                return
        day += timedelta(days=1)
