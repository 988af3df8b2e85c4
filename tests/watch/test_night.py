"""The night: a cooler warms at 03:00 while the supervisor sleeps.

Bands: 40 CFR 136 table II (at or below 6 C), seen in a state SOP; the ladder is common practice, no source.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bot.model.message import Outgoing
from tests.talk import SETUP, Talk, talk_to
from tests.watch.conftest import LADDER

# What is texted, by the clock on the wall in Lisbon.
NIGHT = [
    ("21:50", "cooler M 4.4C ice plenty"),
    ("03:02", "cooler M 8.4C"),
    ("03:33", "cooler M 7.1C second thermometer"),
    ("04:03", "cooler M 5.2C"),
    ("04:33", "cooler M 4.6C"),
]


def told(sent: list[Outgoing]) -> list[tuple[str, str, str, int]]:
    """(when, to whom, level, repeat) of each text of the watch about the cooler being warm."""
    from bot.model.times import iso_utc

    return [
        (iso_utc(one.queued_us)[11:16], one.person or "", one.alert.level, one.alert.repeat)
        for one in sent
        if one.alert is not None and one.alert.kind == "cooler_warm"
    ]


async def jars(talk: Talk, day: str, offset: str) -> None:
    for number in range(1, 10):
        await talk.hears(
            "R2", f"0{number} spill sheen 18{number}0 seal 510{number} cooler M 4.0C"[:60].replace("18", "1"),
            at=f"{day}T20:{number:02}:00{offset}",
        )


async def play(talk: Talk, evening: str, morning: str, offsets: tuple[str, str], mine: str = "") -> list[Outgoing]:
    """Everything that the watch sent from the evening's reading to the morning."""
    await jars(talk, evening, offsets[0])
    sent: list[Outgoing] = []
    script = [*NIGHT, *([(mine, "mine M")] if mine else [])]
    for at, text in sorted(script, key=lambda line: (line[0] < "12:00", line[0])):
        day, offset = (morning, offsets[1]) if at < "12:00" else (evening, offsets[0])
        sent += await talk.waits(f"{day}T{at}:00{offset}")
        sent += await talk.hears("S1" if text == "mine M" else "R2", text, at=f"{day}T{at}:00{offset}")
    return sent + await talk.waits(f"{morning}T05:30:00{offsets[1]}")


SUMMER = ("+01:00", "+01:00")


async def test_the_supervisor_is_woken_once_nobody_answered_and_nobody_else_after_the_acknowledgement(night: Talk) -> None:
    sent = await play(night, "2026-10-11", "2026-10-12", SUMMER, mine="03:15")
    assert told(sent) == [
        ("02:12", "S1", "critical", 0),  # 03:12 on the wall: ten minutes without an answer
        ("03:15", "S1", "reminder", 1),  # not over an hour later: its owner alone
        ("03:33", "S1", "reminder", 1),  # the all-clear
    ]
    (push,) = [one for one in sent if one.alert and one.alert.level == "critical"]
    assert push.text == "Cooler M 8.4 C at 03:02, limit 6.0. Jars 01-09. R2 is with it. Reply MINE M to take this."
    again, over = [one for one in sent if one.alert and one.alert.kind == "cooler_warm" and one.alert.level == "reminder"]
    assert again.text.startswith("Yours, not solved: Cooler M 5.2 C at 04:03, in range once; a second reading closes it.")
    assert over.text == "Cooler M in range, 4.6 C at 04:33. Out for at least 31 min, at most 6 h 13, peak read 8.4 C."
    (alert,) = await night.show("alerts")
    assert (alert["kind"], alert["subject"], alert["owner"]) == ("cooler_warm", "cooler M", "S1")
    assert alert["samples"] == [f"0{n}" for n in range(1, 10)]
    assert alert["closed_at"] == "2026-10-12T03:33:00Z"
    assert (await night.verdict()).found == ()
    assert await night.rebuilds_the_same()


async def test_nobody_takes_it_and_every_rung_is_climbed_until_it_is_in_range(night: Talk) -> None:
    sent = await play(night, "2026-10-11", "2026-10-12", SUMMER)
    assert told(sent) == [
        ("02:12", "S1", "critical", 0),
        ("02:22", "S1", "critical", 1),
        ("02:22", "S2", "critical", 1),
        ("02:32", "D1", "critical", 2),
        ("03:33", "S1", "reminder", 2),
        ("03:33", "S2", "reminder", 2),
        ("03:33", "D1", "reminder", 2),
    ]


async def test_the_same_night_over_a_restart_is_the_same(migrated_file: Path, tmp_path: Path, night: Talk) -> None:
    whole = told(await play(night, "2026-10-11", "2026-10-12", SUMMER, mine="03:15"))
    (tmp_path / "other").mkdir()
    shutil.copy(migrated_file, tmp_path / "other" / "coldjar.db")
    url, sent = f"sqlite:///{tmp_path / 'other' / 'coldjar.db'}", []
    async with talk_to(url, tmp_path, SETUP + LADDER, "2026-10-11T18:00:00Z") as talk:
        await jars(talk, "2026-10-11", "+01:00")
        await talk.hears("R2", "cooler M 4.4C ice plenty", at="2026-10-11T21:50:00+01:00", message_id="a")
        sent += await talk.waits("2026-10-12T03:02:00+01:00")
        sent += await talk.hears("R2", "cooler M 8.4C", at="2026-10-12T03:02:00+01:00", message_id="b")
    async with talk_to(url, tmp_path, SETUP + LADDER, "2026-10-12T02:05:00Z") as talk:
        sent += await talk.waits("2026-10-12T03:15:00+01:00")
        sent += await talk.hears("S1", "mine M", at="2026-10-12T03:15:00+01:00", message_id="c")
    async with talk_to(url, tmp_path, SETUP + LADDER, "2026-10-12T02:20:00Z") as talk:
        for at, text in NIGHT[2:]:
            sent += await talk.waits(f"2026-10-12T{at}:00+01:00")
            sent += await talk.hears("R2", text, at=f"2026-10-12T{at}:00+01:00", message_id=at)
        sent += await talk.waits("2026-10-12T05:30:00+01:00")
    assert told(sent) == whole


async def test_the_night_the_clocks_go_back_is_the_same_by_the_minute(night: Talk) -> None:
    # 25 Oct 2026, Europe/Lisbon: 02:00 WEST becomes 01:00 WET (IANA data); 03:02 is UTC from then on.
    sent = await play(night, "2026-10-24", "2026-10-25", ("+01:00", "+00:00"), mine="03:15")
    assert told(sent) == [("03:12", "S1", "critical", 0), ("04:15", "S1", "reminder", 1), ("04:33", "S1", "reminder", 1)]
    over = [one.text for one in sent if one.alert and one.alert.level == "reminder" and one.alert.kind == "cooler_warm"]
    assert over[1:] == [
        "Cooler M in range, 4.6 C at 04:33+00. Out for at least 31 min, at most 7 h 13, peak read 8.4 C."
    ]


@pytest.mark.parametrize(("reading", "minutes"), [("10.1C", 2), ("10.0C", 12)])
async def test_over_ten_wakes_at_once_and_at_risk_waits_for_an_answer(night: Talk, reading: str, minutes: int) -> None:
    await jars(night, "2026-10-11", "+01:00")
    sent = await night.hears("R2", f"cooler M {reading}", at="2026-10-12T03:02:00+01:00")
    sent += await night.waits("2026-10-12T03:12:00+01:00")
    assert next(at for at, _, level, _ in told(sent) if level == "critical") == f"02:{minutes:02}"


async def test_a_second_thermometer_confirms_and_wakes_at_once(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 8.4C", at="2026-10-12T03:02:00+01:00")
    sent = await night.hears("R2", "cooler M 8.2C second thermometer", at="2026-10-12T03:05:00+01:00")
    assert told(sent) == [("02:05", "S1", "critical", 0)]


async def test_a_worse_band_starts_the_ladder_anew(night: Talk) -> None:
    await jars(night, "2026-10-12", "+01:00")
    await night.hears("R2", "cooler M 8.4C", at="2026-10-12T21:00:00+01:00")
    await night.says("S1", "mine M", at="2026-10-12T21:05:00+01:00")
    sent = await night.hears("R2", "cooler M 11C", at="2026-10-12T21:30:00+01:00")
    assert told(sent) == [("20:30", "S1", "critical", 1)]
    assert told(await night.waits("2026-10-12T21:40:00+01:00")) == [("20:40", "S1", "critical", 2), ("20:40", "S2", "critical", 2)]


async def test_an_alert_closed_by_hand_is_not_raised_anew_for_the_same_excursion(night: Talk) -> None:
    await jars(night, "2026-10-12", "+01:00")
    await night.hears("R2", "cooler M 8.4C", at="2026-10-12T21:00:00+01:00")
    await night.says("S1", "solved M jars moved to the fridge", at="2026-10-12T21:05:00+01:00")
    assert told(await night.hears("R2", "cooler M 8.6C", at="2026-10-12T21:30:00+01:00")) == []
    await night.hears("R2", "cooler M 4C", at="2026-10-12T21:40:00+01:00")
    await night.hears("R2", "cooler M 4C", at="2026-10-12T21:50:00+01:00")
    sent = await night.hears("R2", "cooler M 7C", at="2026-10-12T21:55:00+01:00")
    assert [level for _, _, level, _ in told(sent)] == ["critical"]


@pytest.mark.parametrize(("first", "second"), [("0.0C", "1.2C"), ("8.4C", "4.8C")])
async def test_a_second_thermometer_that_says_otherwise_wakes_nobody(night: Talk, first: str, second: str) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", f"cooler M {first}", at="2026-10-12T03:02:00+01:00")
    await night.hears("R2", f"cooler M {second} second thermometer", at="2026-10-12T03:05:00+01:00")
    sent = await night.waits("2026-10-12T03:33:00+01:00")
    assert [one.person for one in sent if one.person != "R2"] == []
    await night.hears("R2", "cooler M 4.2C", at="2026-10-12T03:34:00+01:00")
    assert [one.person for one in await night.waits("2026-10-12T05:30:00+01:00") if one.person != "R2"] == []
    assert [one["closed_at"] is None for one in await night.show("alerts")] == [False]


async def test_a_refuted_reading_wakes_after_all_where_the_next_is_out_again_or_missed(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 8.4C", at="2026-10-12T03:02:00+01:00")
    await night.hears("R2", "cooler M 5.0C second thermometer", at="2026-10-12T03:05:00+01:00")
    assert told(await night.waits("2026-10-12T03:29:00+01:00")) == []
    await night.hears("R2", "cooler M 8.0C", at="2026-10-12T03:30:00+01:00")
    assert told(await night.waits("2026-10-12T03:40:00+01:00")) == [("02:40", "S1", "critical", 0)]


async def test_a_refuted_reading_wakes_after_all_where_the_next_is_missed(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    await night.hears("R2", "cooler M 8.4C", at="2026-10-12T03:02:00+01:00")
    await night.hears("R2", "cooler M 5.0C second thermometer", at="2026-10-12T03:05:00+01:00")
    sent = told(await night.waits("2026-10-12T07:00:00+01:00"))
    assert sent[0][1:3] == ("S1", "critical")
