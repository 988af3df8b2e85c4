"""What a text of the watch says of a jar, and of what to do about it, in each language.

How a text names things is common practice, no source; the languages are those that people are offered.
"""

from __future__ import annotations

import shutil
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
