"""What is told of coolers, and what is answered: on record, its band, one question where something lacks."""

from __future__ import annotations

import pytest

from tests.talk import Talk

JAR = "{} spill sheen 0901 47.2830N 19.9510W pad seal {} gloves yes cooler M 4.4C"


async def cooler(talk: Talk, name: str = "M") -> dict:
    return next(one for one in await talk.show("cooler") if one["name"] == name)


async def test_a_reading_names_its_time_ice_and_thermometer(talk: Talk) -> None:
    said = await talk.says("R1", "cooler M 4.2C at 0910 ice some thermometer T1", at="2026-10-12T08:15:00Z")
    assert said == "Cooler M 4.2 C at 09:10, ice some, on record."
    (one,) = (await cooler(talk))["readings"]
    assert (one["celsius"], one["band"], one["thermometer"], one["ice_left"]) == (4.2, "ok", "T1", "some")
    assert one["at"] == "2026-10-12T09:10:00+01:00"


async def test_ice_outside_and_shade_stand_as_told(talk: Talk) -> None:
    said = await talk.says("R1", "cooler M 5 kg ice at 0700 outside 24C shade")
    assert said == "Cooler M: 5 kg ice, outside 24 C, in the shade, on record."
    (told,) = (await cooler(talk))["told"]
    assert (told["ice_kg"], told["outside_celsius"], told["shade"]) == (5, 24, "shade")
    assert told["words"] == "cooler M 5 kg ice at 0700 outside 24C shade"
    assert told["opened"] is None
    assert (await cooler(talk))["readings"] == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("cooler M opened 3", {"opened": 3}),
        ("cooler M lid opened twice", {"opened": 2}),
        ("cooler M 2 bags of 2 kg ice", {"ice_kg": 4, "ice_bags": 2}),
        ("cooler M 10 lb ice van", {"ice_kg": 4.536, "shade": "vehicle"}),  # the pound is 0.45359237 kg
        ("cooler M half melted", {"ice_left": "some"}),
        ("cooler M 25 L basic", {"cooler_class": "25 L basic"}),
        ("fridge M not approved for flammables", {"flammables": False}),
        ("fridge M approved for flammables", {"flammables": True}),
        ("cooler M repacked 3 kg ice", {"ice_kg": 3, "repacked": True}),
        ("cooler M outside 75F", {"outside_celsius": 23.89}),  # (75 - 32) * 5/9
    ],
)
async def test_each_part_stands_alone(talk: Talk, text: str, told: dict) -> None:
    await talk.says("R1", text)
    (one,) = (await cooler(talk))["told"]
    silent = {"sample", "at", "cooler", "words", "repacked", *told}
    assert {name: one[name] for name in told} == told
    assert {value for name, value in one.items() if name not in silent} == {None}


async def test_a_fridge_for_flammables_is_no_gas_reading(talk: Talk) -> None:
    said = await talk.says("R1", "fridge M approved for flammables 3.8C")
    assert said == "Cooler M: approved for flammables, on record. Cooler M 3.8 C, on record."
    assert "does not judge gas readings" in await talk.says("R1", "flammables 4 percent")


async def test_ice_without_a_mass_is_asked(talk: Talk) -> None:
    assert await talk.says("R1", "cooler M ice") == "How much ice? Send like: cooler M 5 kg ice"
    said = await talk.says("R1", "cooler M 2 bags ice")
    assert said == "Cooler M: 2 bags of ice, on record. How many kg in all? Send like: cooler M 4 kg ice"


async def test_what_else_was_said_is_on_record_while_a_unit_is_asked(talk: Talk) -> None:
    said = await talk.says("R1", "cooler M 46 ice plenty")
    assert said == "Cooler M: ice plenty, on record. 46 C or F?"
    assert await talk.says("R1", "F") == "Cooler M 46 F, on record: over 6.0. " + ADVICE.format("09:32")
    assert [one["celsius"] for one in (await cooler(talk))["readings"]] == [pytest.approx(7.78)]


ADVICE = "Second thermometer? Ice in, not against the jars, lid shut, shade. Read again {}."


async def test_a_warm_reading_says_what_it_passes_and_what_to_do(talk: Talk) -> None:
    said = await talk.says("R1", "cooler M 8.4C")
    assert said == "Cooler M 8.4 C, on record: over 6.0. " + ADVICE.format("09:31")
    said = await talk.says("R1", "8.2")
    assert said.endswith("over 6.0. Ice in, not against the jars, lid shut, shade. Read again 09:32.")
    (one,) = (await cooler(talk))["excursions"]
    assert (one["confirmed"], one["open"], one["peak_celsius"]) == (True, True, 8.4)


async def test_at_nought_a_second_thermometer_and_the_jars_are_asked_for(talk: Talk) -> None:
    said = await talk.says("R1", "cooler M 0.0C")
    assert "at or below 0.0. Second thermometer? Is there ice in a jar? Look through the glass." in said


async def test_warm_jars_on_ice_are_cooling_down(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice")
    await talk.says("R1", JAR.format("01", "5101"))
    said = await talk.says("R1", "cooler M 9.1C")
    assert said == "Cooler M 9.1 C, on record: cooling down. Read again 09:33."
    assert [one["band"] for one in (await cooler(talk))["readings"]] == ["ok", "cooling"]


async def test_after_four_readings_it_says_when_the_jars_will_be_in_range_at_this_rate(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice", at="2026-10-12T08:10:00Z")
    await talk.says("R1", JAR.format("01", "5101").replace(" 4.4C", ""))
    for minute, celsius in ((15, 18.0), (30, 14.1), (45, 11.2)):
        said = await talk.says("R1", f"cooler M {celsius}C", at=f"2026-10-12T08:{minute}:00Z")
        assert "at this rate" not in said
    said = await talk.says("R1", "cooler M 9.1C", at="2026-10-12T09:00:00Z")
    assert said == (
        "Cooler M 9.1 C, on record: cooling down, at this rate under 6.0 about 10:36. Read again 10:30."
    ), "18 C towards 3 C at 1.2 an hour passes 6 C 80 minutes after 09:15, within a few minutes"


@pytest.mark.parametrize("text", ["cooler M -40C", "cooler M 400F", "cooler M 60C", "cooler M -40", "cooler M 400"])
async def test_what_no_bottle_reads_is_not_counted(talk: Talk, text: str) -> None:
    said = await talk.says("R1", text)
    assert "Read it again" in said
    assert (await cooler(talk))["readings"] == []


async def test_an_absurd_reading_beyond_any_thermometer_is_asked_again(talk: Talk) -> None:
    assert "Read the thermometer again" in await talk.says("R1", "cooler M 400C")
    assert (await cooler(talk))["readings"] == []


async def test_a_reading_of_tomorrow_is_not_counted(talk: Talk) -> None:
    said = await talk.says("R1", "cooler M 4C at 0920", at="2026-10-12T08:10:00Z")
    assert said.startswith("0920"), said
    assert (await cooler(talk))["readings"] == []


async def test_a_reading_told_twice_stands_once(talk: Talk) -> None:
    await talk.says("R1", "cooler M 4.2C at 0901", at="2026-10-12T08:05:00Z")
    said = await talk.says("R1", "cooler M 4.2C at 0901")
    assert said == "Cooler M 4.2C stands on record already."
    await talk.says("R2", "cooler M 4.2C at 0901")
    assert [one["by"] for one in (await cooler(talk))["readings"]] == ["R1", "R2"]


@pytest.mark.parametrize("now", ["now", "ahora", "maintenant", "agora", "nå"])
async def test_a_reading_of_now_is_told_in_each_language(talk: Talk, now: str) -> None:
    said = await talk.says("R1", f"cooler M 4.2C {now}", at="2026-10-12T08:10:00Z")
    assert said == "Cooler M 4.2 C at 09:10, on record."
    assert [one["at"] for one in (await cooler(talk))["readings"]] == ["2026-10-12T09:10:00+01:00"]


async def test_an_unknown_cooler_is_kept_and_said_to_be_unknown(talk: Talk) -> None:
    said = await talk.says("R1", "cooler Z 4.2C")
    assert said == "Cooler Z 4.2 C, on record. No cooler Z is set up: tell your supervisor."
    assert [one["celsius"] for one in (await cooler(talk, "Z"))["readings"]] == [4.2]


async def test_words_that_were_not_read_are_named(talk: Talk) -> None:
    said = await talk.says("R1", "cooler M 4.2C beside the wall")
    assert "beside wall" in said
    assert [one["celsius"] for one in (await cooler(talk))["readings"]] == [4.2]


async def test_jars_move_from_one_cooler_to_another_and_carry_what_they_were_in_for(talk: Talk) -> None:
    await talk.says("R1", JAR.format("01", "5101"), at="2026-10-12T08:10:00Z")
    await talk.says("R1", JAR.format("02", "5102"))
    await talk.says("R1", "cooler M 8.4C at 1000", at="2026-10-12T09:00:00Z")
    assert await talk.says("R1", "01 into cooler N at 1005", at="2026-10-12T09:06:00Z") == (
        "01 moved from M into N, on record."
    )
    await talk.says("R1", "cooler M 9.2C at 1030", at="2026-10-12T09:30:00Z")
    await talk.says("R1", "cooler M 5.0C at 1100", at="2026-10-12T10:00:00Z")
    first, second = await talk.jar("01"), await talk.jar("02")
    assert (first["cooler"], second["cooler"]) == ("N", "M")
    assert [one["peak_celsius"] for one in first["excursions"]] == [8.4]
    assert [one["peak_celsius"] for one in second["excursions"]] == [9.2]
    assert "excursion" in first["flags"]
    (one,) = (await cooler(talk))["excursions"]
    assert (one["at_least_minutes"], one["at_most_minutes"], one["samples"]) == (30, 109, ["01", "02"])
    assert await talk.says("R1", "02 out of M") == "02 out of cooler M, on record: not in cold until you say where."
    assert (await talk.jar("02"))["status"] == "sealed"
    assert await talk.says("R1", "01 into cooler N") == "01 stand as in N already."
    assert (await talk.says("R1", "09 into cooler N")).startswith("Not on record as one jar of CH-014: 09.")
    assert await talk.rebuilds_the_same()


async def test_a_corrected_cooler_was_never_the_other_one(talk: Talk) -> None:
    await talk.says("R1", JAR.format("01", "5101"))
    await talk.says("R1", "cooler M 8.4C")
    assert (await talk.jar("01"))["excursions"] != []
    await talk.says("R1", "01 cooler is N not M, misread")
    assert (await talk.jar("01"))["excursions"] == []
    assert await talk.rebuilds_the_same()


async def test_a_cooler_corrected_with_its_first_reading_has_it_and_the_other_one_never_had(talk: Talk) -> None:
    await talk.hears("R1", "01 spill sheen 0901 47.2830N 19.9510W pad seal 5103 gloves yes cooler 0")
    await talk.hears("R1", "01 cooler M 3C")
    (read,) = (await cooler(talk))["readings"]
    assert (read["celsius"], read["band"]) == (3, "ok")
    async with talk.house.store.database.read() as tx:
        assert await tx.rows("SELECT DISTINCT cooler FROM readings") == [("M",)]


async def test_every_limit_stands_beside_the_record_with_its_source(talk: Talk) -> None:
    limits = {one["limit"]: one for one in (await cooler(talk))["limits"]}
    assert limits["cold_limit_c"]["value"] == 6.0
    assert "40 CFR 136" in limits["cold_limit_c"]["is"]


async def test_a_cooler_line_leaves_the_open_question_open(talk: Talk) -> None:
    await talk.says("R1", "jar")
    await talk.says("R1", "cooler M 4.2C")
    said = await talk.says("R1", "mate, cleared")
    assert "Phone and camera" in said


async def test_a_jar_is_in_one_cooler_at_a_time(talk: Talk) -> None:
    await talk.says("R1", JAR.format("01", "5101"))
    said = await talk.says("R1", "01 into M and cooler N")
    assert said == "01 in one cooler at a time: M or N? Send like: 01 into M"
    assert (await talk.jar("01"))["corrections"] == []
    assert await talk.says("R1", "01 out of M into cooler N") == "01 moved from M into N, on record."


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("cooler M minus 0.5", "Cooler M -0.5 C, on record: at or below 0.0."),
        ("cooler M 2 bags x 2kg ice", "Cooler M: 4 kg ice, on record."),
        ("cooler M ice left: plenty", "Cooler M: ice plenty, on record."),
        ("ice left: some", "Cooler M: ice some, on record."),
        ("ice left in M: none", "Cooler M: ice none, on record."),
        ("ice plenty", "Cooler M: ice plenty, on record."),
    ],
)
async def test_what_is_echoed_is_what_was_said(talk: Talk, line: str, said: str) -> None:
    assert (await talk.says("R1", line)).startswith(said)


async def test_jars_that_cool_down_are_read_again_soon_also_after_good_readings(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice 4.0C", at="2026-10-12T08:00:00Z")
    await talk.says("R1", JAR.format("01", "5101"), at="2026-10-12T08:10:00Z")
    assert await talk.says("R1", "cooler M 6.4C", at="2026-10-12T08:30:00Z") == (
        "Cooler M 6.4 C, on record: cooling down. Read again 10:00."
    )
