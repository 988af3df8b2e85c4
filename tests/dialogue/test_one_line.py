"""A whole jar in one text, its parts in any order."""

from __future__ import annotations

import itertools

import pytest

from bot.model.message import Incoming
from bot.model.times import us_of_iso
from tests.talk import Talk

PARTS = ("spill", "sheen", "0905", "47.2830N 19.9510W", "pad", "seal 5103", "cooler M 4.4C")


@pytest.mark.parametrize("order", list(itertools.permutations(range(len(PARTS))))[::367])
async def test_the_parts_of_a_line_may_stand_in_any_order(talk: Talk, order: tuple[int, ...]) -> None:
    await talk.says("R1", " ".join(("03", *(PARTS[place] for place in order))))
    jar = await talk.jar("03")
    told = (jar["kind"], jar["matrix"], jar["event_time"], jar["method"], jar["seals"][0]["number"])
    assert told == ("spill", "sheen", "2026-10-12T09:05:00+01:00", "pad", "5103")
    assert (jar["position"]["raw"], jar["cooler"], jar["cooler_celsius"]) == ("47.2830N 19.9510W", "M", 4.4)


async def test_the_read_back_names_what_is_not_stated(talk: Talk) -> None:
    assert await talk.says("R1", "04 spill thick 0906 47.2852N 19.9478W seal 5104") == (
        "04 saved, not confirmed: spill, thick oil, 09:06, 47.2852N 19.9478W, seal 5104. "
        "Not stated: method, fill, gloves, photo, cooler. OK, or send it."
    )
    assert await talk.says("R1", "05 sheen 0907 seal 5106") == (
        "05 saved, not confirmed: sheen, 09:07, seal 5106. "
        "Not stated: spill or source, place, method, gloves, photo, cooler. OK, or send it."
    )
    assert await talk.says("R1", "06 source tank 2P 0908 seal 5107") == (
        "06 saved, not confirmed: source, tank 2P, 09:08, seal 5107. "
        "Not stated: place, method, drawn by, gloves, photo, cooler. OK, or send it."
    )


async def test_kind_is_never_inferred_from_how_the_oil_looks(talk: Talk) -> None:
    await talk.says("R1", "05 sheen 0907 seal 5106")
    jar = await talk.jar("05")
    assert (jar["kind"], jar["matrix"]) == (None, "sheen")
    assert "kind" in jar["not_stated"]


async def test_numbers_are_echoed_as_typed_and_3_and_03_are_one_jar(talk: Talk) -> None:
    assert (await talk.says("R1", "3 spill sheen 0905 seal 5103")).startswith("3 saved")
    assert (await talk.says("R1", "03 gloves yes")).startswith("3 saved")
    assert [jar["number"] for jar in await talk.show("samples")] == ["3"]


async def test_words_that_no_part_claims_are_said_and_nothing_is_lost(talk: Talk) -> None:
    answer = await talk.says("R1", "03 spill sheen 0905 purple seal 5103")
    assert answer.startswith("Not understood: purple. 03 saved")
    assert "purple" in (await talk.show("messages"))[-1]["text"]


async def test_a_line_leaves_the_open_question_open(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1", "shut 0905 pad"):
        await talk.says("R1", text)
    assert "04 saved" in await talk.says("R1", "04 spill thick 0906 jar 47.2852N 19.9478W seal 5104 fill 3/4")
    assert "03: seal" in await talk.says("R1", "47.2830N 19.9510W")
    assert (await talk.jar("03"))["position"]["raw"] == "47.2830N 19.9510W"


async def test_several_lines_in_one_text_are_several_jars(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0905 seal 5103\n04 spill thick 0906 seal 5104")
    assert [jar["number"] for jar in await talk.show("samples")] == ["03", "04"]


async def test_a_second_telling_of_the_same_line_changes_nothing(talk: Talk) -> None:
    line = "03 spill sheen 0905 47.2830N 19.9510W pad seal 5103"
    await talk.says("R1", line)
    before = await talk.jar("03")
    await talk.says("R1", line)
    assert await talk.jar("03") == before


async def test_what_comes_later_is_added_and_after_ok_marked_as_late(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0905 pad seal 5103")
    await talk.says("R1", "03 gloves yes")
    assert (await talk.jar("03"))["corrections"] == []
    await talk.says("R1", "ok")
    await talk.says("R1", "03 cooler M 4.4C")
    added = (await talk.jar("03"))["corrections"]
    assert {(one["field"], one["old"], one["sort"]) for one in added} == {
        ("cooler", None, "late_addition"),
        ("cooler_celsius", None, "late_addition"),
    }


async def test_a_temperature_in_fahrenheit_keeps_its_original(talk: Talk) -> None:
    assert "cooler M 39.9 F" in await talk.says("R1", "03 spill sheen 0905 cooler M 39.9F")
    jar = await talk.jar("03")
    assert (jar["cooler_celsius"], jar["raw"]["cooler_celsius"]) == (4.39, "39.9F")


async def test_a_bare_warm_number_for_a_cooler_is_asked_and_the_rest_is_on_record(talk: Talk) -> None:
    answer = await talk.says("R1", "03 spill sheen 0905 seal 5103 cooler M 46")
    assert answer.endswith("46 C or F?")
    assert (await talk.jar("03"))["seals"][0]["number"] == "5103"
    await talk.says("R1", "C")
    assert (await talk.jar("03"))["cooler_celsius"] == 46.0


async def test_the_hour_that_comes_twice_is_resolved_only_by_a_human(talk: Talk) -> None:
    # IANA data: Europe/Lisbon goes from UTC+1 to UTC+0 at 01:00 UTC on 25 October 2026.
    answer = await talk.says("R1", "12 spill sheen 0130 pad seal 5112", at="2026-10-25T01:40:00Z")
    assert answer.endswith("0130 came twice that night. Old time or new time?")
    assert [choice.id for choice in talk.sent[-1].choices] == ["old", "new"]
    assert (await talk.jar("12"))["event_time"] is None
    await talk.says("R1", "old time")
    assert (await talk.jar("12"))["event_time"] == "2026-10-25T01:30:00+01:00"


async def test_now_counts_only_when_the_text_is_fresh(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen now", at="2026-10-12T09:05:00Z", sent_at="2026-10-12T09:04:30Z")
    assert (await talk.jar("03"))["event_time"] == "2026-10-12T10:05:00+01:00"
    answer = await talk.says(
        "R1", "04 spill sheen now", at="2026-10-12T11:05:00Z", sent_at="2026-10-12T09:04:30Z"
    )
    assert "What was the clock time?" in answer
    assert (await talk.jar("04"))["event_time"] is None


async def test_three_late_jars_are_caught_up_in_one_text_and_one_ok(talk: Talk) -> None:
    lines = [
        ("0906", "07 spill sheen 0905 pad"),
        ("0932", "08 spill sheen 0931 pad"),
        ("0949", "09 spill thick 0948 jar"),
    ]
    talk.clock.move_to(us_of_iso("2026-10-12T13:00:00Z"))
    await talk.take(*(
        Incoming(
            channel="sms", account="+447700900001", message_id=f"late{at}", text=text,
            sent_us=us_of_iso(f"2026-10-12T{at[:2]}:{at[2:]}:00+01:00"), received_us=talk.clock.now_us(),
        )
        for at, text in lines
    ))  # fmt: skip
    assert len(talk.sent) == 1, [one.text for one in talk.sent]
    assert talk.sent[0].text.startswith("Came late, on record: 07 (09:05) 08 (09:31) 09 (09:48). Not stated:")
    assert "fill of 09" in talk.sent[0].text
    await talk.says("R1", "ok")
    assert [jar["confirmed"] for jar in await talk.show("samples")] == [True] * 3


async def test_the_case_is_the_one_named_else_asked_once(drill: Talk) -> None:
    assert "Which case?" in await drill.says("R1", "03 spill sheen 0905 seal 5103")
    answer = await drill.says("R1", "CH-900")
    assert answer.startswith("EXERCISE CH-900 03 saved, not confirmed: spill, sheen, 09:05")
    assert (await drill.jar("03"))["exercise"] is True
    assert "CH-014 04 saved" in await drill.says("R1", "CH-014 04 spill thick 0906 seal 5104")
    assert (await drill.jar("04"))["exercise"] is False


async def test_now_is_when_it_was_sent_and_not_when_the_case_was_named(drill: Talk) -> None:
    await drill.says("R1", "03 spill sheen now seal 5103", at="2026-10-12T09:00:00Z")
    answer = await drill.says("R1", "CH-014", at="2026-10-12T09:30:00Z")
    assert "What was the clock time?" in answer
    assert (await drill.jar("03"))["event_time"] is None


async def test_a_span_of_hours_is_said_in_hours(talk: Talk) -> None:
    answer = await talk.says("R1", "11 spill sheen yesterday 2210")
    assert "Its time lies 9 h 50 min before the case was opened." in answer


@pytest.mark.parametrize(
    ("line", "place", "position"),
    [
        ("04 1016 place slip, lat 47.2830 long -19.9510", "slip", "typed"),
        ("04 1016 pad place lat 47.2830 long -19.9510", None, "typed"),
        ("04 1016 pad place off slip 47.2830N 19.9510W", "off slip", "typed"),
        ("04 1016 weather fog at lat 47.2830 long -19.9510", None, None),
    ],
)
async def test_a_position_in_words_leaves_no_mark_in_them_and_is_the_jar_s_in_its_place_alone(
    talk: Talk, line: str, place: str | None, position: str | None
) -> None:
    assert "U+" not in await talk.says("R1", line)
    jar = await talk.jar("04")
    assert jar["place"] == place
    assert (jar["position"] or {}).get("source") == position
