"""What is asked or told in the middle of a walk is answered, and the walk's own question comes back with it."""

from __future__ import annotations

import pytest

from tests.talk import Talk

TO_KIND = ("jar", "mate, cleared", "yes", "03")
KIND = "03: what is it? 1 spill 2 suspect source 3 clean water 4 unused material"


@pytest.mark.parametrize(
    "aside", ["status", "cooler M 4.2C at 0905 ice some", "plan", "kit A", "method pipe", "gas 4 percent"]
)
async def test_the_open_question_comes_back_behind_the_answer_to_a_side_question(
    talk: Talk, aside: str
) -> None:
    for text in TO_KIND:
        await talk.says("R1", text)
    sent = await talk.hears("R1", aside)
    assert sent[-1].text.endswith(KIND)
    assert sum(KIND in one.text for one in sent) == 1
    assert sent[-1].asks == "kind"
    await talk.says("R1", "1")
    assert (await talk.jar("03"))["kind"] == "spill"


async def test_it_comes_back_marked_once_in_an_exercise(drill: Talk) -> None:
    await drill.says("R1", "CH-900")
    for text in TO_KIND:
        await drill.says("R1", text)
    answer = await drill.says("R1", "status")
    assert answer.startswith("EXERCISE CH-900")
    assert answer.count("EXERCISE") == 1
    assert answer.endswith("4 unused material")


async def test_it_stays_away_where_somebody_may_be_in_danger(talk: Talk) -> None:
    for text in TO_KIND:
        await talk.says("R1", text)
    assert "what is it?" not in await talk.says("R1", "going down the pump room for it")
    assert "what is it?" not in await talk.says("R1", "R2 feels dizzy")


async def test_it_comes_back_behind_an_answer_that_others_hear_of(talk: Talk) -> None:
    for text in TO_KIND:
        await talk.says("R1", text)
    sent = await talk.hears("R1", "refused Marbel: master said no")
    assert {one.person for one in sent} == {"R1", "S1"}
    assert next(one for one in sent if one.person == "R1").text.endswith(KIND)


async def test_nothing_is_asked_again_between_the_gloves_and_the_shut_jar(talk: Talk) -> None:
    for text in (*TO_KIND, "1", "1"):
        await talk.says("R1", text)
    assert await talk.says("R1", "cooler M 4.2C at 0905") == "Cooler M 4.2 C at 09:05, on record."
