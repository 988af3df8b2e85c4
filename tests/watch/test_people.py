"""People who are out: asked first, then told on, and only who said so.

Hours and minutes are common practice, no source. The nights of clock changes: IANA data for Europe/Lisbon.
"""

from __future__ import annotations

from tests.talk import Talk
from tests.watch.test_ladder import marked, pushes


async def test_who_comes_back_in_time_is_not_asked(night: Talk) -> None:
    assert await night.says("R1", "out till 1700 north quay", at="2026-10-12T13:00:00Z") == (
        "Out till 17:00, on record. Text BACK then, or OUT TILL a new time, else your supervisor hears."
    )
    (r1,) = [one for one in await night.show("people") if one["name"] == "R1"]
    assert r1["out_till"] == "2026-10-12T17:00:00+01:00"
    assert await night.says("R1", "back", at="2026-10-12T14:30:00Z") == "Back 15:30, on record."
    assert marked(await night.waits("2026-10-12T20:00:00Z")) == []
    assert [one["out_till"] for one in await night.show("people")] == [None] * 6
    assert await night.rebuilds_the_same()
    assert (await night.verdict()).found == ()


async def test_who_is_overdue_is_asked_and_then_told_on_until_they_are_back(night: Talk) -> None:
    await night.says("R1", "out till 1700 afloat", at="2026-10-12T14:30:00Z")
    (asked,) = await night.waits("2026-10-12T16:00:00Z")
    assert (asked.person, asked.text) == ("R1", "You said out till 17:00. Text BACK, or OUT TILL and a new time.")
    (told,) = await night.waits("2026-10-12T16:15:00Z")
    assert told.text == (
        "R1, afloat, was due back 17:00 and has not texted BACK. Last heard 15:30. Call or radio them. Reply MINE R1 to take this."
    )
    assert told.alert is not None
    assert (told.alert.kind, told.alert.level) == ("person_overdue", "critical")
    assert pushes(await night.waits("2026-10-12T16:25:00Z")) == [("S1", 1), ("S2", 1)]
    sent = await night.hears("R1", "back", at="2026-10-12T16:30:00Z")
    assert [(one.person, one.text) for one in sent] == [
        ("R1", "Back 17:30, on record."),
        ("S1", "R1 is back, 17:30."),
        ("S2", "R1 is back, 17:30."),
    ]
    assert marked(await night.waits("2026-10-12T20:00:00Z")) == []


async def test_a_new_time_puts_the_old_one_out_of_force(night: Talk) -> None:
    await night.says("R1", "out till 1500", at="2026-10-12T13:00:00Z")
    await night.says("R1", "out till 1600", at="2026-10-12T13:50:00Z")
    assert [one.text[:20] for one in await night.waits("2026-10-12T15:00:00Z")] == ["You said out till 16"]
    assert pushes(await night.waits("2026-10-12T15:15:00Z")) == [("S1", 0)]


async def test_a_team_that_is_silent_is_asked_one_thing_only(night: Talk) -> None:
    await night.says("R1", "out till 1800", at="2026-10-12T08:00:00Z")
    await night.says("R1", "01 spill sheen 0910 seal 5101 cooler M 4C", at="2026-10-12T08:11:00Z")
    (asked,) = await night.waits("2026-10-12T10:11:00Z")
    assert (asked.person, asked.text) == ("R1", "OK?")
    (told,) = await night.waits("2026-10-12T10:26:00Z")
    assert told.text.startswith("R1 is out and silent: last heard 09:11, no answer to OK. Call them.")
    assert told.alert is not None
    assert told.alert.level == "push"
    await night.hears("R1", "all well", at="2026-10-12T10:30:00Z")
    (over,) = await night.waits("2026-10-12T10:40:00Z")
    assert (over.person, over.text) == ("S1", "R1 wrote again, 11:30.")


async def test_who_answers_is_left_alone_for_as_long_again(night: Talk) -> None:
    await night.says("R1", "out till 1800", at="2026-10-12T08:00:00Z")
    await night.waits("2026-10-12T10:00:00Z")
    await night.hears("R1", "fine", at="2026-10-12T10:05:00Z")
    assert marked(await night.waits("2026-10-12T12:04:00Z")) == []
    assert [one.text for one in await night.waits("2026-10-12T12:16:00Z")] == ["OK?"]


async def test_a_silent_boat_breaks_the_night_and_a_silent_quay_waits_for_the_day(night: Talk) -> None:
    await night.says("R1", "afloat", at="2026-10-12T21:00:00Z")
    await night.says("R2", "out till 0900", at="2026-10-12T21:01:00Z")
    sent = await night.waits("2026-10-12T23:30:00Z")
    assert pushes(sent)[0] == ("S1", 0)
    assert {one.alert.subject for one in sent if one.alert and one.person == "S1"} == {"R1"}
    sent = await night.waits("2026-10-13T05:01:00Z")  # 06:00 in Lisbon
    assert "R2" in {one.alert.subject for one in sent if one.alert and one.person == "S1"}


async def test_out_till_an_hour_that_comes_twice_is_the_first_of_the_two(night: Talk) -> None:
    # 25 Oct 2026: 02:00 WEST becomes 01:00 WET at 01:00 UTC.
    await night.says("R1", "out till 0130", at="2026-10-24T22:00:00Z")
    assert [one.text[:8] for one in await night.waits("2026-10-25T00:30:00Z")][-1] == "You said"
    assert pushes(await night.waits("2026-10-25T00:45:00Z")) == [("S1", 0)]


async def test_out_without_a_time_is_asked(night: Talk) -> None:
    assert (await night.says("R1", "out till late")).startswith("Out till when?")
    assert marked(await night.waits("2026-10-12T17:00:00Z")) == []
