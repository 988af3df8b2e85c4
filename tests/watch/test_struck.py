"""Alerts, excursions and the digest follow the corrected record of a cooler.

Bands: 40 CFR 136 table II (at or below 6 C), seen in a state SOP; the rest is common practice, no source.
"""

from __future__ import annotations

from tests.dialogue.test_coolers import cooler
from tests.talk import Talk
from tests.watch.test_digest import day_of
from tests.watch.test_night import jars, told


async def states(talk: Talk) -> list[tuple[str, bool]]:
    return [(one["kind"], one["closed_at"] is None) for one in await talk.show("alerts")]


async def test_what_stood_on_a_mistyped_reading_alone_ends_and_says_why(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 4.4C", at="2026-10-12T09:00:00+01:00")
    await night.hears("R2", "cooler M 42C", at="2026-10-12T10:00:00+01:00")
    assert await states(night) == [("cooler_warm", True)]
    sent = await night.hears("R2", "cooler M 4.2 not 42, misread", at="2026-10-12T10:03:00+01:00")
    over = [(one.person, one.alert.level, one.text) for one in sent if one.alert and one.alert.kind == "cooler_warm"]
    assert over == [
        ("S1", "reminder", 'Cooler M: 42C is struck by R2: "misread". Nothing on record is out of range: over.')
    ]
    assert told(await night.waits("2026-10-12T11:30:00+01:00")) == []  # no rung is climbed any more
    (closed,) = [one["body"] for one in await night.show("entries") if one["kind"] == "AlertClosed"]
    assert closed["why"] == "struck: 42C: misread"
    line = await cooler(night)
    assert (line["excursions"], (await night.jar("01"))["excursions"]) == ([], [])
    assert await night.rebuilds_the_same()


async def test_by_night_a_mistyped_reading_that_is_corrected_in_time_wakes_nobody(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 8.4C", at="2026-10-12T03:02:00+01:00")
    await night.hears("R2", "cooler M 4.8 not 8.4, swapped", at="2026-10-12T03:06:00+01:00")
    sent = await night.waits("2026-10-12T05:00:00+01:00")
    assert [one for one in sent if one.person in ("S1", "S2", "D1")] == []


async def test_readings_that_stay_out_of_range_keep_the_alert_and_its_bounds_follow(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    for at, text in (("09:00", "4.4C"), ("10:00", "9.9C"), ("10:30", "7.0C")):
        await night.hears("R2", f"cooler M {text}", at=f"2026-10-12T{at}:00+01:00")
    sent = await night.hears("R2", "cooler M 4.9 not 9.9, misread", at="2026-10-12T10:31:00+01:00")
    assert told(sent) == []
    assert await states(night) == [("cooler_warm", True)]
    (run,) = (await cooler(night))["excursions"]
    assert (run["peak_celsius"], run["first_out"], run["last_good_before"]) == (
        7.0, "2026-10-12T09:30:00Z", "2026-10-12T09:00:00Z",
    )  # fmt: skip


async def test_what_a_mistyped_reading_had_ended_begins_anew(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    for at, text in (("09:00", "8.4C"), ("09:30", "5.0C"), ("10:00", "5.2C")):
        await night.hears("R2", f"cooler M {text}", at=f"2026-10-12T{at}:00+01:00")
    assert await states(night) == [("cooler_warm", False)]
    sent = await night.hears("R2", "cooler M 9.2 not 5.2, misread", at="2026-10-12T10:02:00+01:00")
    assert [(who, level) for _, who, level, _ in told(sent)] == [("S1", "critical")]
    await night.hears("R2", "cooler M 9.0 not 5.0, misread", at="2026-10-12T10:03:00+01:00")
    (run,) = (await cooler(night))["excursions"]
    assert (run["at_least_minutes"], run["peak_celsius"]) == (60, 9.2)


async def test_a_struck_last_reading_leaves_the_one_before_overdue_and_told_on(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 4.4C", at="2026-10-12T08:00:00+01:00")
    await night.hears("R2", "cooler M 4.5C", at="2026-10-12T11:50:00+01:00")
    await night.waits("2026-10-12T13:05:00+01:00")
    sent = await night.hears("R2", "strike cooler M 4.5, that was the fridge", at="2026-10-12T13:10:00+01:00")
    assert [(one.person, one.alert.kind) for one in sent if one.alert] == [("S1", "reading_overdue")]
    assert "no reading since 08:00" in sent[-1].text


async def test_a_forecast_is_made_anew_without_the_struck_reading(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 5 kg ice outside 18C shade", at="2026-10-12T10:20:00+01:00")
    await night.hears("R2", "cooler M 24C", at="2026-10-12T10:30:00+01:00")
    await night.waits("2026-10-12T10:32:00+01:00")
    assert (await cooler(night))["forecast"]["off"] == "over"
    await night.hears("R2", "cooler M 2.4 not 24, misread", at="2026-10-12T10:33:00+01:00")
    await night.waits("2026-10-12T10:35:00+01:00")
    assert (await cooler(night))["forecast"]["off"] is None


async def test_the_day_counts_a_correction_of_a_cooler_once_and_names_it(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 42C", at="2026-10-12T10:00:00+01:00")
    await night.hears("R2", "cooler M 4.2 not 42, misread", at="2026-10-12T10:03:00+01:00")
    await night.hears("R2", "01 temperature is 4.1C not 4.0C, misread", at="2026-10-12T10:05:00+01:00")
    day = await day_of(night, "2026-10-12T10:10:00Z")
    assert [(one["sample"], one["old"], one["new"]) for one in day["corrections"]["all"]] == [
        ("01", "4.0C", "4.1C"), ("cooler M", "42C", "4.2"),
    ]  # fmt: skip
    assert "Corrections: 2 (cooler M reading)." in day["text"]


async def test_a_strike_within_the_gulp_of_the_reading_counts(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    text = "cooler M 42C at 0959\ncooler M 4.2 not 42, misread\ncooler M 4.3C"
    sent = await night.hears("R2", text, at="2026-10-12T10:00:00+01:00")
    assert told(sent) == []
    assert [one["celsius"] for one in (await cooler(night))["readings"]][-2:] == [4.2, 4.3]
    assert await night.rebuilds_the_same()
