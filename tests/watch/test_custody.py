"""Hand-overs that wait and jars that are in no cooler. The minutes are common practice, no source."""

from __future__ import annotations

from tests.talk import Talk
from tests.watch.test_ladder import pushes


async def test_a_hand_over_that_waits_reminds_both_and_is_then_told_on_once(night: Talk) -> None:
    await night.says("R1", "01 spill sheen 0910 seal 5101 cooler M 4.0C", at="2026-10-12T08:11:00Z")
    await night.says("R1", "02 spill sheen 0912 seal 5102 cooler M 4.0C", at="2026-10-12T08:12:00Z")
    await night.says("R1", "offer 01-02 to C1", at="2026-10-12T09:00:00Z")
    sent = [one for one in await night.waits("2026-10-12T09:15:00Z") if one.alert]
    assert [(one.person, one.text[:32]) for one in sent if one.alert.kind == "custody_pending"] == [
        ("R1", "01 02 not taken by C1 yet. On re"),
        ("C1", "01 02 of R1 wait for you. Read e"),
    ]
    assert "5101" not in sent[-1].text
    await night.hears("C1", "01 5101 whole", at="2026-10-12T09:30:00Z")
    (told,) = [one for one in await night.waits("2026-10-12T10:00:00Z") if one.alert and one.alert.level == "push"]
    assert told.text == "02 offered by R1 to C1, not taken for 60 min. On record with R1. Call them. Reply MINE 02 to take this."
    sent = await night.hears("C1", "02 5102 whole", at="2026-10-12T10:05:00Z")
    assert [(one.person, one.text) for one in sent if one.alert] == [("S1", "02: the hand-over waits no longer.")]
    assert pushes(await night.waits("2026-10-12T11:30:00Z")) == []
    assert (await night.verdict()).found == ()


async def test_a_hand_over_that_is_taken_in_time_reminds_nobody(night: Talk) -> None:
    await night.says("R1", "01 spill sheen 0910 seal 5101 cooler M 4.0C", at="2026-10-12T08:11:00Z")
    await night.says("R1", "offer 01 to C1", at="2026-10-12T09:00:00Z")
    await night.hears("C1", "01 5101 whole", at="2026-10-12T09:10:00Z")
    sent = await night.waits("2026-10-12T10:30:00Z")
    assert [one.text for one in sent if one.alert and one.alert.kind == "custody_pending"] == []


async def test_a_jar_in_no_cooler_is_asked_for_once(night: Talk) -> None:
    await night.says("R1", "02 spill sheen 1002 seal 5102", at="2026-10-12T09:03:00Z")
    sent = await night.waits("2026-10-12T09:22:00Z")
    assert [(one.person, one.text) for one in sent] == [("R1", "02 taken 10:02, not yet in cold.")]
    assert await night.waits("2026-10-12T12:00:00Z") == []


async def test_a_jar_that_went_into_the_cold_is_not_asked_for(night: Talk) -> None:
    await night.says("R1", "02 spill sheen 1002 seal 5102", at="2026-10-12T09:03:00Z")
    await night.says("R1", "02 cooler M 4.4C", at="2026-10-12T09:10:00Z")
    assert [one for one in await night.waits("2026-10-12T09:40:00Z") if one.alert and one.alert.kind == "not_in_cold"] == []


async def test_a_jar_told_hours_late_is_asked_for_a_little_later(night: Talk) -> None:
    await night.says("R1", "02 spill sheen 1002 seal 5102", at="2026-10-12T13:00:00Z", sent_at="2026-10-12T09:05:00Z")
    assert await night.waits("2026-10-12T13:04:59Z") == []
    assert [one.text for one in await night.waits("2026-10-12T13:05:00Z")] == ["02 taken 10:02, not yet in cold."]


async def test_pushes_of_one_case_are_no_more_than_its_budget_an_hour(night: Talk) -> None:
    for number in range(1, 6):
        await night.says("R1", f"0{number} spill sheen 09{number}0 seal 510{number} cooler M 4.0C", at=f"2026-10-12T09:{number}0:00Z")
    for number in range(1, 6):
        await night.says("R1", f"offer 0{number} to C1", at=f"2026-10-12T10:0{number}:00Z")
    sent = await night.waits("2026-10-12T11:30:00Z")
    told = [one for one in sent if one.alert and one.alert.level == "push"]
    assert len({one.queued_us for one in told}) == 3
