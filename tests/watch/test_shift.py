"""A shift handed over item by item, and holding times that run out.

The figures of holding times stand with their sources in their table; the rest is common practice, no source.
"""

from __future__ import annotations

from tests.talk import Talk
from tests.watch.test_ladder import DANGER, pushes


async def test_each_alert_stays_with_the_outgoing_until_the_incoming_has_it(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    await night.hears("R2", DANGER, at="2026-10-12T10:01:00Z")
    await night.says("S1", "mine R1", at="2026-10-12T10:02:00Z")
    await night.says("S1", "mine R2", at="2026-10-12T10:03:00Z")
    sent = await night.hears("S1", "handover to S2", at="2026-10-12T10:10:00Z")
    to_s2 = [one.text for one in sent if one.person == "S2"]
    assert to_s2[0] == (
        "S1 hands over to you: R1 (S1), R2 (S1). Say each one that you have, like: have R1. Until then it stays with S1."
    )
    assert to_s2[1].startswith("Corrowby Haven, Mon 12 Oct.")
    owners = {alert["subject"]: alert["owner"] for alert in await night.show("alerts")}
    assert owners == {"R1": "S1", "R2": "S1"}
    sent = await night.hears("S2", "have R1", at="2026-10-12T10:12:00Z")
    assert [(one.person, one.text) for one in sent] == [
        ("S1", "S2 has R1 now."),
        ("S2", "R1 is yours. Left: R2."),
    ]
    again = await night.waits("2026-10-12T11:30:00Z")
    assert {(one.person, one.alert.subject) for one in again if one.alert} == {("S1", "R2"), ("S2", "R1")}
    assert pushes(again) == []
    assert (await night.verdict()).found == ()
    assert await night.rebuilds_the_same()


async def test_what_nobody_has_taken_stands_in_a_hand_over_without_an_owner_and_without_a_sign_for_none(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    await night.hears("R2", DANGER, at="2026-10-12T10:01:00Z")
    await night.says("S1", "mine R2", at="2026-10-12T10:03:00Z")
    sent = await night.hears("S1", "handover to S2", at="2026-10-12T10:05:00Z")
    texts = [one.text for one in sent if "R2 (S1)" in one.text]
    assert sorted(text.partition(": ")[2].partition(".")[0] for text in texts) == ["R1, R2 (S1)", "R1, R2 (S1)"]


async def test_what_a_shift_leaves_behind_is_one_entry_that_is_never_made_again(night: Talk) -> None:
    for n, text in enumerate(("plan", "thick", "nobody", "no", "no", "suspect Marbel", "promised Marbel a copy of the result")):
        await night.says("R1", text, at=f"2026-10-12T09:0{n}:00Z")
    await night.says("R1", "01 spill thick 1005 seal 5101 cooler M 4.1C", at="2026-10-12T09:10:00Z")
    await night.says("R1", "02 spill thick 1006 seal 5102 cooler M 4.1C", at="2026-10-12T09:11:00Z")
    await night.says("R1", "offer 02 to C1", at="2026-10-12T09:20:00Z")
    sent = await night.hears("S1", "handover S2", at="2026-10-12T10:00:00Z")
    assert "Promised: Marbel: a copy of the result (R1). Yours to keep now." in [one.text for one in sent if one.person == "S2"]
    (entry,) = [one for one in await night.show("entries") if one["kind"] == "ShiftSummed"]
    left = entry["body"]["left"]
    assert (entry["body"]["by"], entry["body"]["to"]) == ("S1", "S2")
    assert [(one["with"], one["samples"]) for one in left["with"]] == [("R1", ["01", "02"])]
    assert [(one["name"], one["celsius"], one["next_reading"]) for one in left["coolers"]] == [
        ("M", 4.1, "2026-10-12T13:11:00Z")
    ]
    assert [(one["what"], one["samples"]) for one in left["waiting"]] == [("custody_pending", ["02"])]
    assert any("Marbel" in gap for gap in left["plan_gaps"]["CH-014"])
    assert [(one["to"], one["words"], one["by"]) for one in left["promises"]] == [("Marbel", "a copy of the result", "R1")]
    before = entry["body"]["text"]
    await night.says("C1", "02 5102 whole", at="2026-10-12T10:05:00Z")
    (again,) = [one for one in await night.show("entries") if one["kind"] == "ShiftSummed"]
    assert again["body"]["text"] == before
    assert (await night.verdict()).found == ()
    assert await night.rebuilds_the_same()


async def test_a_shift_goes_to_nobody_who_may_not_hear_of_the_unit(night: Talk) -> None:
    assert (await night.says("S1", "handover R1")).startswith("R1 cannot take over here")
    assert "Hand over to whom?" in await night.says("S1", "handover")
    assert "have" not in await night.says("R1", "have M")


async def test_a_holding_time_reminds_its_holder_and_is_told_on_at_its_end(night: Talk) -> None:
    # Seven days to the extraction of water, counted to the minute; its standing is in the table of holding times.
    await night.says("R1", "04 background water 0830 seal 5104 cooler M 4.0C", at="2026-10-13T07:32:00Z")
    sent = [one for one in await night.waits("2026-10-20T08:00:00Z") if one.alert and one.alert.kind == "holding_time"]
    reminded = [one.text for one in sent if one.person == "R1"]
    assert [text.split(",")[0].split(".")[0][:17] for text in reminded] == ["04: half of the f", "04: send today", "04: hours left"]
    assert all("20 Oct 08:30" in text for text in reminded)
    told = [one for one in sent if one.person == "S1"]
    assert told[0].text == f"{reminded[-1]} Reply MINE 04 to take this."
    assert told[-1].text.startswith("Again: 04 is past the figure of ")
