"""The plan as people text it: its questions, refusals in their exact words, order, what is still wanted.

No outside source tells how a conversation goes; the practice itself is held in tests/rules/test_plan.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bot.rules.gsm import segments
from tests.talk import ADDRESSES, SETUP, Talk, talk_to

ASKED = ("plan", "1", "large", "Marbel: 2P 2S; Tolva: fore peak", "quay pipe", "skip", "no", "unsure")


async def say(talk: Talk, *texts: str) -> str:
    answers = [await talk.says("R1", text) for text in texts]
    return answers[-1]


async def plan_of(talk: Talk) -> dict[str, Any]:
    return (await talk.show("plan", "CH-014"))[0]


async def test_the_plan_asks_what_the_opening_did_not_and_offers_its_jars(talk: Talk) -> None:
    offer = await say(talk, *ASKED)
    assert offer == (
        "Plan CH-014, offered, cleanest first: 1 unused net or pad, 1 clean water, 3 spill (thickest, middle, leading edge), "
        "Marbel 2P 2S, Tolva fore peak, quay pipe, 1 duplicate. 10 jars. New gloves between. PLAN WHY for more, "
        "DONE when you are through."
    )  # fmt: skip
    assert await talk.says("R1", "plan") == offer, "what was answered or skipped is not asked again"


async def test_programs_read_the_plan_in_the_shape_that_is_promised(talk: Talk) -> None:
    await say(talk, *ASKED, "01 clean water 0830", "impossible Tolva: no way on board")
    await say(talk, "refused Marbel: not without my agent", "master", "0840", "yes, declined")
    shown = await plan_of(talk)
    assert {"what": "Marbel 2P", "kind": "source", "count": 1} in shown["wanted"]
    assert [(one["what"], one["kind"], one["sample"]) for one in shown["taken"]] == [("background", "background", "01")]
    (refused,) = shown["refused"]
    assert {key: refused[key] for key in ("what", "words", "by", "at", "split")} == {
        "what": "Marbel", "words": "not without my agent", "by": "master", "at": "2026-10-12T08:40:00+01:00", "split": "yes, declined",
    }  # fmt: skip
    assert shown["impossible"] == [{"what": "Tolva", "why": "no way on board"}]
    assert {"what": "quay pipe", "kind": "source", "count": 1} in shown["missing"]
    assert not {"Marbel 2P", "Tolva fore peak", "background"} & {one["what"] for one in shown["missing"]}


async def test_a_refusal_is_on_record_at_once_and_the_supervisor_hears_its_words(talk: Talk) -> None:
    await say(talk, *ASKED)
    sent = await talk.hears("R1", "Marbel refused: get off my gangway")
    (push,) = [text for text in sent if text.address == ADDRESSES["S1"]]
    assert "get off my gangway" in push.text
    assert push.alert is not None
    assert (push.alert.kind, push.alert.level) == ("refusal", "push")
    assert (await plan_of(talk))["refused"][0]["words"] == "get off my gangway"
    assert "who refused" in sent[-1].text


async def test_what_a_refusal_lacks_stays_not_stated_and_is_named(talk: Talk) -> None:
    await say(talk, *ASKED)
    await say(talk, "refused Tolva", "skip", "stop")
    refused = (await plan_of(talk))["refused"][0]
    assert (refused["words"], refused["by"], refused["at"], refused["split"]) == (None, None, None, None)
    assert "The refusal of Tolva lacks who, time, split offer" in await talk.says("R1", "done")
    assert "who refused" in await talk.says("R1", "refused Tolva"), "it goes on where it was left"


async def test_a_refusal_told_in_the_middle_of_a_jar_leaves_its_question_open(talk: Talk) -> None:
    await say(talk, *ASKED, "jar", "mate, cleared", "yes", "01", "1")
    answer = await talk.says("R1", "refused Marbel: no")
    assert "Refusal of Marbel on record" in answer
    assert "how does the oil lie?" in answer
    assert "jar" in await talk.says("R1", "2")


async def test_a_refusal_by_somebody_nobody_named_is_not_lost(talk: Talk) -> None:
    await talk.says("R1", "refused Zorro: come back tomorrow")
    shown = await plan_of(talk)
    assert [one["name"] for one in shown["suspects"]] == ["Zorro"]
    assert shown["refused"][0]["words"] == "come back tomorrow"


async def test_a_name_that_is_not_in_the_plan_is_answered_with_the_nearest(talk: Talk) -> None:
    await say(talk, *ASKED)
    assert "Did you mean Marbel?" in await talk.says("R1", "refused Marble")


async def test_a_name_where_no_suspect_is_named_yet_is_answered_with_the_way_to_name_one(talk: Talk) -> None:
    assert "Send SUSPECT and the name first" in await talk.says("R1", "impossible Tolva dry")


async def test_done_lists_what_is_missing_and_never_calls_a_gap_filled(talk: Talk) -> None:
    await say(talk, *ASKED, "01 blank unused 0830 seal 5101")
    sent = await talk.hears("R1", "done")
    own = next(text.text for text in sent if text.address == ADDRESSES["R1"])
    assert "Not taken of what was offered: 1 clean water, 3 spill" in own
    (push,) = [text for text in sent if text.address == ADDRESSES["S1"]]
    assert push.alert is not None
    assert push.alert.kind == "plan_gap"
    everything = own + push.text
    assert not {"complete", "filled", "full"} & set(everything.lower().split())


async def test_done_with_nothing_open_says_what_became_of_each_and_leaves_the_rest_to_people(talk: Talk) -> None:
    await say(talk, "plan", "thick", "nobody", "no", "no")
    for line in ("01 blank unused", "02 clean water", "03 spill thick", "04 spill thick", "05 spill thick", "06 dup of 03"):
        await talk.says("R1", f"{line} 0830")
    answer = await talk.says("R1", "done")
    assert answer.startswith("Nothing that was offered is open: 6 taken, 0 refused, 0 not to be had.")
    assert "people say" in answer


async def test_no_text_of_the_plan_says_who_it_was(talk: Talk) -> None:
    texts = [await talk.says("R1", text) for text in (*ASKED, "plan", "plan why", "done", "what can I still take?")]
    assert not {"guilty", "culprit", "likely", "responsible", "polluter"} & set(" ".join(texts).lower().split())


async def test_a_cleaner_jar_after_a_dirtier_one_is_said_once(talk: Talk) -> None:
    await talk.says("R1", "01 spill thick 0805")
    assert "02 is cleaner than 01 before it" in await talk.says("R1", "02 clean water 0810")
    assert "cleaner" not in await talk.says("R1", "03 blank unused 0815")
    await talk.says("R2", "11 source tank 1 0805")
    assert "12 is cleaner than 11 before it" in await talk.says("R2", "12 clean water 0810"), "once each"


async def test_the_order_is_said_before_the_jar_is_taken_where_the_line_leads(talk: Talk) -> None:
    await say(talk, "01 source tank 2P 0805", "jar", "mate, cleared", "yes", "02", "1")
    answer = await talk.says("R1", "1")
    assert "02 is cleaner than 01 before it" in answer
    assert "Text me when shut and wiped" in answer


async def test_the_reason_is_kept_with_the_jar(talk: Talk) -> None:
    await say(talk, "01 source tank 2P 0805", "02 clean water 0810", "02 note ship sails at noon")
    assert (await talk.jar("02"))["more"]["deviations"] == "ship sails at noon"


async def test_jars_in_order_are_not_spoken_of(talk: Talk) -> None:
    for line in ("01 blank unused", "02 clean water", "03 spill sheen", "04 spill thick", "05 source tank 2P"):
        assert "cleaner" not in await talk.says("R1", f"{line} 0830")


async def test_a_late_text_is_never_scolded_for_its_order(talk: Talk) -> None:
    await talk.says("R1", "01 spill thick 0805")
    answer = await talk.says("R1", "02 clean water 0810", at="2026-10-12T10:00:00Z", sent_at="2026-10-12T08:10:00Z")
    assert "cleaner" not in answer


async def test_clean_water_is_spoken_of_once_and_not_where_it_cannot_be_had(talk: Talk) -> None:
    for number in ("01", "02"):
        await talk.says("R1", f"{number} spill sheen 0830 seal 510{number[1]}")
    assert "Clean water is still wanted" in await talk.says("R1", "ok 01")
    assert "Clean water" not in await talk.says("R1", "ok 02")
    await talk.says("R2", "impossible clean water: oil all round")
    await talk.says("R2", "11 spill sheen 0830 seal 5111")
    assert "Clean water" not in await talk.says("R2", "ok")


@pytest.mark.parametrize(
    "line", ["06 source Marbel 2P 0830", "06 source 0830 tank Marbel 2P", "06 source tank 2P vessel Marbel 0830"]
)
async def test_a_jar_names_its_suspect_in_the_words_that_come_first(talk: Talk, line: str) -> None:
    await say(talk, *ASKED)
    assert "Not understood" not in await talk.says("R1", line)
    assert {"what": "Marbel 2P", "kind": "source", "sample": "06"} in (await plan_of(talk))["taken"]


async def test_whose_tank_it_is_is_asked_where_there_are_suspects(talk: Talk) -> None:
    await say(talk, *ASKED, "jar", "mate, cleared", "yes", "06")
    assert "whose, and which tank" in await talk.says("R1", "2")
    await talk.says("R1", "Marbel 2S")
    assert {"what": "Marbel 2S", "kind": "source", "sample": "06"} in (await plan_of(talk))["taken"]


async def test_tamper_evident_tape_is_asked_for_where_a_court_is_possible(talk: Talk) -> None:
    guided = ("jar", "mate, cleared", "yes", "01", "4", "shut 0830", "skip", "skip")
    assert "tamper-evident" not in await say(talk, *guided)
    await say(talk, "skip", "stop", "plan", "skip", "nobody", "no", "unsure")
    assert "tamper-evident" in await say(talk, "jar", "02", "4", "shut 0840", "skip")


async def test_what_can_still_be_taken_counts_numbers_ships_and_daylight(talk: Talk) -> None:
    await say(talk, *ASKED, "Marbel sails 1030", "01 clean water 0830")
    answer = await talk.says("R1", "WHAT CAN I STILL TAKE?")
    assert "9 jars, about 2 h 15 min" in answer
    assert "Kit A has 18 numbers left" in answer
    assert "Marbel sails 10:30, in 1 h 19 min" in answer
    assert "Daylight till 19:37" in answer  # astral gives 18:37 UTC for 47.30 N 19.95 W on 12 October 2026


async def test_jars_nets_and_gloves_are_held_against_what_is_still_wanted(talk: Talk) -> None:
    assert "Not counted: kit A." in await say(talk, *ASKED, "what can I still take")
    await talk.says("R2", "kit A jars 8 nets 3 pads 10 gloves M L")
    await say(talk, "01 blank unused net 0830", "02 spill sheen net 0831")
    answer = await talk.says("R1", "what can I still take")
    assert "There: jars 6, nets 1, pads 10, gloves M L. 2 jars short." in answer


KITS = "".join(f'[[kits]]\nname = "K{n}"\nnumbers = [{100 + n}, {100 + n}]\n' for n in range(45))
MANY_KITS = SETUP.replace("[[cases]]", f"{KITS}[[cases]]").replace('kits = ["A"]', f"kits = {[f'K{n}' for n in range(45)]}")


async def test_a_case_with_more_kits_than_hands_is_answered_in_three_sms(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path, MANY_KITS) as talk:
        await say(talk, *ASKED, "101 source Marbel 2P 0830", "refused Tolva: no")
        (answer,) = [text for text in await talk.hears("R1", "what can I still take") if text.address == ADDRESSES["R1"]]
        assert "45 kits have 44 numbers left" in answer.text
        assert segments(answer.text) <= 3
        assert {"what": "Marbel 2P", "kind": "source", "sample": "101"} in (await plan_of(talk))["taken"]
        assert (await talk.verdict()).found == ()
        assert await talk.rebuilds_the_same()


async def test_ninety_suspects_are_three_sms_at_most_and_all_on_record(talk: Talk) -> None:
    names = "; ".join(f"Ship number {n}: 1P 1S" for n in range(90))
    await say(talk, "suspects " + names)
    shown = await plan_of(talk)
    assert sum(1 for one in shown["wanted"] if one["kind"] == "source") == 180
    for text in ("plan oil thick", "what can I still take?", "done"):
        assert all(segments(sent.text) <= 3 for sent in await talk.hears("R1", text))


async def test_a_plan_without_suspects_says_so_by_offering_none(talk: Talk) -> None:
    offer = await say(talk, "plan", "thick", "nobody", "no", "no")
    assert "3 spill (thickest, middle, leading edge), 1 duplicate. 6 jars" in offer
    assert (await plan_of(talk))["suspects"] == []


async def test_names_and_lists_beyond_reason_are_sent_back_with_the_way_out(talk: Talk) -> None:
    assert "over 40 characters" in await talk.says("R1", "suspect " + "x" * 41)
    assert "Over 200 names" in await talk.says("R1", "suspect " + "; ".join(f"s{n}" for n in range(201)))
    assert (await plan_of(talk))["suspects"] == []


async def test_an_answer_taken_back_stays_visible_beside_the_new_one(talk: Talk) -> None:
    await say(talk, "plan", "sheen", "wrong", "thick")
    shown = await plan_of(talk)
    assert (shown["told"]["oil"], shown["struck"]) == ("thick", [{"field": "oil", "raw": "sheen"}])


async def test_the_plan_is_rebuilt_and_verified_with_the_rest(talk: Talk) -> None:
    await say(talk, *ASKED, "refused Marbel: no", "skip", "skip", "skip", "Tolva left 0805", "01 spill thick 0801")
    await say(talk, "02 clean water 0802", "done")
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_an_exercise_says_so_in_its_plan(drill: Talk) -> None:
    assert (await drill.says("R1", "CH-900 plan")).startswith("EXERCISE The plan:")
