"""A mistyped cooler reading taken back by its author: struck in place, and all that follows of it follows.

That a struck original stays legible with its author, date and reason is evidence practice ("Corrections to
documentation", a county's file); the rest is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from storage.register import last_readings
from tests.dialogue.test_coolers import JAR, cooler
from tests.talk import Talk


async def told(talk: Talk) -> list[tuple[str, str | None, str]]:
    return [(one["old"], one["new"], one["why"]) for one in (await cooler(talk))["corrections"]]


async def read(talk: Talk) -> list[float]:
    return [one["celsius"] for one in (await cooler(talk))["readings"]]


async def open_kinds(talk: Talk) -> list[str]:
    return [one["kind"] for one in await talk.show("alerts") if one["closed_at"] is None]


async def test_the_old_value_stays_struck_and_the_new_one_stands_at_its_time(talk: Talk) -> None:
    await talk.says("R1", "cooler M 42C at 0910 ice some thermometer T1", at="2026-10-12T08:15:00Z")
    said = await talk.says("R1", "cooler M 4.2 not 42, misread")
    assert said == 'Cooler M 4.2 C, was 42 C: "misread". Both stand on record.'
    line = await cooler(talk)
    (now,) = line["readings"]
    assert (now["celsius"], now["at"], now["thermometer"], now["ice_left"], now["band"]) == (
        4.2, "2026-10-12T09:10:00+01:00", "T1", "some", "ok",
    )  # fmt: skip
    (was,) = line["corrections"]
    assert (was["old"], was["new"], was["why"], was["by"], was["sort"]) == ("42C", "4.2", "misread", "R1", "correction")
    assert line["excursions"] == []
    kinds = [one["kind"] for one in await talk.show("entries") if one["kind"].startswith("Cooler")]
    assert kinds[-3:] == ["CoolerRead", "CoolerCorrected", "CoolerRead"]
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


@pytest.mark.parametrize(
    ("line", "now"),
    [
        ("cooler M is 4.2C not 42C, misread", 4.2),
        ("cooler M reads 4.2 not 42 misread", 4.2),
        ("cooler m 4.2 at 0901, not 42; misread", 4.2),
        ("cooler M 40F not 42, wrong unit", 4.44),  # (40 - 32) * 5/9
    ],
)
async def test_a_correction_is_read_in_the_words_that_people_use(talk: Talk, line: str, now: float) -> None:
    await talk.says("R1", "cooler M 42C at 0901", at="2026-10-12T08:02:00Z")
    await talk.says("R1", line)
    assert await read(talk) == [now]


async def test_a_reason_is_asked_for_and_a_mark_is_none(talk: Talk) -> None:
    await talk.says("R1", "cooler M 42C")
    assert await talk.says("R1", "cooler M 4.2 not 42") == "Cooler M 4.2 C, was 42 C. Why? In a few words."
    assert await told(talk) == [("42C", "4.2", "none given")]  # what is right counts before the reason is there
    assert "In words, please" in await talk.says("R1", ".")
    assert await talk.says("R1", "thumb slipped") == 'Cooler M 4.2 C, was 42 C: "thumb slipped". Both stand on record.'
    assert await told(talk) == [("42C", "4.2", "thumb slipped")]
    assert await talk.rebuilds_the_same()


async def test_in_the_middle_of_a_jar_the_reason_is_taken_when_it_is_sent_again(talk: Talk) -> None:
    await talk.says("R1", "jar")
    await talk.says("R1", "cooler M 42C")
    assert "Why?" in await talk.says("R1", "cooler M 4.2 not 42")
    assert "Phone and camera" in await talk.says("R1", "mate, cleared")
    assert '"misread"' in await talk.says("R1", "cooler M 4.2 not 42, misread")
    assert (await read(talk), await told(talk)) == ([4.2], [("42C", "4.2", "misread")])


async def test_only_who_told_it_corrects_it_and_what_another_says_stands_beside(talk: Talk) -> None:
    await talk.says("R1", "cooler M 42C")
    said = await talk.says("R2", "cooler M 4.2 not 42, he misread")
    assert said.startswith("Cooler M 42 C is R1's: only R1 corrects it. Yours is kept beside it and changes nothing.")
    assert await read(talk) == [42]
    (one,) = (await cooler(talk))["corrections"]
    assert (one["by"], one["sort"], one["new"]) == ("R2", "account", "cooler M 4.2 not 42, he misread")
    assert "only R1" in await talk.says("S1", "strike cooler M 42, cannot be")
    assert await read(talk) == [42]


async def test_what_nobody_told_changes_nothing_and_names_what_stands(talk: Talk) -> None:
    await talk.says("R1", "cooler M 4.2C")
    said = await talk.says("R1", "cooler M 4.4 not 24, misread")
    assert said.startswith("Cooler M: no 24 of yours stands. Your last: 4.2 C. Nothing changed. Send like:")
    assert "Read it again" in await talk.says("R1", "cooler M 80C not 4.2, misread")
    assert (await read(talk), await told(talk)) == ([4.2], [])


async def test_wrong_right_after_a_reading_strikes_it_and_after_a_jar_does_not(talk: Talk) -> None:
    await talk.says("R1", "cooler M 9.9C")
    said = await talk.says("R1", "wrong")
    assert said == (
        'Cooler M 9.9 C is struck and stays visible: "taken back with WRONG". Send what it reads, like: cooler M 4.2C'
    )
    assert (await read(talk), await open_kinds(talk)) == ([], [])
    await talk.says("R1", "cooler M 4.2C")
    await talk.says("R1", JAR.format("01", "5101"))
    await talk.says("R1", "wrong")
    assert await read(talk) == [4.2, 4.4]


async def test_a_struck_reading_needs_no_other_in_its_place(talk: Talk) -> None:
    await talk.says("R1", "cooler M 4.1C", at="2026-10-12T08:10:00Z")
    await talk.says("R1", "cooler M 8.8C")
    said = await talk.says("R1", "strike cooler M 8.8, that was the fridge")
    assert said.startswith('Cooler M 8.8 C is struck and stays visible: "that was the fridge".')
    assert (await read(talk), await told(talk)) == ([4.1], [("8.8C", None, "that was the fridge")])
    async with talk.house.store.database.read() as tx:
        assert (await last_readings(tx, ["M"]))["M"]["celsius"] == 4.1


async def test_a_time_and_an_amount_of_ice_are_corrected_alike(talk: Talk) -> None:
    await talk.says("R1", "cooler M 4.5C at 0925", at="2026-10-12T08:30:00Z")
    await talk.says("R1", "cooler M at 0915 not 0925, my watch")
    (one,) = (await cooler(talk))["readings"]
    assert (one["at"], one["celsius"]) == ("2026-10-12T09:15:00+01:00", 4.5)
    await talk.says("R1", "cooler M 50 kg ice outside 18C shade")
    said = await talk.says("R1", "cooler M 5 kg ice not 50 kg, typo")
    assert said.startswith("Cooler M 5 kg ice, was 50 kg ice outside 18C shade:")
    (ice,) = (await cooler(talk))["told"]
    assert (ice["ice_kg"], ice["outside_celsius"], ice["shade"]) == (5, 18, "shade")
    assert await talk.rebuilds_the_same()


async def test_a_reading_told_with_a_jar_is_one_with_what_the_jar_says(talk: Talk) -> None:
    await talk.says("R1", JAR.format("01", "5101").replace("4.4C", "44C"), at="2026-10-12T08:10:00Z")
    assert await read(talk) == [44]
    await talk.says("R1", "01 temperature is 4.4C not 44C, misread")
    assert (await read(talk), (await talk.jar("01"))["cooler_celsius"]) == ([4.4], 4.4)
    await talk.says("R1", "cooler M 4.1 not 4.4, read it again")
    assert (await read(talk), (await talk.jar("01"))["cooler_celsius"]) == ([4.1], 4.1)
    assert "was told with jar 01" in await talk.says("R1", "strike cooler M 4.1, no")
    await talk.says("R1", "01 cooler is N not M, misread")
    assert await read(talk) == []
    assert [one["celsius"] for one in (await cooler(talk, "N"))["readings"]] == [4.1]
    assert await talk.rebuilds_the_same()


async def test_an_edited_text_corrects_what_it_gave(talk: Talk) -> None:
    from bot.model.message import Incoming

    await talk.says("R1", "cooler M 42C")
    now_us = talk.clock.now_us() + 60_000_000
    talk.clock.move_to(now_us)
    edited = Incoming(
        channel="sms", account="+447700900001", message_id="e1", received_us=now_us, text="cooler M 4.2C", edits="m0"
    )
    await talk.take(edited)
    await talk.says("R1", "ok")
    assert (await read(talk), await told(talk)) == ([4.2], [("42C", "4.2C", "none given")])


async def test_a_fridge_that_is_not_approved_is_no_correction(talk: Talk) -> None:
    await talk.says("R1", "fridge M not approved for flammables")
    line: dict[str, Any] = await cooler(talk)
    assert (line["corrections"], line["told"][0]["flammables"]) == ([], False)
