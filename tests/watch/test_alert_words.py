"""What a text of the watch says of a jar, and of what to do about it, in each language.

How a text names things is common practice, no source; the languages are those that people are offered.
"""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.model.message import Outgoing
from bot.rules.worded import OFFERED
from tests.talk import SETUP, Talk, talk_to
from tests.watch.conftest import LADDER

ONE_JAR = {"en": "Jar 01.", "es": "Frasco 01.", "fr": "Bocal 01.", "nb": "Krukke 01.", "pt": "Frasco 01."}
TWO_JARS = {
    "en": "Jars 01 02.", "es": "Frascos 01 02.", "fr": "Bocaux 01 02.", "nb": "Krukker 01 02.", "pt": "Frascos 01 02.",
}  # fmt: skip


def spoken(language: str, setup: str = SETUP) -> str:
    """The setup with a supervisor and a responder who are told everything in this language."""
    for name in ("S1", "R1"):
        setup = setup.replace(f'name = "{name}"\n', f'name = "{name}"\nlanguage = "{language}"\n')
    return setup + LADDER


async def a_warm_cooler(line: Talk, *numbers: str) -> Outgoing:
    """What the supervisor hears of a cooler that these jars are in."""
    for number in numbers:
        await line.hears("R2", f"{number} spill sheen 0905 seal 51{number} cooler M 4.1C", at="2026-10-12T08:10:00Z")
    (told,) = [one for one in await line.hears("R2", "cooler M 8.4C", at="2026-10-12T09:00:00Z") if one.person == "S1"]
    return told


@pytest.mark.parametrize("language", OFFERED)
async def test_one_jar_is_not_told_as_several(migrated_file: Path, tmp_path: Path, language: str) -> None:
    for numbers, said in ((("01",), ONE_JAR), (("01", "02"), TWO_JARS)):
        shutil.copy(migrated_file, tmp_path / f"{len(numbers)}.db")
        async with talk_to(f"sqlite:///{tmp_path / f'{len(numbers)}.db'}", tmp_path, spoken(language)) as line:
            assert f" {said[language]} " in (await a_warm_cooler(line, *numbers)).text


@pytest.mark.parametrize("language", OFFERED)
async def test_whoever_has_an_alert_is_reminded_how_it_is_solved_and_not_how_it_is_taken(
    migrated_file: Path, tmp_path: Path, language: str
) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, spoken(language)) as line:
        first = await a_warm_cooler(line, "01")
        assert "MINE M" in first.text
        assert "SOLVED" not in first.text
        await line.hears("S1", "mine M", at="2026-10-12T09:01:00Z")
        await line.hears("R2", "cooler M 5.2C", at="2026-10-12T09:30:00Z")
        sent = await line.waits("2026-10-12T10:02:00Z")
        again = next(one.text for one in sent if one.person == "S1" and one.alert and one.alert.kind == "cooler_warm")
        assert "SOLVED M" in again
        assert "MINE" not in again
        assert ONE_JAR[language] in again
        await line.hears("S1", "solved M ice added")
        assert [alert["closed_how"] for alert in await line.show("alerts") if alert["kind"] == "cooler_warm"] == ["said"]
        assert await line.rebuilds_the_same()


# --- two cases open -----------------------------------------------------------------------------

SECOND = """
[[cases]]
name = "CH-015"
people = ["R1"]
kits = ["A"]
opened = "2026-10-12T08:00:00+01:00"
"""


@pytest.fixture
async def two_cases(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    """R1 works on both, R2 on the first alone."""
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, SETUP + SECOND + LADDER) as line:
        yield line


def texts(sent: list[Outgoing], person: str, kind: str) -> list[str]:
    return [one.text for one in sent if one.person == person and one.alert and one.alert.kind == kind]


async def test_a_reminder_names_the_case_to_who_works_on_two_and_not_to_who_works_on_one(two_cases: Talk) -> None:
    await two_cases.hears("R1", "CH-015 02 spill sheen 1002 seal 5102", at="2026-10-12T09:03:00Z")
    await two_cases.hears("R2", "CH-014 02 spill sheen 1002 seal 5103", at="2026-10-12T09:03:00Z")
    sent = await two_cases.waits("2026-10-12T09:22:00Z")
    assert texts(sent, "R1", "not_in_cold") == ["CH-015 02 taken 10:02, not yet in cold."]
    assert texts(sent, "R2", "not_in_cold") == ["02 taken 10:02, not yet in cold."]


async def test_a_cooler_s_jars_are_told_with_their_case_to_who_sees_two(two_cases: Talk) -> None:
    told = await a_warm_cooler(two_cases, "01", "02")
    assert told.text.startswith("Cooler M 8.4 C at 10:00, limit 6.0. Jars CH-014 01 02. R2 is with it.")
    sent = await two_cases.waits("2026-10-12T10:05:00Z")
    assert texts(sent, "R2", "reading_overdue")[0] == "Cooler M: reading is due. Jars 01 02."


async def test_the_case_is_named_no_more_once_the_other_is_closed(two_cases: Talk) -> None:
    await two_cases.hears("S1", "close CH-015", at="2026-10-12T08:05:00Z")
    assert [case["state"] for case in await two_cases.show("cases")] == ["open", "closed"]
    assert " Jars 01 02. " in (await a_warm_cooler(two_cases, "01", "02")).text


@pytest.mark.parametrize("language", OFFERED)
async def test_an_alert_about_jars_names_the_case_each_time_and_stands_on_record_as_ever(
    migrated_file: Path, tmp_path: Path, language: str
) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    setup = spoken(language, SETUP + SECOND)
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, setup) as line:
        await line.hears("R2", "02 spill sheen 0905 seal 5102 cooler M 4.1C", at="2026-10-12T08:10:00Z")
        await line.hears("R2", "offer 02 to C1", at="2026-10-12T09:00:00Z")
        sent = await line.waits("2026-10-12T10:11:00Z")
        first, again = texts(sent, "S1", "custody_pending")
        assert first.startswith("CH-014 02 ")
        assert again.endswith(first)
        assert "MINE 02 " in first
        (to_c1,) = texts(sent, "C1", "custody_pending")
        assert to_c1.startswith("CH-014 02 of R2 wait for you.")
        (alert,) = [one for one in await line.show("alerts") if one["kind"] == "custody_pending"]
        assert alert["text"].startswith("02 offered by R2 to C1")
        over = texts(await line.hears("C1", "CH-014 02 5102 whole"), "S1", "custody_pending")
        assert [text.partition(":")[0] for text in over] == ["CH-014 02"]
        assert await line.rebuilds_the_same()
