"""When standing work is due. A wall-clock time maps to one instant in one place (`civil_time`)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from ..model.times import us_of, utc
from ..rules.civil_time import instant_of

MIDNIGHT = "midnight_heads"


def midnights(after_us: int, until_us: int | None, zone: str) -> Iterator[tuple[str, int]]:
    """Each (day that ended, instant it ended) after one instant and not after the other; None: one only."""
    place = ZoneInfo(zone)
    day = utc(after_us).astimezone(place).date()
    while True:
        end_us = us_of(instant_of(datetime.combine(day + timedelta(days=1), datetime.min.time()), place))
        if until_us is not None and end_us > until_us:
            return
        if end_us > after_us:
            yield day.isoformat(), end_us
            if until_us is None:
                return
        day += timedelta(days=1)
