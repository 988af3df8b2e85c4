"""Wall clocks against the IANA data as `pytz` reads it, a reader that shares nothing with `zoneinfo`."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

import pytz
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.model.times import us_of, utc
from bot.rules.civil_time import instant_of, instants_of, local

FROM, TO = datetime.fromisoformat("2005-01-01"), datetime.fromisoformat("2031-01-01")
LISBON = ZoneInfo("Europe/Lisbon")
NAMES = sorted(available_timezones() & set(pytz.all_timezones))


@cache
def zone_of(name: str) -> ZoneInfo:
    """The zone from the very bytes that pytz reads, so that two releases of the data cannot differ."""
    with pytz.open_resource(name) as bytes_of_zone:
        return ZoneInfo.from_file(bytes_of_zone, key=name)


def offset_at(name: str, moment: datetime) -> timedelta:
    return pytz.timezone(name).fromutc(moment).utcoffset() or timedelta()


def changes(name: str) -> Iterator[datetime]:
    """The naive UTC instants at which pytz has the zone's clocks change."""
    moments = getattr(pytz.timezone(name), "_utc_transition_times", ())
    return (moment for moment in moments if FROM <= moment < TO)


def shown_by_pytz(name: str, wall: datetime, near: datetime) -> tuple[datetime, ...]:
    """Every UTC instant near a change at which pytz shows `wall`."""
    day, second = timedelta(days=1), timedelta(seconds=1)
    offsets = {offset_at(name, near + step) for step in (-day, -second, second, day)}
    return tuple(sorted(wall - o for o in offsets if offset_at(name, wall - o) == o))


def walls_about(name: str, change: datetime) -> Iterator[datetime]:
    """Wall-clock times at both ends of what a change skips or repeats, and in its middle."""
    before = change + offset_at(name, change - timedelta(seconds=1))
    after = change + offset_at(name, change)
    step = timedelta(minutes=1)
    return iter((before - step, before, min(before, after) + abs(after - before) / 2, after - step, after))


def test_every_change_of_every_zone_maps_wall_clocks_as_the_iana_data_says() -> None:
    checked = 0
    for name in NAMES:
        for change in changes(name):
            for wall in walls_about(name, change):
                expected = shown_by_pytz(name, wall, change)
                found = instants_of(wall, zone_of(name))
                assert tuple(each.replace(tzinfo=None) for each in found) == expected, (name, wall)
                checked += 1
    assert len(NAMES) > 590
    assert checked > 30_000


def test_a_schedule_has_exactly_one_instant_at_every_change_of_every_zone() -> None:
    for name in NAMES:
        for change in changes(name):
            for wall in walls_about(name, change):
                possible = shown_by_pytz(name, wall, change)
                # PEP 495: in a gap, fold=0 takes the offset from before the change.
                before = offset_at(name, change - timedelta(seconds=1))
                expected = possible[0] if possible else wall - before
                assert instant_of(wall, zone_of(name)).replace(tzinfo=None) == expected, (name, wall)


def test_an_hour_that_comes_twice_has_two_instants_and_a_schedule_takes_the_first() -> None:
    # In the European Union clocks go back at 01:00 UTC on the last Sunday of October: Directive 2000/84/EC.
    wall = datetime.fromisoformat("2026-10-25T01:30")
    first, second = datetime(2026, 10, 25, 0, 30, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert instants_of(wall, LISBON) == (first, second)
    assert instant_of(wall, LISBON) == first
    assert local(us_of(second), LISBON).fold == 1


def test_an_hour_that_is_skipped_has_no_instant_and_a_schedule_comes_as_long_after_the_change() -> None:
    # Clocks go forward at 01:00 UTC on the last Sunday of March: Directive 2000/84/EC.
    wall = datetime.fromisoformat("2026-03-29T01:30")
    assert instants_of(wall, LISBON) == ()
    assert instant_of(wall, LISBON) == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)


@settings(deadline=None)
@given(st.datetimes(min_value=FROM, max_value=TO), st.sampled_from(NAMES))
def test_every_instant_is_among_those_that_its_wall_clock_names(moment: datetime, name: str) -> None:
    instant = moment.replace(tzinfo=UTC)
    shown = local(us_of(instant), zone_of(name))
    wall = shown.replace(tzinfo=None)
    assert wall == pytz.timezone(name).fromutc(moment).replace(tzinfo=None)
    assert instant in instants_of(wall, zone_of(name))


@settings(deadline=None)
@given(st.integers(min_value=-(10**16), max_value=10**17))
def test_microseconds_survive_the_way_through_an_instant(us: int) -> None:
    assert us_of(utc(us)) == us
