"""Several lines in one text, and texts that must not be taken for what they are not.

The rule is the line's own: no field holds what nobody said of that jar; there is no outside source for it.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractAsyncContextManager
from pathlib import Path

import pytest

from tests.talk import ADDRESSES, SETUP, Talk, talk_to
from tests.walks.sayings import PHOTOS, STRANGER
from tests.walks.states import START, open_question
from tests.walks.walker import TWO_CASES

Talking = Callable[..., AbstractAsyncContextManager[Talk]]


@pytest.fixture
def talking(database_url: str, tmp_path: Path) -> Talking:
    return lambda setup=SETUP, start=START: talk_to(database_url, tmp_path, setup, start)


async def jars(talk: Talk) -> dict[tuple[str, str], tuple[str | None, list[str]]]:
    """(case, number) to (kind, seals) of all jars."""
    return {
        (jar["case"], jar["number"]): (jar["kind"], [seal["number"] for seal in jar["seals"]])
        for jar in await talk.show("samples")
    }


async def test_each_line_is_a_jar_of_its_own(talking: Talking) -> None:
    async with talking() as talk:
        await talk.says("R1", "11 pad 0859\n12 spill seal 5112 0900\n\n13 source seal 5113")
        assert await jars(talk) == {
            ("CH-014", "11"): (None, []),
            ("CH-014", "12"): ("spill", ["5112"]),
            ("CH-014", "13"): ("source", ["5113"]),
        }


async def test_lines_that_waited_for_their_case_stay_apart_and_it_is_asked_once(talking: Talking) -> None:
    async with talking(TWO_CASES) as talk:
        asked = await talk.hears("R1", "11 pad 0859\n12 spill seal 5112 0900\n03 seal 5103")
        assert [text.asks for text in asked] == ["case_pick"]
        await talk.says("R1", "CH-014")
        assert await jars(talk) == {
            ("CH-014", "11"): (None, []),
            ("CH-014", "12"): ("spill", ["5112"]),
            ("CH-014", "03"): (None, ["5103"]),
        }


async def test_lines_before_the_one_whose_case_is_asked_are_not_taken_twice(talking: Talking) -> None:
    async with talking(TWO_CASES) as talk:
        await talk.says("R1", "cooler M 4.4C\n05 sheen seal 5105")
        await talk.says("R1", "CH-014")
        assert await jars(talk) == {("CH-014", "05"): (None, ["5105"])}
        assert len((await talk.show("cooler"))[0]["readings"]) == 1


async def test_each_line_goes_to_the_case_whose_kit_has_its_number(talking: Talking) -> None:
    """20 to 39 are the drill's own."""
    async with talking(TWO_CASES) as talk:
        await talk.says("R1", "CH-014 05 sheen seal 5105")
        await talk.says("R1", "25 spill seal E110\n26 sheen seal E111")
        assert await jars(talk) == {
            ("CH-014", "05"): (None, ["5105"]),
            ("CH-900", "25"): ("spill", ["E110"]),
            ("CH-900", "26"): (None, ["E111"]),
        }


async def test_each_line_may_name_its_case_and_no_case_is_taken_for_a_number(talking: Talking) -> None:
    async with talking(TWO_CASES) as talk:
        await talk.says("R1", "CH-900 21 spill seal E121\nCH-014 03 source seal 5103\n04 seal 5104")
        assert await jars(talk) == {
            ("CH-900", "21"): ("spill", ["E121"]),
            ("CH-014", "03"): ("source", ["5103"]),
            ("CH-014", "04"): (None, ["5104"]),
        }


async def test_a_correction_that_waited_for_its_case_is_taken_up(talking: Talking) -> None:
    async with talking(TWO_CASES) as talk:
        await talk.says("R1", "CH-014 03 spill seal 5103")
        await talk.says("R2", "CH-900 03 spill seal E103")
        await talk.says("R1", "stop")
        if "Which case" in await talk.says("R1", "03 seal is 5107 not 5103, misread"):
            await talk.says("R1", "CH-014")
        assert (await jars(talk))["CH-014", "03"] == ("spill", ["5107"])


async def test_an_answer_over_two_lines_is_one_answer(talking: Talking) -> None:
    """The second line must not answer the next question: it asks whether phones are allowed there."""
    async with talking() as talk:
        await talk.says("R1", "jar")
        await talk.says("R1", "the mate is in charge\nhe has cleared us")
        assert await open_question(talk) == "phone"
        for said in ("stop", "case", "real", "CH-015", "sheen off the quay\nabout 200 m long"):
            await talk.says("R1", said)
        assert await open_question(talk) == "case.where"


@pytest.mark.parametrize("words", ["M 4.4C 1009", "qwx zzy", "seal 5103", "why"])
async def test_words_that_speak_of_no_photo_announce_none(words: str, talking: Talking) -> None:
    async with talking() as talk:
        await talk.says("R1", "01 spill sheen 0900 pad 47.2830N 19.9510W")
        for said in ("jar", "mate, cleared", "yes", "01"):
            await talk.says("R1", said)
        while await open_question(talk) != "photo":
            await talk.says("R1", "skip")
        await talk.says("R1", words)
        assert (await talk.jar("01"))["photos"] == []


async def test_a_stranger_is_answered_once_a_day(talking: Talking) -> None:
    async with talking() as talk:
        assert len(await talk.hears(STRANGER, "hello")) == 1
        assert await talk.hears(STRANGER, "hello?") == []
        assert await talk.hears(STRANGER, "jar", at="2026-10-13T08:00:00Z") == []
        assert len(await talk.hears(STRANGER, "anybody", at="2026-10-13T08:02:00Z")) == 1


async def test_the_buttons_of_an_hour_that_came_twice_count(talking: Talking) -> None:
    """On 25 Oct 2026 clocks in Lisbon show 01:00 to 02:00 twice (IANA time zone data)."""
    async with talking(start="2026-10-25T01:40:00Z") as talk:
        await talk.says("R1", "05 spill sheen 0130 seal 5105")
        assert [choice.id for choice in talk.sent[-1].choices] == ["old", "new"]
        await talk.hears("R1", press="old")
        assert (await talk.jar("05"))["event_time"] == "2026-10-25T01:30:00+01:00"


async def test_photos_that_differ_alike_are_spoken_of_once(talking: Talking) -> None:
    async with talking() as talk:
        sent = await talk.hears("R1", "01 spill 0900", files=(PHOTOS[1], PHOTOS[1]))
        assert sum(text.text.count("camera time") for text in sent) == 1


async def test_evidence_numbers_in_one_text_are_all_answered(talking: Talking) -> None:
    async with talking(TWO_CASES) as talk:
        await talk.says("R1", "CH-014 02 spill")
        await talk.says("R1", "CH-900 04 spill")
        told = await talk.says("C1", "02 E-118, 03 E-119, 04 E-120")
        numbers = {(jar["case"], jar["number"]): jar["evidence_number"] for jar in await talk.show("samples")}
        assert numbers == {("CH-014", "02"): "E-118", ("CH-900", "04"): "E-120"}
        assert "03" in told
        assert {text.address for text in talk.sent} >= {ADDRESSES["C1"]}
