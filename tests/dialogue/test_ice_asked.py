"""A bare word for the ice, after a forecast asked for it. For how long is common practice, no source."""

from __future__ import annotations

import pytest

from bot.dialogue.wording import Words
from bot.rules.worded import OFFERED
from bot.trades import catalogue
from tests.talk import Talk

SPOKEN: list[tuple[Words, str]] = [
    (catalogue(one), left) for one in OFFERED for left in ("plenty", "some", "none")
]


async def asked(talk: Talk) -> None:
    """R1 asked how long, and was asked for the ice."""
    await talk.says("R1", "cooler M 5 kg ice outside 24C shade 4.1C", at="2026-10-12T08:00:00Z")
    assert (await talk.says("R1", "how long M", at="2026-10-12T09:00:00Z")).endswith(", ice left?")


async def ice_left(talk: Talk) -> list[str]:
    told = [one["body"] for one in await talk.show("entries") if one["kind"] == "CoolerTold"]
    return [one["ice_left"] for one in told if one["ice_left"] is not None]


@pytest.mark.parametrize(
    ("words", "left"), SPOKEN, ids=lambda one: one if isinstance(one, str) else one.language
)
async def test_a_bare_word_answers_for_the_ice_that_a_forecast_has_just_asked_for(
    talk: Talk, words: Words, left: str
) -> None:
    await asked(talk)
    said = await talk.says("R1", words.say(f"cooler.left.{left}").capitalize(), at="2026-10-12T09:05:00Z")
    assert said == f"Cooler M: ice {left}, on record."
    assert await ice_left(talk) == [left]
    await talk.says("R1", "how long M", at="2026-10-12T09:10:00Z")
    assert "ice left" not in talk.sent[-1].text
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


@pytest.mark.parametrize(
    ("who", "at"),
    [("R2", "2026-10-12T09:05:00Z"), ("R1", "2026-10-12T09:31:00Z")],
    ids=("another", "long after"),
)
async def test_a_bare_word_of_another_or_long_after_says_nothing_of_ice(
    talk: Talk, who: str, at: str
) -> None:
    await asked(talk)
    assert (await talk.says(who, "plenty", at=at)).startswith("Kept as a note")
    assert await ice_left(talk) == []


async def test_a_bare_word_that_nothing_asked_for_says_nothing_of_ice(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice outside 24C shade 4.1C", at="2026-10-12T08:00:00Z")
    assert (await talk.says("R1", "none")).startswith("Kept as a note")
    assert await ice_left(talk) == []


async def test_a_bare_word_answers_the_question_of_a_jar_that_is_open_and_not_the_forecast_s(
    talk: Talk,
) -> None:
    await talk.says("R1", "jar")
    await talk.says("R1", "mate, cleared")
    await talk.says("R1", "yes")
    await talk.says("R1", "03")
    await asked(talk)
    assert "03: what is it?" in await talk.says("R1", "plenty")
    assert await ice_left(talk) == []


async def test_a_second_bare_word_is_no_second_answer(talk: Talk) -> None:
    await asked(talk)
    await talk.says("R1", "plenty", at="2026-10-12T09:05:00Z")
    assert (await talk.says("R1", "none", at="2026-10-12T09:06:00Z")).startswith("Kept as a note")
    assert await ice_left(talk) == ["plenty"]
