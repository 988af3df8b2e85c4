"""Alerts that end by their own condition, and not before it is there."""

from __future__ import annotations

from tests.dialogue.test_custody import jars
from tests.dialogue.test_strangers import NEW, OTHER, code_for
from tests.talk import Talk


async def open_ones(talk: Talk, kind: str) -> int:
    return sum(1 for one in await talk.show("alerts") if one["kind"] == kind and one["closed_at"] is None)


async def test_a_broken_seal_is_over_once_a_new_one_stands_beside_it_and_not_by_a_word(night: Talk) -> None:
    await jars(night, "02")
    await night.says("R1", "02 seal cut")
    assert await night.says("R1", "reseal 02 5119") != ""  # neither witness nor reason: nothing is sealed
    assert await open_ones(night, "seal_broken") == 1
    sent = await night.hears("R1", "reseal 02 5119 witness C1 cut on the ladder")
    said = "02 resealed by R1: 5119 beside the old one, which stays on record as not whole."
    assert [one.text for one in sent if one.person == "S1"] == [said]
    assert await open_ones(night, "seal_broken") == 0
    assert "exception" in (await night.jar("02"))["flags"]
    assert await night.rebuilds_the_same()


async def test_a_stranger_who_is_enrolled_ends_what_was_told_of_them_and_of_nobody_else(night: Talk) -> None:
    await night.hears(OTHER, "CH-014 where are you, I have jars")
    await night.hears(NEW, "this is R1, new phone")
    assert await open_ones(night, "stranger_in_case") == 2
    sent = await night.hears(NEW, await code_for(night, "R1"))
    assert "The stranger is enrolled as R1 now." in [one.text for one in sent if one.person == "S1"]
    assert await open_ones(night, "stranger_in_case") == 1


async def test_a_gap_in_the_plan_is_over_when_done_is_said_again_or_before_it_is_told_again(night: Talk) -> None:
    for text in ("plan", "thick", "nobody", "no", "no", "01 blank unused 0830", "done"):
        await night.says("R1", text)
    assert await open_ones(night, "plan_gap") == 1
    for line in ("02 clean water", "03 spill thick", "04 spill thick", "05 spill thick", "06 dup of 03"):
        await night.says("R1", f"{line} 0830")
    sent = [one for one in await night.waits("2026-10-12T10:30:00Z") if one.alert and one.alert.kind == "plan_gap"]
    assert {one.text for one in sent} == {"CH-014: the plan lacks nothing any more."}
    assert {one.person for one in sent} == {"S1", "S2", "D1"}  # all who were told of the gap
    assert await open_ones(night, "plan_gap") == 0


async def test_done_with_nothing_missing_ends_the_gap_at_once(night: Talk) -> None:
    for text in ("plan", "thick", "nobody", "no", "no", "01 blank unused 0830", "done"):
        await night.says("R1", text)
    for line in ("02 clean water", "03 spill thick", "04 spill thick", "05 spill thick", "06 dup of 03"):
        await night.hears("R1", f"{line} 0830")
    await night.says("S1", "mine CH-014")
    sent = await night.hears("R1", "done")
    assert "CH-014: the plan lacks nothing any more." in [one.text for one in sent if one.person == "S1"]
    assert await open_ones(night, "plan_gap") == 0


async def test_silence_ends_within_minutes_of_a_text_whatever_rung_the_ladder_stands_on(night: Talk) -> None:
    await night.says("R1", "out till 1800", at="2026-10-12T09:00:00Z")
    await night.waits("2026-10-12T12:30:00Z")
    assert await open_ones(night, "team_silent") == 1
    await night.says("S1", "mine R1")
    await night.says("R1", "all well", at="2026-10-12T12:41:00Z")
    sent = [one.text for one in await night.waits("2026-10-12T12:46:00Z") if one.person == "S1"]
    assert sent == ["R1 wrote again, 13:41."]
    assert await open_ones(night, "team_silent") == 0


async def test_an_answer_alone_does_not_end_a_broken_seal(night: Talk) -> None:
    await jars(night, "02")
    await night.says("R1", "02 seal cut")
    await night.says("R1", "offer 02 to C1")
    await night.says("C1", "02 5199 whole")
    await night.says("R1", "answer 02 it reads 5102")
    assert [one["kind"] for one in await night.show("entries", "CH-014")].count("DifferenceAnswered") == 1
    assert await open_ones(night, "seal_broken") == 1
