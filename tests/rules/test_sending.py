"""When a box meets an open laboratory: weekdays as ISO 8601 and `calendar` count them, clocks as pytz turns them."""

from __future__ import annotations

import calendar
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import pytz
from hypothesis import given
from hypothesis import strategies as st

from bot.model.entries import LaboratorySet
from bot.model.times import HOUR_US, us_of, us_of_iso, utc
from bot.rules.sending import AHEAD, DAYS, choice, trips

LISBON = ZoneInfo("Europe/Lisbon")
WORKDAYS = dict.fromkeys(("mon", "tue", "wed", "thu", "fri"), ("08:00", "17:00"))
LAB = LaboratorySet(hours=WORKDAYS, courier_cutoff="15:00", transit_hours=20)


def at(stamp: str) -> int:
    return us_of_iso(stamp)


def test_the_days_are_named_as_the_calendar_of_the_standard_library_orders_them() -> None:
    assert [name.lower()[:3] for name in calendar.day_name] == list(DAYS)  # ISO 8601: the week begins on Monday


@pytest.mark.parametrize(
    ("now", "collected", "arrives", "taken_in"),
    [
        # 12 Oct 2026 is a Monday (ISO 8601 week 42, day 1).
        ("2026-10-12T14:00:00+01:00", "2026-10-12T15:00:00+01:00", "2026-10-13T11:00:00+01:00", None),
        ("2026-10-12T15:01:00+01:00", "2026-10-13T15:00:00+01:00", "2026-10-14T11:00:00+01:00", None),
        # Friday's box stands before a closed door on Saturday until Monday.
        ("2026-10-16T10:00:00+01:00", "2026-10-16T15:00:00+01:00", "2026-10-17T11:00:00+01:00", "2026-10-19T08:00:00+01:00"),
        # Saturday: nobody collects until Monday.
        ("2026-10-17T10:00:00+01:00", "2026-10-19T15:00:00+01:00", "2026-10-20T11:00:00+01:00", None),
    ],
)  # fmt: skip
def test_the_next_collection_and_when_it_is_taken_in(
    now: str, collected: str, arrives: str, taken_in: str | None
) -> None:
    trip = next(trips(LAB, at(now), LISBON))
    assert (trip.collected_us, trip.arrives_us) == (at(collected), at(arrives))
    assert trip.taken_in_us == at(taken_in or arrives)
    assert trip.waits is (taken_in is not None)


def test_keeping_till_monday_meets_an_open_door() -> None:
    found = choice(LAB, at("2026-10-16T10:00:00+01:00"), LISBON)
    assert found is not None
    soonest, best = found
    assert soonest.waits
    assert (best.collected_us, best.waits) == (at("2026-10-19T15:00:00+01:00"), False)


def test_a_closed_date_counts_as_closed() -> None:
    shut = LAB.model_copy(update={"closed": ("2026-10-13",)})
    trip = next(trips(shut, at("2026-10-12T10:00:00+01:00"), LISBON))
    assert trip.taken_in_us == at("2026-10-14T08:00:00+01:00")


def test_a_laboratory_that_is_never_open_is_no_choice() -> None:
    assert choice(LaboratorySet(hours={}), at("2026-10-12T10:00:00+01:00"), LISBON) is None
    assert choice(LAB.model_copy(update={"courier_days": ()}), at("2026-10-12T10:00:00+01:00"), LISBON) is None


def test_twenty_hours_over_the_clock_change_are_twenty_hours() -> None:
    # pytz: clocks in Lisbon go back on Sunday 25 Oct 2026, so a box of Saturday 15:00 is there at 10:00.
    every_day = LAB.model_copy(update={"hours": dict.fromkeys(DAYS, ("08:00", "17:00")), "courier_days": DAYS})
    trip = next(trips(every_day, at("2026-10-24T10:00:00+01:00"), LISBON))
    start = pytz.timezone("Europe/Lisbon").localize(datetime.fromisoformat("2026-10-24T15:00"))
    end = pytz.timezone("Europe/Lisbon").normalize(start + timedelta(hours=20))
    assert trip.arrives_us == us_of(end)
    assert (end.hour, end.utcoffset()) == (10, timedelta(0))


@given(
    st.integers(0, 400 * 24 * 60),
    st.dictionaries(st.sampled_from(DAYS), st.just(("08:00", "17:00")), max_size=7),
    st.floats(0.5, 96),
)
def test_whatever_the_hours_a_box_is_taken_in_after_it_arrives_and_while_open(
    minutes: int, hours: dict[str, tuple[str, str]], transit: float
) -> None:
    now_us = at("2026-01-01T00:00:00Z") + minutes * HOUR_US // 60
    lab = LaboratorySet(hours=hours, transit_hours=transit)
    for trip in trips(lab, now_us, LISBON):
        assert now_us <= trip.collected_us < trip.arrives_us <= trip.taken_in_us
        wall = utc(trip.taken_in_us).astimezone(LISBON)
        assert DAYS[wall.weekday()] in hours
        assert "08:00" <= f"{wall:%H:%M}" < "17:00"
        assert trip.taken_in_us - now_us < (AHEAD * 2 + 8) * 24 * HOUR_US
