"""Times as people type them.

Checked against ISO 8601 as the standard library reads it, against the formats of `strftime`, and
against the zone's clocks as `pytz` has them. Lisbon's clocks go back on 25 October 2026 at 01:00 UTC
and forward on 29 March 2026 at 01:00 UTC (Directive 2000/84/EC).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
import pytz
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bot.dialogue.readers.base import UNREAD, Ask, Unread
from bot.dialogue.readers.clock_time import TimeTold, looks_like_time, read_time

LISBON = ZoneInfo("Europe/Lisbon")
SENT = "2026-10-12T10:20:00+01:00"


wall = datetime.fromisoformat  # without an offset: what a clock on the wall shows


def us(iso: str) -> int:
    return (datetime.fromisoformat(iso) - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)


def read(text: str, sent: str | None = SENT, received: str | None = None) -> TimeTold | Ask | Unread:
    received_us = us(received or sent or SENT)
    return read_time(text, said_us=us(sent) if sent else None, received_us=received_us, zone=LISBON)


def told(text: str, sent: str | None = SENT) -> TimeTold:
    value = read(text, sent)
    assert isinstance(value, TimeTold), value
    return value


def asked(text: str, sent: str | None = SENT, received: str | None = None) -> str:
    value = read(text, sent, received)
    assert isinstance(value, Ask), value
    assert value.values == {"raw": text}
    return value.key.removeprefix("read.time.")


@pytest.mark.parametrize(
    "text",
    [
        "1002",
        "10:02",
        "10.02",
        "10h02",
        "10:02:00",
        "10:02 am",
        "1002 a.m.",
        "at 1002",
        "1002 hrs",
        "1002h",
        " 1002. ",
    ],
)
def test_the_ways_to_write_two_past_ten_are_one_time(text: str) -> None:
    value = told(text)
    assert value == TimeTold(us("2026-10-12T10:02:00+01:00"), 60, text.strip(), True, False, False)
    assert value.iso == "2026-10-12T10:02:00+01:00"


def test_afternoon_is_told_in_24_hours() -> None:
    sent = "2026-10-12T23:00:00+01:00"
    assert told("10:02 pm", sent).iso == "2026-10-12T22:02:00+01:00"
    assert told("2pm", sent).iso == "2026-10-12T14:00:00+01:00"
    assert told("12 pm", sent).iso == "2026-10-12T12:00:00+01:00"
    assert told("12.30 a.m.", "2026-10-12T08:00:00+01:00").iso == "2026-10-12T00:30:00+01:00"


@pytest.mark.parametrize(
    "text", ["2460", "24:60", "2561", "10:75", "24:00", "2400", "13:00 pm", "0 am", "10:02:60", "1002 +2500"]
)
def test_a_time_that_no_clock_shows_is_asked(text: str) -> None:
    assert asked(text) == "impossible"


@pytest.mark.parametrize(
    "text", ["", "3", "03", "hello", "spill", "103", "10023", "47.2830N", "1002 and 1003", "x" * 5000]
)
def test_what_is_no_time_is_left_unread(text: str) -> None:
    assert read(text) is UNREAD


def test_a_time_just_after_the_message_is_todays_and_a_later_one_is_asked() -> None:
    assert told("1025").iso == "2026-10-12T10:25:00+01:00"
    assert asked("1026") == "which_day"


def test_a_time_after_the_message_is_yesterdays_if_that_is_no_more_than_twelve_hours_back() -> None:
    assert told("2310", "2026-10-12T01:00:00+01:00").iso == "2026-10-11T23:10:00+01:00"
    assert asked("2210", SENT) == "which_day"


def test_a_time_over_twelve_hours_back_is_asked_and_one_of_twelve_is_not() -> None:
    assert told("0000", "2026-10-12T12:00:00+01:00").iso == "2026-10-12T00:00:00+01:00"
    assert asked("0000", "2026-10-12T12:01:00+01:00") == "which_day"


def test_a_message_of_unknown_sending_time_is_asked_for_the_day() -> None:
    assert asked("1002", None) == "which_day"
    assert asked("0902Z", None) == "which_day"
    assert asked("yesterday 2310", None) == "which_day"
    assert told("12 Oct 2026 1002", None).dated


def test_a_sending_time_after_the_receipt_is_not_believed() -> None:
    ahead = read("1430", "2026-10-12T14:30:00+01:00", "2026-10-12T10:20:00+01:00")
    assert isinstance(ahead, Ask)
    assert ahead.key == "read.time.which_day"


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("0902Z", "2026-10-12T09:02:00+00:00"),
        ("0902 UTC", "2026-10-12T09:02:00+00:00"),
        ("1002+01:00", "2026-10-12T10:02:00+01:00"),
        ("1002 +0100", "2026-10-12T10:02:00+01:00"),
        ("1002 UTC+1", "2026-10-12T10:02:00+01:00"),
        ("0402-05:00", "2026-10-12T04:02:00-05:00"),
        ("0402 -0500", "2026-10-12T04:02:00-05:00"),
        ("1432+05:30", "2026-10-12T14:32:00+05:30"),
    ],
)
def test_a_stated_offset_is_kept_and_is_not_derived(text: str, iso: str) -> None:
    value = told(text)
    assert value.iso == iso
    assert not value.offset_derived


def test_two_times_with_a_dash_between_are_not_a_time_with_an_offset() -> None:
    assert asked("0900-1000") == "unclear"
    assert asked("1002+1") == "unclear"


@settings(deadline=None)
@given(st.datetimes(wall("2000-01-01"), wall("2026-10-12T09:00")), st.integers(-12 * 4, 14 * 4))
def test_any_iso_8601_time_with_its_offset_is_read_as_the_standard_library_reads_it(
    moment: datetime, quarters: int
) -> None:
    stated = moment.replace(tzinfo=UTC).astimezone(timezone(timedelta(minutes=15 * quarters)))
    value = told(stated.isoformat())
    assert value.at_us == us(stated.isoformat())
    assert value.iso == stated.isoformat(timespec="seconds")
    assert value.dated
    assert not value.offset_derived


FORMATS = [
    "%d %b %Y %H%M", "%d %B %Y, %H:%M", "%b %d, %Y %H.%M", "%Y-%m-%d %H:%M", "%Y/%m/%d %Hh%M",
    "%H%M %d %b %Y", "%H:%M on %d %B %Y", "%Y-%m-%dT%H:%M", "%d %b %Y %I:%M %p",
]  # fmt: skip


@settings(deadline=None)
@given(st.datetimes(wall("2005-01-01"), wall("2026-10-12T09:00")), st.sampled_from(FORMATS))
def test_a_dated_time_in_any_common_format_is_the_instant_that_pytz_gives(
    moment: datetime, form: str
) -> None:
    moment = moment.replace(second=0, microsecond=0)
    try:
        expected = pytz.timezone("Europe/Lisbon").localize(moment, is_dst=None)
    except pytz.InvalidTimeError:
        assume(False)
    assert told(moment.strftime(form)).iso == expected.isoformat()


@settings(deadline=None)
@given(st.datetimes(wall("2020-01-01"), wall("2026-12-31")), st.integers(0, 23), st.integers(0, 59))
def test_an_undated_time_is_the_latest_that_pytz_shows_by_five_minutes_after_the_sending(
    sent: datetime, hour: int, minute: int
) -> None:
    zone = pytz.timezone("Europe/Lisbon")
    minutes = (sent.replace(second=0, microsecond=0) - timedelta(minutes=n) for n in range(-5, 13 * 60))
    shown = [m for m in minutes if (zone.fromutc(m).hour, zone.fromutc(m).minute) == (hour, minute)]
    shown = [m for m in shown if m <= sent + timedelta(minutes=5)]
    value = read_time(
        f"{hour:02d}{minute:02d}", said_us=us(f"{sent}+00:00"), received_us=us(f"{sent}+00:00"), zone=LISBON
    )
    if isinstance(value, TimeTold):
        assert [value.at_us] == [us(f"{m}+00:00") for m in shown]
    else:
        assert isinstance(value, Ask)
        late = not shown or shown[0] < sent - timedelta(hours=12)
        assert (
            value.key in ("read.time.which_day", "read.time.missing")
            if late
            else value.key == "read.time.twice"
        )


def test_a_date_is_kept_however_far_back_it_lies() -> None:
    value = told("yesterday 1002")
    assert value.iso == "2026-10-11T10:02:00+01:00"
    assert value.dated
    assert told("today 0002", "2026-10-12T23:00:00+01:00").iso == "2026-10-12T00:02:00+01:00"
    assert told("12 Feb 1002").iso == "2026-02-12T10:02:00+00:00"


def test_a_date_without_a_year_is_the_latest_one_that_is_not_a_month_ahead() -> None:
    assert told("31 Dec 2350", "2027-01-01T00:20:00+00:00").iso == "2026-12-31T23:50:00+00:00"
    assert asked("13 Oct 1002") == "future"


def test_a_dated_time_in_the_future_is_asked() -> None:
    assert asked("2026-10-12 10:26") == "future"
    assert told("2026-10-12 10:25").dated
    assert asked("31 Dec 2026 1002") == "future"


def test_a_day_and_a_month_that_may_be_swapped_are_asked() -> None:
    assert asked("12/10 1002") == "day_month"
    assert asked("1002 9/10/2026") == "day_month"
    assert told("10/10 1002").iso == "2026-10-10T10:02:00+01:00"
    assert told("30/9 1002").iso == told("9/30 1002").iso == "2026-09-30T10:02:00+01:00"


@pytest.mark.parametrize(
    "text", ["31/13 1002", "30 Feb 1002", "2026-13-01 1002", "29 Feb 2026 1002", "0 Oct 1002", "13/13 1002"]
)
def test_a_day_that_no_calendar_has_is_asked(text: str) -> None:
    assert asked(text) == "impossible"


def test_four_digits_after_a_date_that_are_this_year_are_not_taken_for_a_time() -> None:
    assert asked("12 Oct 2026") == "unclear"
    assert told("11 Oct 20:26").iso == "2026-10-11T20:26:00+01:00"


def test_now_is_the_receipt_of_a_fresh_message_and_asked_of_a_late_one() -> None:
    fresh = read("now", "2026-10-12T10:00:00+01:00", "2026-10-12T10:01:59+01:00")
    assert isinstance(fresh, TimeTold)
    assert fresh.iso == "2026-10-12T10:01:59+01:00"
    assert not fresh.estimate
    assert asked("now", "2026-10-12T10:00:00+01:00", "2026-10-12T10:02:00+01:00") == "now_stale"
    assert asked("now", None) == "now_stale"


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("20 min ago", 20),
        ("20 minutes ago", 20),
        ("20m ago", 20),
        ("an hour ago", 60),
        ("half an hour ago", 30),
        ("2 hours ago", 120),
        ("about 5 mins ago", 5),
    ],
)
def test_minutes_ago_count_from_the_sending_and_are_an_estimate(text: str, minutes: int) -> None:
    value = read(text, SENT, "2026-10-12T17:00:00+01:00")
    assert isinstance(value, TimeTold)
    assert value.at_us == us(SENT) - minutes * 60_000_000
    assert value.estimate


def test_minutes_ago_of_an_unknown_sending_time_are_asked() -> None:
    assert asked("20 min ago", None) == "now_stale"


def test_an_hour_that_came_twice_is_asked_with_its_two_names() -> None:
    value = read("0130", "2026-10-25T02:10:00+00:00")
    assert value == Ask("read.time.twice", {"raw": "0130"}, ("old", "new"))
    assert asked("25 Oct 0130", "2026-10-26T09:00:00+00:00") == "twice"


@pytest.mark.parametrize(
    ("word", "iso"),
    [
        ("old time", "2026-10-25T01:30:00+01:00"),
        ("old", "2026-10-25T01:30:00+01:00"),
        ("summer time", "2026-10-25T01:30:00+01:00"),
        ("new time", "2026-10-25T01:30:00+00:00"),
        ("winter", "2026-10-25T01:30:00+00:00"),
    ],
)
def test_an_hour_that_came_twice_is_settled_by_a_humans_word(word: str, iso: str) -> None:
    assert told(f"0130 {word}", "2026-10-25T02:10:00+00:00").iso == iso
    assert told(f"25 Oct 2026 0130 {word}", "2026-10-28T02:10:00+00:00").iso == iso


def test_an_hour_that_has_come_once_so_far_is_not_asked() -> None:
    assert told("0110", "2026-10-25T00:20:00+00:00").iso == "2026-10-25T01:10:00+01:00"
    assert asked("0110 new time", "2026-10-25T00:20:00+00:00") == "future"


def test_an_hour_that_the_clocks_skipped_is_asked() -> None:
    assert asked("0130", "2026-03-29T03:00:00+01:00") == "missing"
    assert asked("29 Mar 0130", "2026-03-30T03:00:00+01:00") == "missing"
    assert asked("0130", "2026-03-29T00:30:00+00:00") == "which_day"  # not skipped yet


@pytest.mark.parametrize(
    "token",
    [
        "1002",
        "10:02",
        "10.02",
        "10h02",
        "1002Z",
        "1002+0100",
        "10:02pm",
        "2pm",
        "now",
        "2561",
        "10:75",
        "10:02:33",
    ],
)
def test_a_word_that_may_be_a_time_looks_like_one(token: str) -> None:
    assert looks_like_time(token)


@pytest.mark.parametrize(
    "token", ["03", "103", "4.4C", "4.4", "47.2830N", "E107", "AB-0042", "pad", "22.80", "10023", ""]
)
def test_a_word_that_is_no_time_does_not_look_like_one(token: str) -> None:
    assert not looks_like_time(token)


@settings(deadline=None)
@given(st.one_of(st.text(max_size=60), st.text("0123456789:.h/-+ apmznowutc", max_size=20)), st.booleans())
def test_no_text_at_all_breaks_the_reader(text: str, sent_known: bool) -> None:
    value = read(text, SENT if sent_known else None, SENT)
    assert isinstance(value, TimeTold | Ask | Unread)
    if isinstance(value, TimeTold):
        assert value.at_us <= us(SENT) + 5 * 60_000_000
        assert value.raw == text.strip()
