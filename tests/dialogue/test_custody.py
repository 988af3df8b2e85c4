"""Hand-overs: custody moves when both have spoken, and the receiver reads each seal without being shown it."""

from __future__ import annotations

import pytest

from tests.talk import ADDRESSES, Talk


async def jars(talk: Talk, *numbers: str) -> None:
    """R1's jars, each under the seal 51 and its number."""
    for number in numbers:
        await talk.says("R1", f"{number} spill sheen 0902 47.2830N 19.9510W pad seal 51{number}")


def told(talk: Talk, who: str) -> str:
    """What this person was sent because of the last text."""
    return "\n".join(one.text for one in talk.sent if one.address == ADDRESSES[who])


async def links(talk: Talk, number: str) -> list[dict[str, object]]:
    return [line for line in await talk.show("custody") if line["sample"] == number and "from" in line]


async def test_a_jar_stays_with_the_giver_until_the_receiver_has_read_and_taken_it(talk: Talk) -> None:
    await jars(talk, "01", "02", "03")
    answer = await talk.says("R1", "offer 01-03 to C1")
    assert answer == "Offered 01 02 03. On record with you until they are read and taken."
    assert told(talk, "C1") == (
        "R1 offers you 01 02 03. Read each seal off the jar and say how it is, like: 01 4451 whole. "
        "To refuse: NO 03 and why."
    )
    assert (await talk.jar("01"))["with"] == "R1"
    answer = await talk.says("C1", "01 5101 whole 02 5102 whole")
    assert answer == "01 02 received 09:05, with you."
    assert told(talk, "R1") == "C1 read and took 01 02, 09:05."
    assert [(await talk.jar(number))["with"] for number in ("01", "02", "03")] == ["C1", "C1", "R1"]
    taken = (await links(talk, "01"))[1]
    assert (taken["from"], taken["to"], taken["type"], taken["seal_read"], taken["condition"]) == (
        "R1", "C1", "hand", "5101", "whole",
    )  # fmt: skip
    assert (taken["offered_at"], taken["closed_at"], taken["by_channel"]) == (
        "2026-10-12T08:04:00Z", "2026-10-12T08:05:00Z", "sms",
    )  # fmt: skip
    assert await talk.rebuilds_the_same()


async def test_a_place_and_both_peoples_own_times_are_kept_as_they_were_stated(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to custodian 1005 place evidence fridge", at="2026-10-12T09:10:00Z")
    assert await talk.says("C1", "01 5101 whole 1012", at="2026-10-12T09:20:00Z") == "01 received 10:12, with you."
    taken = (await links(talk, "01"))[1]
    assert (taken["type"], taken["place"]) == ("store", "evidence fridge")
    assert (taken["offered_at"], taken["closed_at"]) == ("2026-10-12T10:05:00+01:00", "2026-10-12T10:12:00+01:00")


async def test_no_text_to_the_receiver_shows_a_seal_while_the_hand_over_is_open(talk: Talk) -> None:
    await jars(talk, "01", "02", "03")
    await talk.says("R1", "offer 01-03 to C1")
    seen = [told(talk, "C1")]
    tries = (
        "01 9999 whole", "01 whole", "01", "02 unread", "02 cut", "status", "03 seal is 9999 not 5103, misread",
        "44 spill seal 5103", "02 5103 whole", "NO 02 lid leaks", "more 03", "need number 01",
    )  # fmt: skip
    seen += [await talk.says("C1", text) for text in tries]
    assert not any(seal in text for text in seen for seal in ("5101", "5102"))
    assert [text for text in seen if "5103" in text and "44" not in text] == [], "only what C1 told is told back"
    assert "told for jar 03" not in "\n".join(seen), "which jar has a guessed seal is not told either"


async def test_who_told_of_a_jar_is_shown_no_seal_when_it_comes_back(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5101 whole")
    await talk.says("C1", "offer 01 to R1")
    read_back = await talk.says("R1", "01 gloves changed")
    assert "5101" not in read_back
    assert "seal on record" in read_back
    assert "5101" not in await talk.says("R1", "01 seal is 5109 not 5107, misread")
    assert "5101" not in await talk.says("R1", "01 seal is 5109, misread")
    assert await talk.says("R1", "01 5109 whole") == "01 received 09:08, with you."
    assert "5109" in await talk.says("R1", "01 wiped"), "it is theirs again"


async def test_a_reading_that_differs_holds_that_jar_alone_until_the_giver_answered(talk: Talk) -> None:
    await jars(talk, "01", "02", "03")
    await talk.says("R1", "offer 01-03 to C1")
    answer = await talk.says("C1", "01 5101 whole 02 5102 whole 03 5107 whole")
    assert answer == (
        "01 02 received 09:05, with you. 03 not taken: its seal differs from the record. On record with R1. "
        "R1, look and answer; then read it again."
    )
    assert "ANSWER 03" in told(talk, "R1")
    (alert,) = await talk.show("alerts")
    assert (alert["kind"], alert["subject"], alert["level"]) == ("seal_mismatch", "jar CH-014 03", "push")
    assert not any(seal in told(talk, "S1") for seal in ("5103", "5107"))
    for guess in ("03 5108 whole", "03 5103 whole"):
        assert "not taken" in await talk.says("C1", guess), "no reading moves it before the answer"
    assert (await talk.jar("03"))["with"] == "R1"
    assert await talk.says("R1", "answer 03 looked at it, it is as I told") == (
        "03: your answer is on record. C1 reads it again now."
    )
    assert told(talk, "C1") == "R1 looked at 03 and answered. Read its seal off the jar again."
    assert await talk.says("C1", "03 5103 whole") == "03 received 09:09, with you."
    taken = (await links(talk, "03"))[1]
    assert [reading["seal"] for reading in taken["readings"]] == ["5107", "5108", "5103", "5103"]
    assert taken["exception"] == "mismatched", "it stays for ever"
    assert len(await talk.show("alerts")) == 1, "guesses do not call the supervisor again"


async def test_a_correction_of_the_seal_is_an_answer_and_so_is_the_givers_own_reading(talk: Talk) -> None:
    await jars(talk, "01", "02")
    await talk.says("R1", "offer 01 02 to C1")
    await talk.says("C1", "01 5111 whole 02 5112 whole")
    await talk.says("R1", "01 seal is 5111 not 5101, misread")
    assert "looked at 01" in told(talk, "C1")
    assert "reads it again now" in await talk.says("R1", "02 5112 whole")
    assert (await talk.says("C1", "01 5111 whole 02 5112 whole")) == "01 02 received 09:07, with you."


async def test_a_seal_read_otherwise_again_waits_again(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5107 whole")
    await talk.says("R1", "answer 01 it is as told")
    assert "differs" in await talk.says("C1", "01 5107 whole")
    assert "differs" in await talk.says("C1", "01 5101 whole"), "the second difference wants its own answer"
    await talk.says("R1", "answer 01 still as told")
    assert "received" in await talk.says("C1", "01 5101 whole")


async def test_mismatched_unread_and_broken_seals_are_three_different_things(talk: Talk) -> None:
    await jars(talk, "01", "02", "03")
    await talk.says("R1", "offer 01-03 to C1")
    answer = await talk.says("C1", "01 5111 whole 02 unread 03 5103 cut")
    assert "01 not taken: its seal differs" in answer
    assert "02 not taken: its seal is not read" in answer
    assert "03 received" in answer
    assert "03: seal cut, on record for good" in answer
    assert [(await links(talk, n))[1]["exception"] for n in ("01", "02", "03")] == ["mismatched", "unread", "cut"]
    levels = {alert["subject"]: (alert["kind"], alert["level"]) for alert in await talk.show("alerts")}
    assert levels["jar CH-014 03"] == ("seal_broken", "critical")
    await talk.says("R1", "answer 02 iced over, cannot be read here")
    assert "02 received" in await talk.says("C1", "02 not readable, whole"), "both have said so"


async def test_how_the_seal_is_is_asked_with_its_number(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    assert await talk.says("C1", "01 5101") == (
        "01: how is its seal? Send like: 01 whole. Or cut, lifted, broken, leaking."
    )
    assert (await talk.jar("01"))["with"] == "R1"
    assert await talk.says("C1", "01 whole") == "01 received 09:04, with you."


async def test_a_condition_alone_does_not_move_a_jar(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    assert "read its seal off the jar too" in await talk.says("C1", "01 whole")
    assert (await talk.jar("01"))["with"] == "R1"


async def test_tape_is_read_by_its_initials(talk: Talk) -> None:
    await talk.says("R1", "04 spill sheen 0902 pad tape RB")
    await talk.says("R1", "offer 04 to C1")
    assert "differs" in await talk.says("C1", "04 tape RC whole")
    await talk.says("R1", "answer 04 they are mine")
    assert await talk.says("C1", "04 tape R.B. whole") == "04 received 09:05, with you."


async def test_a_jar_can_be_refused_alone_and_stays_with_the_giver(talk: Talk) -> None:
    await jars(talk, "01", "02")
    await talk.says("R1", "offer 01-02 to C1")
    assert await talk.says("C1", "NO 02 lid leaks") == "02 refused, on record with R1."
    assert told(talk, "R1") == 'C1 does not take 02: "lid leaks". It stays with you.'
    assert await talk.says("C1", "01 5101 whole") == "01 received 09:05, with you."
    refused = (await links(talk, "02"))[1]
    assert (refused["closed_at"], refused["exception"], refused["state"]) == (None, "refused: lid leaks", "refused")
    assert "not on offer to you" in await talk.says("C1", "02 5102 whole")
    assert (await talk.jar("02"))["with"] == "R1"


async def test_no_is_still_an_answer_to_the_question_that_is_open(talk: Talk) -> None:
    await talk.says("R1", "jar")
    await talk.says("R1", "mate, cleared")
    assert "Use the paper card" in await talk.says("R1", "no")


async def test_the_giver_takes_an_offer_back(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    assert await talk.says("R1", "withdraw 01") == "01 taken back, on record with you."
    assert told(talk, "C1") == "R1 took back the offer of 01."
    assert "not on offer to you" in await talk.says("C1", "01 5101 whole"), "both sent at once: nothing moved"
    assert (await talk.jar("01"))["with"] == "R1"
    assert (await links(talk, "01"))[1]["exception"] == "withdrawn"


async def test_what_was_taken_cannot_be_withdrawn(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5101 whole")
    assert await talk.says("R1", "withdraw 01") == "01 is on record with C1: it can only be offered back."


async def test_confirming_twice_changes_nothing(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5101 whole")
    before = await links(talk, "01")
    assert await talk.says("C1", "01 5101 whole") == "01 is on record with you already. Your reading is kept."
    assert await links(talk, "01") == before


@pytest.mark.parametrize(
    ("who", "text", "answer"),
    [
        ("R1", "offer 01 to R1", "They are with you: offer jars to somebody else."),
        ("R2", "offer 01 to C1", "01 is on record with R1, not with you: it is not on offer."),
        ("R1", "offer 09 to C1", "No jar 09 is on record: nothing of it moved."),
        ("R1", "offer 01 to C9", "Nobody here is called C9. Send a name of this line, or on paper: paper 01 to C9"),
        ("R1", "offer 01", "Say which jars and to whom, like: offer 01-03 to C1"),
        ("R1", "offer 01 to C1 2599", None),
        ("R2", "withdraw 01", "01 is on record with R1: it can only be offered back."),
        ("C1", "01 5101 whole", "01 is not on offer to you, it is on record with R1. Your reading is kept, nothing moved."),
        ("C1", "09 5101 whole", "No jar 09 is on record: nothing of it moved."),
        ("C1", "NO 01 lid leaks", "01 is not on offer to you: it is on record with R1."),
        ("R1", "answer 01 as told", "Nothing about 01 waits for your answer."),
    ],
)  # fmt: skip
async def test_what_cannot_be_is_one_sentence_and_moves_nothing(
    talk: Talk, who: str, text: str, answer: str | None
) -> None:
    await jars(talk, "01")
    said = await talk.says(who, text)
    assert said == answer or (answer is None and said)
    assert ((await talk.jar("01"))["with"], len(await links(talk, "01"))) == ("R1", 1)


async def test_two_jars_in_one_word_are_not_guessed_apart(talk: Talk) -> None:
    await jars(talk, "01", "02")
    await talk.says("R1", "offer 01-02 to C1")
    for text in ("01/02 5101 whole", "0102 5101 whole", "01-02 5101 5102 whole"):
        await talk.says("C1", text)
        assert [(await talk.jar(number))["with"] for number in ("01", "02")] == ["R1", "R1"]
    assert await talk.says("C1", "01 5101 whole 02 5102 whole") == "01 02 received 09:07, with you."


async def test_offering_twice_says_to_whom_it_is_on_offer(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1")
    assert await talk.says("R1", "offer 01 to R2") == "01 is on offer to C1 already. WITHDRAW 01 takes it back."


async def test_with_whom_every_jar_was_at_any_instant(talk: Talk) -> None:
    from bot.show import show

    await jars(talk, "01", "02")
    await talk.says("R1", "offer 01-02 to C1", at="2026-10-12T09:00:00Z")
    await talk.says("C1", "01 5101 whole 02 5199 whole", at="2026-10-12T09:10:00Z")
    database = talk.house.store.database

    async def at(instant: str) -> list[tuple[str, str]]:
        return [(one["with"], one["state"]) for one in await show(database, "custody", "CH-014", instant)]

    assert await at("2026-10-12T08:00:00+01:00") == []
    assert await at("2026-10-12T09:30:00+01:00") == [("R1", "held"), ("R1", "held")]
    assert await at("2026-10-12T10:05:00+01:00") == [("R1", "offered"), ("R1", "offered")]
    assert await at("2026-10-12T10:15:00+01:00") == [("C1", "held"), ("R1", "query")]


async def test_a_stated_release_long_before_the_receipt_is_a_gap_in_the_line(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1 1010", at="2026-10-12T09:12:00Z")
    await talk.says("C1", "01 5101 whole 1050", at="2026-10-12T09:55:00Z")
    lines = await talk.show("custody")
    assert lines[1] == {
        "sample": "01", "case": "CH-014", "gap": ["2026-10-12T09:10:00Z", "2026-10-12T09:50:00Z"],
        "why": "no holder", "explained": None, "statements": [],
    }  # fmt: skip


async def test_a_receipt_before_its_release_is_a_gap_too(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1 1010", at="2026-10-12T09:12:00Z")
    await talk.says("C1", "01 5101 whole 1002", at="2026-10-12T09:15:00Z")
    assert [line["why"] for line in await talk.show("custody") if "gap" in line] == ["receipt before release"]


async def test_an_exercise_says_so_to_the_receiver_too(drill: Talk) -> None:
    await drill.says("R1", "CH-900 01 spill sheen 0902 pad seal 5101")
    await drill.says("R1", "CH-900 offer 01 to C1")
    assert told(drill, "C1").startswith("EXERCISE R1 offers you CH-900 01.")
    assert (await drill.says("C1", "CH-900 01 5101 whole")).startswith("EXERCISE CH-900 01 received")


async def test_one_number_in_two_cases_is_asked_for_its_case(drill: Talk) -> None:
    await drill.says("R1", "CH-900 01 spill sheen 0902 pad seal 5101")
    await drill.says("R1", "CH-014 01 spill sheen 0902 pad seal 5102")
    await drill.says("R1", "CH-900 offer 01 to C1")
    await drill.says("R1", "CH-014 offer 01 to C1")
    assert "Begin with the case" in await drill.says("C1", "01 5102 whole")
    assert "received" in await drill.says("C1", "CH-014 01 5102 whole")
