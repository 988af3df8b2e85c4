"""Advice on method as it is texted; the table itself is held in tests/rules/test_method.py."""

from __future__ import annotations

import pytest

from tests.talk import Talk

TO_TAKE = ("jar", "mate, cleared", "yes", "05")


async def say(talk: Talk, *texts: str) -> str:
    answers = [await talk.says("R1", text) for text in texts]
    return answers[-1]


async def test_the_advice_comes_before_the_gloves_and_fits_the_oil(talk: Talk) -> None:
    assert "jar if you can skim, else pad, net last" in await say(talk, *TO_TAKE, "1", "1")


async def test_a_pipes_bore_is_swiped_with_a_pad_and_the_crew_opens_it(talk: Talk) -> None:
    answer = await say(talk, *TO_TAKE, "2", "pipe at slip 3")
    assert "crew opens" in answer
    assert "round the bore" in answer


async def test_what_is_said_of_reach_and_amount_changes_the_advice_and_its_reasons(talk: Talk) -> None:
    await say(talk, *TO_TAKE, "1", "2")
    assert "ring on the pole" in await talk.says("R1", "out of reach")
    assert "Stay where you were cleared to stand" in await talk.says("R1", "why")
    assert "plain twine" in await talk.says("R1", "over the rail")
    assert await talk.says("R1", "shut 0905 twine") != "", "the jar goes on"
    assert (await talk.jar("05"))["method"] == "twine"


async def test_the_reasons_say_what_blank_to_take(talk: Talk) -> None:
    assert "one unused net or pad of the same lot" in await say(talk, *TO_TAKE, "1", "1", "why")


async def test_how_to_close_the_jar_is_said_where_its_seal_is_asked_for(talk: Talk) -> None:
    await say(talk, *TO_TAKE, "4", "shut 0905", "skip")
    answer = await talk.says("R1", "why")
    assert "Wipe first" in answer
    assert "unsure means yes" in answer


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("method tar", "sterile depressor"),
        ("method pipe", "round the bore"),
        ("METHOD sheen over the rail", "twine"),
        ("method tape", "wipe dry"),
        ("method label", "evidence number is known"),
        ("method bird", "licensed handler"),
        ("method", "METHOD and what you face"),
        ("method magic", "METHOD and what you face"),
    ],
)
async def test_advice_is_given_whenever_it_is_asked_for(talk: Talk, asked: str, said: str) -> None:
    assert said in await talk.says("R1", asked)


async def test_asking_for_advice_leaves_the_open_question_open(talk: Talk) -> None:
    await say(talk, *TO_TAKE, "1")
    await talk.says("R1", "method tar")
    assert "jar if you can skim" in await talk.says("R1", "1")


async def test_looks_are_kept_as_told_with_the_class_that_was_named(talk: Talk) -> None:
    await talk.says("R1", "05 spill sheen 0905 appearance rainbow")
    assert (await talk.jar("05"))["more"]["appearance"] == {"words": "rainbow", "code": 2}
    await talk.says("R1", "06 spill thick 0906 appearance black with rainbow")
    assert (await talk.jar("06"))["more"]["appearance"] == {"words": "black with rainbow", "code": None}


async def test_nobody_gets_litres_from_a_quay_or_a_boat(talk: Talk) -> None:
    for asked in ("litres", "LITRES of rainbow 2 km2", "liters?"):
        answer = await talk.says("R1", asked)
        assert answer.startswith("No litres from a quay or a boat")
        assert not any(letter.isdigit() for letter in answer.replace("03", ""))
