"""Gaps, stores, new seals beside broken ones, boxes under a seal of their own."""

from __future__ import annotations

from tests.dialogue.conftest import COURIER
from tests.dialogue.test_custody import jars, links
from tests.talk import ADDRESSES, Talk


def told(talk: Talk, who: str) -> str:
    address = {**ADDRESSES, **COURIER}[who]
    return "\n".join(one.text for one in talk.sent if one.address == address)


async def says(talk: Talk, who: str, text: str, **more: str) -> str:
    return await talk.says({**ADDRESSES, **COURIER}[who], text, **more)


async def gaps(talk: Talk) -> list[dict[str, object]]:
    return [line for line in await talk.show("custody") if "gap" in line]


async def test_a_gap_is_said_to_both_and_only_a_statement_explains_it(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1 1010", at="2026-10-12T09:12:00Z")
    answer = await talk.says("C1", "01 5101 whole 1050", at="2026-10-12T09:55:00Z")
    assert answer == (
        "01 received 10:50, with you. 01: released 10:10, received 10:50, and nobody named in between. "
        "EXPLAIN 01 and what you know of it."
    )
    assert [one["kind"] for one in await talk.show("alerts")] == ["custody_gap"]
    assert (await gaps(talk))[0]["explained"] is None
    assert await talk.says("R1", "explain 01 in my locked van at the slip") == (
        "01: your statement is on record, with the time it was given."
    )
    assert (await gaps(talk))[0]["explained"] == {
        "words": "in my locked van at the slip", "by": "R1", "received_at": "2026-10-12T09:56:00Z",
    }  # fmt: skip
    assert "what happened" in await talk.says("R1", "explain 01")


async def test_a_statement_given_before_a_gap_was_known_does_not_explain_it(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "explain 01 it was in my van all day")
    await talk.says("R1", "offer 01 to C1 1010", at="2026-10-12T09:12:00Z")
    await talk.says("C1", "01 5101 whole 1050", at="2026-10-12T09:55:00Z")
    assert (await gaps(talk))[0]["explained"] is None


async def test_a_named_carrier_closes_the_gap(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1 1010 by R2", at="2026-10-12T09:12:00Z")
    assert await talk.says("C1", "01 5101 whole 1050", at="2026-10-12T09:55:00Z") == "01 received 10:50, with you."
    assert await gaps(talk) == []
    assert (await links(talk, "01"))[1]["carrier"] == "R2"


async def test_two_holders_at_once_is_a_gap(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1", at="2026-10-12T09:12:00Z")
    await talk.says("C1", "01 5101 whole 1014", at="2026-10-12T09:15:00Z")
    await talk.says("C1", "offer 01 to R2")
    await talk.says("R2", "01 5101 whole 1011")
    assert [(one["why"], one["gap"]) for one in await gaps(talk)] == [
        ("two holders", ["2026-10-12T09:11:00Z", "2026-10-12T09:14:00Z"])
    ]


async def test_a_place_that_nobody_said_is_locked_is_a_gap(talk: Talk) -> None:
    await jars(talk, "01", "02", "03")
    assert await talk.says("R1", "store 01 evidence fridge locked") == "01 in evidence fridge, locked. On record with you."
    assert "Lock not stated" in await talk.says("R1", "store 02 in the boat shed")
    assert "not locked" in await talk.says("R1", "store 03 quay hut not locked")
    assert {one["sample"]: one["why"] for one in await gaps(talk)} == {
        "02": "lock not stated", "03": "place without lock",
    }  # fmt: skip
    assert {one["sample"]: one["gap"][1] for one in await gaps(talk)} == {"02": None, "03": None}
    await talk.says("R1", "store 03 evidence fridge locked")
    ends = [one["gap"][1] for one in await gaps(talk) if one["sample"] == "03"]
    assert ends == ["2026-10-12T08:07:00Z"], "the gap ends where the next place begins"
    jar = await talk.jar("01")
    assert (jar["status"], jar["with"]) == ("stored", "R1")
    assert "not with you" in await talk.says("C1", "store 01 fridge locked")


async def test_a_new_seal_stands_beside_the_old_one_and_the_exception_stays(talk: Talk) -> None:
    await jars(talk, "02")
    await talk.says("R1", "02 seal cut")
    assert told(talk, "S1") == "02: R1, who has it, finds its seal cut."
    assert [(one["kind"], one["level"]) for one in await talk.show("alerts")] == [("seal_broken", "critical")]
    assert await talk.says("R1", "reseal 02 5119 witness C1 cut on the ladder") == (
        "02: new seal 5119 beside the old one, seen by C1. Leave the old seal on. Photo of both, SKIP if none."
    )
    jar = await talk.jar("02")
    assert [(one["number"], one["state"]) for one in jar["seals"]] == [("5102", "cut"), ("5119", "whole")]
    assert (jar["seals"][1]["witness"], jar["seals"][1]["why"]) == ("C1", "cut on the ladder")
    assert "exception" in jar["flags"]
    await talk.says("R1", "offer 02 to C1")
    assert "received" in await talk.says("C1", "02 5119 whole")
    assert "exception" in (await talk.jar("02"))["flags"], "for ever"
    assert await talk.rebuilds_the_same()


async def test_a_new_seal_wants_a_witness_and_a_reason(talk: Talk) -> None:
    await jars(talk, "02")
    assert "why a new seal" in await talk.says("R1", "reseal 02 5119")
    assert len((await talk.jar("02"))["seals"]) == 1
    assert "No witness told" in await talk.says("R1", "reseal 02 5119 cut on the ladder")
    assert "No witness told" in await talk.says("R1", "reseal 02 5119 witness R1 cut on the ladder")
    await talk.says("R1", "reseal 02 5119 witness C1 cut on the ladder")
    assert [one["number"] for one in (await talk.jar("02"))["seals"]] == ["5102", "5119"]
    assert (await talk.jar("02"))["seals"][1]["witness"] == "C1"


async def test_a_seal_of_another_jar_is_queried_wherever_it_is_told(talk: Talk) -> None:
    await jars(talk, "01", "02")
    assert "already told for jar 01" in await talk.says("R1", "reseal 02 5101 witness C1 cut on the ladder")
    assert "outside the ranges" in await talk.says("R1", "reseal 01 9119 witness C1 cut on the ladder")
    answer = await talk.says("R1", "03 spill thick 0910 jar seal 9119")
    assert "already told for jar 01" in answer, "a seal that was put on later counts too"
    assert (await talk.jar("03"))["seals"][0]["number"] == "9119", "what was told is kept"
    assert "is told for a jar too" in await talk.says("R1", "box 1 seal 5101 jars 01")


async def test_a_courier_takes_a_box_by_its_seal_and_the_laboratory_reads_the_jars(sending: Talk) -> None:
    await jars(sending, "01", "02")
    assert await says(sending, "R1", "box 1 seal 7001 jars 01-02") == (
        "box 1, seal 7001: 01 02 inside, on record with you."
    )
    await says(sending, "R1", "offer box 1 to K1")
    offered = told(sending, "K1")
    assert offered.startswith("R1 offers you box 1 with 01 02. Read the seal off the box")
    assert "7001" not in offered
    assert "its seal differs" in await says(sending, "K1", "box 1 7009 whole")
    assert "ANSWER box 1" in told(sending, "R1")
    (alert,) = await sending.show("alerts")
    assert (alert["kind"], alert["subject"]) == ("seal_mismatch", "CH-014 box 1")
    assert (await sending.jar("01"))["with"] == "R1"
    await says(sending, "R1", "answer box 1 looked, as told")
    assert await says(sending, "K1", "box 1 7001 whole 0912", at="2026-10-12T08:15:00Z") == "01 02 received 09:12, with you."
    assert {(await sending.jar(n))["status"] for n in ("01", "02")} == {"sent"}
    await says(sending, "K1", "offer box 1 to L1")
    assert "received" in await says(sending, "L1", "box 1 7001 whole")
    assert {(await sending.jar(n))["with"] for n in ("01", "02")} == {"L1"}
    taken = (await links(sending, "01"))[-1]
    assert (taken["type"], taken["container"], taken["seal_read"]) == ("laboratory", "box 1", "7001")
    assert "stand for themselves" in await says(sending, "L1", "box 1 opened")


async def test_a_box_is_refused_or_taken_back_whole(sending: Talk) -> None:
    await jars(sending, "01", "02")
    await says(sending, "R1", "box 1 seal 7001 jars 01-02")
    await says(sending, "R1", "offer box 1 to K1")
    assert await says(sending, "K1", "NO box 1 lid will not shut") == "01 02 refused, on record with R1."
    await says(sending, "R1", "offer box 1 to K1")
    assert await says(sending, "R1", "withdraw box 1") == "01 02 taken back, on record with you."
    assert "not on offer to you" in await says(sending, "K1", "box 1 7001 whole")


async def test_a_box_that_is_not_ones_own_or_not_known_is_one_sentence(sending: Talk) -> None:
    await jars(sending, "01")
    assert "No jars are on record in box 9" in await says(sending, "R1", "box 9 7001 whole")
    assert "No jars are on record in box 9" in await says(sending, "R1", "offer box 9 to K1")
    await says(sending, "R1", "box 1 seal 7001 jars 01")
    assert await says(sending, "R2", "offer box 1 to K1") == "box 1 is on record with R1: nothing changed."
    assert await says(sending, "R2", "box 1 opened") == "box 1 is on record with R1: nothing changed."
    assert "not with you" in await says(sending, "R2", "box 2 seal 7002 jars 01")


async def test_a_coolers_reading_is_no_box(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "cooler M seal 7003 jars 01")
    assert "4.4" in await talk.says("R1", "cooler M 4.4C")


async def test_a_leaking_jar_is_told_of_and_is_no_broken_seal(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    assert "01: leaking, on record for good" in await talk.says("C1", "01 5101 leaking")
    assert told(talk, "S1") == "01: C1 finds it leaking. Offered by R1."
    assert await talk.show("alerts") == []
    assert "exception" in (await talk.jar("01"))["flags"]
