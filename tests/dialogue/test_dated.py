"""Whose a time with its day is among a line's other words; where it may be meant otherwise it is asked for.

What must never happen is the project's own promise: no value that nobody stated.
"""

from __future__ import annotations

import re

import pytest

from tests.talk import Talk

NEXT_DAY = "2026-10-13T12:00:00+01:00"


async def told(talk: Talk, line: str) -> tuple[str, str | None, str | None]:
    """The answer, the jar's own time, and when it went into the cold; without seconds and offset."""
    answer = await talk.says("R1", line, at=NEXT_DAY)
    (jar,) = await talk.show("samples")
    return answer, (jar["event_time"] or "")[5:16] or None, (jar["in_cold_at"] or "")[5:16] or None


@pytest.mark.parametrize(
    "line",
    [
        "04 spill 12 des 1016",
        "04 spill 1016 to 1030 yesterday",
        "04 spill 12.10 yesterday 1016",
        "04 spill antes de ayer 1016",
        "04 spill day before yesterday 1016",
        "04 9.30 yesterday evening",
        "04 spill ayer 3:16 de la tarde",
        "04 not 1016 yesterday",
        "04 1016, yesterday was rain",
        "04 spill hace 1 h 20 min",
        "04 spill 1 hour 20 min ago",
        "04 spill Oct 12 2016",
    ],
)
async def test_a_time_that_may_be_meant_otherwise_is_asked_for(talk: Talk, line: str) -> None:
    answer, time, _ = await told(talk, line)
    assert "can be read in more than one way" in answer
    assert "U+" not in answer
    assert time is None


@pytest.mark.parametrize(
    ("line", "time"),
    [
        ("04 spill sheen net 1016, set 2 pads", "10-13T10:16"),
        ("04 spill net out 10 1016", "10-13T10:16"),
        ("04 spill 1016 may 2 m", "10-13T10:16"),
        ("04 spill 1.5 h ago", None),
        ("04 spill 10-15 min ago", None),
        ("04 spill 1016 +0200 yesterday", "10-12T10:16"),
        ("04 spill yesterday 1016 +0200", "10-12T10:16"),
        ("04 fill 3/4 1016 yesterday", "10-12T10:16"),
        ("04 seal 5104 1016 yesterday", "10-12T10:16"),
        ("04 cooler M 1016 yesterday", "10-12T10:16"),
        ("04 1100 weather fog until 0900 yesterday", "10-13T11:00"),
        ("04 pad 1016 note boom set 12 1020", "10-13T10:16"),
        ("04 spill place quay 12 Oct 1016", None),
        ("04 source drawn by May 12 1016", "10-13T10:16"),
        ("04 agora 1016", "10-13T10:16"),
    ],
)
async def test_a_word_of_another_field_is_no_day(talk: Talk, line: str, time: str | None) -> None:
    assert (await told(talk, line))[1] == time


@pytest.mark.parametrize(
    ("line", "time", "cold"),
    [
        ("04 1000 cooler M 4.4C 1016 yesterday", "10-13T10:00", "10-12T10:16"),
        ("04 cooler M 4.4C at 1016 12 Oct seal 5104 0950", "10-13T09:50", "10-12T10:16"),
        ("04 1000 yesterday cooler M 4.4 C yesterday 1016", "10-12T10:00", "10-12T10:16"),
        ("04 incold yesterday 1030", None, "10-12T10:30"),
        ("04 incold 1030 yesterday", None, "10-12T10:30"),
    ],
)
async def test_a_cooler_s_time_with_its_day_is_the_cooler_s(
    talk: Talk, line: str, time: str | None, cold: str | None
) -> None:
    assert (await told(talk, line))[1:] == (time, cold)


@pytest.mark.parametrize(
    "line",
    [
        "04 spill 12/10 1016",
        "04 spill 1016 12/10 seal 5104",
        "04 spill 12/10/2026 1016",
        "04 spill 12OCT26 1016",
        "04 spill 12.10. 1016",
        "04 spill 12.10.2026 1016",
        "04 spill 1016 on the 12th",
        "04 monday spill 1016, seal 5104",
        "04 spill 1016 pad søndag",
        "04 spill 1016 last monday",
        "04 last night 1016 spill",
        "04 spill 1016 le 12",
        "04 spill 121026 1016",
        "04 spill 1016 (yesterday)",
        "04 spill avant-hier 1016",
        "04 spill 1016 12.10",
        "04 spill oct-12 1016",
    ],
)
async def test_a_time_beside_what_may_be_its_day_is_never_taken_for_today_s(talk: Talk, line: str) -> None:
    answer, time, _ = await told(talk, line)
    assert re.search("which (day|number is the day)[?]", answer)
    assert time is None
    assert "12 Oct 10:16" in await talk.says("R1", "12 Oct 1016")


async def test_the_same_time_again_says_no_day_and_the_day_alone_is_enough(talk: Talk) -> None:
    await told(talk, "04 monday spill 1016")
    assert await talk.says("R1", "1016") == "04: 1016: which day? Send the date and the time."
    assert "which day?" in await talk.says("R1", "10:16")
    assert "which number is the day?" in await talk.says("R1", "12/10")
    assert "12 Oct 10:16" in await talk.says("R1", "mon")


async def test_the_day_may_be_its_date(talk: Talk) -> None:
    await told(talk, "04 spill 12/10 1016")
    assert "12 Oct 10:16" in await talk.says("R1", "12 Oct")


@pytest.mark.parametrize(
    ("line", "time"),
    [
        ("04 spill 12-Oct 1016", "10-12T10:16"),
        ("04 spill 12oct 1016", "10-12T10:16"),
        ("04 spill 1016 12-Oct-2026", "10-12T10:16"),
        ("04 spill shut 1016 monday", "10-12T10:16"),
        ("04 Sunday 1016 spill", "10-11T10:16"),
        ("04 spill 1016 tuesday", "10-13T10:16"),
        ("04 spill wednesday 1016", "10-07T10:16"),
        ("04 spill 13/10/2026 1016", "10-13T10:16"),
        ("04 spill 1016 today", "10-13T10:16"),
        ("04 fill 3/4 1016", "10-13T10:16"),
        ("04 hose 12mar 1016", "10-13T10:16"),
        ("04 pad 1016 2-3 m deep", "10-13T10:16"),
        ("04 pad 1016 sun behind me", "10-13T10:16"),
    ],
)
async def test_a_day_that_can_be_meant_in_one_way_only_is_read_among_words(
    talk: Talk, line: str, time: str
) -> None:
    assert (await told(talk, line))[1] == time


@pytest.mark.parametrize("line", ["12. oct 1016 sheen spill", "12 oct 1016 sheen spill", "jar no 12 oct 1016"])
async def test_a_day_is_no_jar_s_number(talk: Talk, line: str) -> None:
    assert (await talk.says("R1", line, at=NEXT_DAY)).startswith("Kept as a note")


async def test_a_cooler_s_time_beside_a_day_that_is_not_read_is_not_today_s_either(talk: Talk) -> None:
    assert (await told(talk, "04 spill sheen 1016 cooler M 4.4C 1020 pad monday"))[1:] == (None, None)


@pytest.mark.parametrize(
    "line",
    [
        "04 spill sheen 0905 lab friday 1000",
        "04 spill sheen 0905, courier friday 1400",
        "04 spill 0830 el lunes pasado",
        "04 spill monday 0830 last week",
        "04 spill forrige mandag 0830",
        "04 spill yesterday monday 0830",
    ],
)
async def test_a_weekday_that_may_be_another_or_another_s_is_asked_about(talk: Talk, line: str) -> None:
    assert (await told(talk, line))[1] is None


@pytest.mark.parametrize("name", ["Luis Domingo", "the mate Domingo,", "Ann Friday"])
async def test_a_weekday_in_the_name_of_who_drew_it_is_no_day(talk: Talk, name: str) -> None:
    assert (await told(talk, f"04 source tank 3 drawn by {name} 0905"))[1] == "10-13T09:05"


@pytest.mark.parametrize(
    ("line", "sent", "time"),
    [
        ("04 spill last night 2130", "2026-10-13T09:00:00+01:00", "2026-10-12T21:30:00+01:00"),
        ("04 spill anoche 2130", "2026-10-13T09:00:00+01:00", "2026-10-12T21:30:00+01:00"),
        ("04 spill last night 0210", "2026-10-13T09:00:00+01:00", "2026-10-13T02:10:00+01:00"),
        ("04 spill 2130 last night", "2026-10-13T23:00:00+01:00", None),
        ("04 spill 2130 anoche", "2026-10-13T23:00:00+01:00", None),
    ],
)
async def test_last_night_is_the_one_before_the_sending(talk: Talk, line: str, sent: str, time: str | None) -> None:
    await talk.says("R1", line, at=sent)
    assert (await talk.jar("04"))["event_time"] == time


async def test_in_a_walk_too_the_day_is_asked_for(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "04", "1", "1"):
        await talk.says("R1", text, at=NEXT_DAY if text == "jar" else None)
    assert await talk.says("R1", "shut 1002 pad monday") == "04: 1002: which day? Send the date and the time."


@pytest.mark.parametrize("line", ["03 seals 1204", "03 seal# 1204", "03 seal #1204 yesterday", "03 seal is 1204 yesterday"])
async def test_a_seal_s_number_is_no_time_however_it_is_announced(talk: Talk, line: str) -> None:
    await talk.says("R1", "03 spill sheen", at=NEXT_DAY)
    await talk.says("R1", line)
    (jar,) = await talk.show("samples")
    assert jar["event_time"] is None
