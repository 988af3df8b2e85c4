"""A jar led by the hand, question by question."""

from __future__ import annotations

import pytest

from tests.talk import Talk

LEAD = ("jar", "mate, cleared", "yes", "03", "1", "1")


async def lead(talk: Talk, *texts: str) -> str:
    answer = ""
    for text in (*LEAD, *texts):
        answer = await talk.says("R1", text)
    return answer


async def test_the_safety_questions_come_before_the_first_jar_and_not_before_the_second(talk: Talk) -> None:
    assert "in charge of safety" in await talk.says("R1", "jar")
    assert "Phone and camera allowed" in await talk.says("R1", "mate, cleared")
    assert "written on the lid" in await talk.says("R1", "yes")
    assert "written on the lid" in await talk.says("R1", "jar")


@pytest.mark.parametrize("words", ["no", "not cleared", "no, the mate is asleep"])
async def test_who_is_not_cleared_is_not_led_to_a_jar(talk: Talk, words: str) -> None:
    await talk.says("R1", "jar")
    assert "Stay where it is safe" in await talk.says("R1", words)
    assert "in charge of safety" in await talk.says("R1", "jar"), "asked again, since the answer was no"


async def test_where_phones_are_barred_the_card_is_named_and_nothing_more_is_asked(talk: Talk) -> None:
    await talk.says("R1", "jar")
    await talk.says("R1", "mate, cleared")
    assert "paper card" in await talk.says("R1", "", press="no")
    assert (await talk.show("samples")) == []


async def test_the_next_free_number_is_offered_and_counts_only_when_it_is_written(talk: Talk) -> None:
    await talk.says("R1", "01 spill sheen 0905")
    for text in ("jar", "mate, cleared", "yes"):
        answer = await talk.says("R1", text)
    assert "Next free number of kit A is 02" in answer
    assert [jar["number"] for jar in await talk.show("samples")] == ["01"]


async def test_nothing_is_asked_between_the_gloves_and_the_shut_jar(talk: Talk) -> None:
    advice = await lead(talk)
    assert "Text me when shut and wiped" in advice
    assert talk.sent[-1].asks == "take"


async def test_a_whole_jar_by_hand_ends_in_one_compact_read_back(talk: Talk) -> None:
    answer = await lead(talk, "shut 0905 pad", "47.2830N 19.9510W", "5103", "skip", "M 4.4C 0909")
    assert answer == (
        "03 saved, not confirmed: spill, sheen, pad, 09:05, 47.2830N 19.9510W, seal 5103, "
        "cooler M 4.4 C at 09:09. Not stated: gloves, photo. OK, or send it."
    )
    assert (await talk.jar("03"))["confirmed"] is False, "no answer is not yes"
    assert "03 on record" in await talk.says("R1", "gloves changed ok")
    jar = await talk.jar("03")
    assert (jar["confirmed"], jar["gloves_changed"], jar["not_stated"]) == (True, True, ["photo"])


async def test_what_is_not_said_stays_not_stated(talk: Talk) -> None:
    await lead(talk, "shut")
    jar = await talk.jar("03")
    for field in ("event_time", "position", "method", "fill", "gloves_changed", "cooler", "cooler_celsius"):
        assert jar[field] is None
    assert jar["seals"] == []
    assert jar["photos"] == []


async def test_a_skipped_place_is_asked_for_in_words(talk: Talk) -> None:
    await lead(talk, "shut 0905 pad")
    assert await talk.says("R1", "skip") == "03: the place in words?"
    assert "seal, as printed" in await talk.says("R1", "north steps of the fish quay")
    assert (await talk.jar("03"))["place"] == "north steps of the fish quay"


async def test_fill_is_asked_of_a_jar_and_not_of_a_pad(talk: Talk) -> None:
    assert "where?" in await lead(talk, "shut 0905 pad")
    for text in ("jar", "04", "1", "2"):
        await talk.says("R1", text)
    assert "how full" in await talk.says("R1", "shut 0908 jar")
    assert "where?" in await talk.says("R1", "3/4")
    assert (await talk.jar("04"))["fill"] == 75.0


async def test_a_source_asks_its_tank_and_who_drew_it(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "06"):
        await talk.says("R1", text)
    assert "which tank" in await talk.says("R1", "2")
    advice = await talk.says("R1", "2P")
    assert "crew opens and draws, you watch from outside" in advice
    assert "how full" in await talk.says("R1", "shut 0905 clean tube")
    assert "who drew it" in await talk.says("R1", "3/4")
    assert (await talk.jar("06"))["more"]["tank"] == "2P"


async def test_wrong_takes_the_last_answer_back_and_strikes_it_in_place(talk: Talk) -> None:
    await lead(talk, "shut 0905 pad", "47.2830N 19.9510W", "5103")
    assert "seal, as printed" in await talk.says("R1", "wrong")
    await talk.says("R1", "5104")
    jar = await talk.jar("03")
    assert jar["seals"][0]["number"] == "5104"
    assert [(c["field"], c["old"], c["new"]) for c in jar["corrections"]] == [("seal", "5103", "5104")]


async def test_a_question_mark_explains_the_open_question_and_leaves_it_open(talk: Talk) -> None:
    await lead(talk, "shut 0905 pad", "47.2830N 19.9510W")
    assert "letter by letter" in await talk.says("R1", "?")
    await talk.says("R1", "5103")
    assert (await talk.jar("03"))["seals"][0]["number"] == "5103"


async def test_why_says_more_of_the_practice_and_the_jar_is_still_waited_for(talk: Talk) -> None:
    await lead(talk)
    assert "ahead of engine and exhaust" in await talk.says("R1", "why")
    assert "where?" in await talk.says("R1", "shut 0905 pad")


async def test_an_answer_may_bring_more_than_was_asked(talk: Talk) -> None:
    answer = await lead(talk, "shut 0905 pad 47.2830N 19.9510W seal 5103")
    assert answer.startswith("03: photo")


async def test_a_number_without_its_unit_is_asked_and_the_unit_alone_is_enough(talk: Talk) -> None:
    await lead(talk, "shut 0905 pad", "47.2830N 19.9510W", "5103", "skip")
    assert await talk.says("R1", "M 46") == "03: 46 C or F?"
    await talk.says("R1", "F")
    jar = await talk.jar("03")
    assert jar["raw"]["cooler_celsius"] == "46 F"
    assert jar["cooler_celsius"] == pytest.approx(7.78), "(46 - 32) * 5/9"


async def test_an_unfinished_jar_is_parked_and_offered_back_once(talk: Talk) -> None:
    await lead(talk, "shut 0905 pad")
    await talk.says(
        "R1", "04 spill thick 0908 jar 47.2830N 19.9510W seal 5104 fill 3/4 gloves yes cooler M 4C"
    )
    assert (await talk.says("R1", "ok")).endswith("03: where? Share your position or type it. SKIP if you have none.")
    await talk.says("R1", "stop")
    await talk.says("R1", "05 spill thick 0909 jar 47.2830N 19.9510W seal 5105 fill 3/4 gloves yes cooler M 4C")
    offer = await talk.says("R1", "ok")
    assert "03 lacks" in offer
    assert "Continue?" in offer
    assert "where?" in await talk.says("R1", "yes")
    await talk.says("R1", "stop")
    assert "03 lacks" not in await talk.says("R1", "ok 05")


async def test_more_asks_for_what_a_transfer_will_want(talk: Talk) -> None:
    await talk.says(
        "R1", "03 spill sheen 0905 47.2830N 19.9510W pad seal 5103 gloves yes cooler M 4.4C photo"
    )
    await talk.says("R1", "ok")
    assert "when did it go into the cold" in await talk.says("R1", "more 03")
    assert "who saw it" in await talk.says("R1", "0902")
    assert "vessel" in await talk.says("R1", "R2 saw sealing")
    jar = await talk.jar("03")
    assert jar["witnesses"] == ["R2 saw sealing"]
    assert jar["corrections"][-1]["sort"] == "late_addition"


async def test_a_stale_button_changes_nothing_and_says_so(talk: Talk) -> None:
    await lead(talk)
    await talk.says("R1", "shut 0905 pad")
    assert "earlier question" in await talk.says("R1", "", press="spill")
    assert (await talk.jar("03"))["corrections"] == []


@pytest.mark.parametrize("field", ["seal", "fill", "gloves", "time", "cooler"])
async def test_what_one_must_look_at_is_never_copied_from_another_jar(talk: Talk, field: str) -> None:
    await talk.says(
        "R1", "03 spill thick 0905 jar 47.2830N 19.9510W seal 5103 fill 3/4 gloves yes cooler M 4C"
    )
    answer = await talk.says("R1", f"04 spill thick {field} same as last")
    assert "never copied" in answer
    assert field not in (await talk.jar("04"))["raw"]


async def test_a_place_copied_at_its_authors_request_says_from_which_jar(talk: Talk) -> None:
    await talk.says("R1", "03 spill thick 0905 jar 47.2830N 19.9510W seal 5103")
    answer = await talk.says("R1", "04 spill thick 0908 place same as last seal 5104")
    assert "47.2830N 19.9510W" in answer, "expanded in the read-back"
    jar = await talk.jar("04")
    assert (jar["position"]["lat"], jar["copied"]) == (47.283, {"position": "03"})


async def test_a_position_shared_on_another_phone_reaches_the_one_jar_that_lacks_a_place(talk: Talk) -> None:
    await talk.says("R1", "04 spill thick 0857")
    assert "shared 47.28520 -19.94780" in await talk.says("web:r1", position=(47.2852, -19.9478))
    assert (await talk.jar("04"))["position"]["lat"] == 47.2852


async def test_a_position_that_may_be_of_two_jars_or_of_none_is_kept_with_no_jar_and_that_is_said(
    talk: Talk,
) -> None:
    said = "Your position is kept, with no jar."
    assert (await talk.says("web:r1", position=(47.2852, -19.9478))).startswith(said)
    await talk.says("R1", "04 spill thick 0857")
    await talk.says("R1", "05 spill thick 0858")
    assert (await talk.says("web:r1", position=(47.2852, -19.9478))).startswith(said)
    assert [(await talk.jar(number))["position"] for number in ("04", "05")] == [None, None]


async def test_a_position_shared_hours_later_is_not_taken_for_an_old_jar_s(talk: Talk) -> None:
    await talk.says("R1", "04 spill thick 0857")
    await talk.says("web:r1", position=(47.2852, -19.9478), at="2026-10-12T12:00:00Z")
    assert (await talk.jar("04"))["position"] is None
