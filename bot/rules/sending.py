"""Send today or keep: when a box that is collected now meets an open laboratory. Common practice, no source.

Hours, cut-off and time on the way are the unit's own; nothing here says whether jars may be sent.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

from ..model.entries import LaboratorySet
from ..model.times import HOUR_US, us_of
from .civil_time import instant_of, local

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
AHEAD = 21  # days that are looked through: the longest closed time of a working laboratory


@dataclass(frozen=True)
class Trip:
    """One collection: when, when it is at the laboratory's door, and when that is opened for it. us UTC."""

    collected_us: int
    arrives_us: int
    taken_in_us: int

    @property
    def waits(self) -> bool:
        """True where the box stands before a closed door."""
        return self.taken_in_us > self.arrives_us


def trips(laboratory: LaboratorySet, now_us: int, zone: tzinfo) -> Iterator[Trip]:
    """The collections from now on, in order; none where the laboratory is never open."""
    today = local(now_us, zone).date()
    for ahead in range(AHEAD):
        at_us = collected_us(laboratory, today + timedelta(days=ahead), zone)
        if at_us is None or at_us < now_us:
            continue
        taken_us = taken_in_us(laboratory, at_us, zone)
        if taken_us is not None:
            yield Trip(at_us, _arrives_us(laboratory, at_us), taken_us)


def choice(laboratory: LaboratorySet, now_us: int, zone: tzinfo) -> tuple[Trip, Trip] | None:
    """The next collection, and the first that meets an open door (the same where it does itself).

    None where no collection of the coming weeks arrives anywhere open.
    """
    coming = list(trips(laboratory, now_us, zone))
    if not coming:
        return None
    return coming[0], next((trip for trip in coming if not trip.waits), coming[0])


def send_by_us(laboratory: LaboratorySet, ends_us: int, zone: tzinfo) -> int | None:
    """The last collection (us UTC) of which a box is taken in by an instant, None in the weeks before it."""
    day = local(ends_us, zone).date()
    for back in range(AHEAD):
        at_us = collected_us(laboratory, day - timedelta(days=back), zone)
        taken_us = None if at_us is None else taken_in_us(laboratory, at_us, zone)
        if taken_us is not None and taken_us <= ends_us:
            return at_us
    return None


def taken_in_us(laboratory: LaboratorySet, left_us: int, zone: tzinfo) -> int | None:
    """When what the courier took at an instant is taken in by the laboratory, us UTC."""
    return _taken_in(laboratory, _arrives_us(laboratory, left_us), zone)


def collected_us(laboratory: LaboratorySet, day: date, zone: tzinfo) -> int | None:
    """When the courier collects on a day, us UTC; None where not at all."""
    if DAYS[day.weekday()] not in laboratory.courier_days:
        return None
    return _at(day, laboratory.courier_cutoff, zone)


def _arrives_us(laboratory: LaboratorySet, left_us: int) -> int:
    return left_us + round(laboratory.transit_hours * HOUR_US)


def _taken_in(laboratory: LaboratorySet, arrives_us: int, zone: tzinfo) -> int | None:
    """When what stands at the door from this instant is taken in."""
    day = local(arrives_us, zone).date()
    for ahead in range(AHEAD):
        hours = hours_on(laboratory, day + timedelta(days=ahead))
        if hours is None:
            continue
        opens_us, closes_us = (_at(day + timedelta(days=ahead), one, zone) for one in hours)
        if arrives_us < closes_us:
            return max(arrives_us, opens_us)
    return None


def hours_on(laboratory: LaboratorySet, day: date) -> tuple[str, str] | None:
    """From when to when the laboratory is open on a day, None where it is closed."""
    if day.isoformat() in laboratory.closed:
        return None
    return laboratory.hours.get(DAYS[day.weekday()])


def _at(day: date, clock: str, zone: tzinfo) -> int:
    return us_of(instant_of(datetime.combine(day, time.fromisoformat(clock)), zone))
