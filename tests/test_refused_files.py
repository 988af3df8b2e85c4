"""A file or setting that cannot be used: one sentence that names the place as its writer would, and the way out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bot.cli.base import findings_said
from bot.model.errors import AskedWrongly
from bot.replay import read_script
from bot.settings import read_settings
from bot.setup import read_setup

UNIT = '[unit]\nname = "X"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            f"cold_limit = 6\n{UNIT}",
            "cold_limit: nothing of that name belongs here; correct the name or take it out.",
        ),
        (
            f'{UNIT}[[people]]\nname = "R1"\n[[people]]\nname = "C1"\nroles = ["chief"]',
            "person C1, roles: chief is no role; roles are administrator",
        ),
        (f"{UNIT}[[kits]]\njars = 4", "[[kits]] number 1, name: it is missing; add it."),
        (f'{UNIT}[[kits]]\nname = "A"\njars = "many"', "kit A, jars: write a whole number."),
        (
            f'{UNIT}[[kits]]\nname = "A"\nnumbers = [19, 1]',
            "kit A, numbers: first and last are the wrong way round; write [1, 19].",
        ),
        (f'{UNIT}[[kits]]\nname = "A"\nnumbers = [1]', "kit A, numbers: the list is too short"),
        (
            f'{UNIT}[[cases]]\nname = "CH-014"\nopened = "noon"',
            "case CH-014, opened: 'noon' is no instant; write it like 2026-10-12T09:00:00+01:00.",
        ),
    ],
)
def test_a_setup_file_s_fault_is_named_with_its_table_and_name(text: str, said: str) -> None:
    with pytest.raises(AskedWrongly) as problem:
        read_setup(text)
    assert str(problem.value).startswith(f"In the setup file, {said}")


LINE = {"at": "2026-10-12T09:03:00Z", "channel": "sms", "from": "+447700900001", "text": "status"}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ({**LINE, "channel": "pigeon"}, "Line 3 of the script comes by pigeon; write one of sms, web, telegram."),
        ({**LINE, "at": "noon"}, "Line 3 of the script: at: 'noon' is no instant with its offset; write it like"),
        ("noon", "Line 3 of the script: it is no JSON object; write one in { }."),
        (
            {**LINE, "at": "2026-10-12T09:02:00Z"},
            "Line 3 of the script lies before the line above it; sort them by at.",
        ),
    ],
)
def test_a_script_s_fault_is_named_with_its_line(line: object, said: str) -> None:
    with pytest.raises(AskedWrongly) as problem:
        read_script(f"{json.dumps(LINE)}\n\n{json.dumps(line)}\n")
    assert str(problem.value).startswith(said)


def test_a_line_that_is_no_json_at_all_is_named_too() -> None:
    with pytest.raises(AskedWrongly, match=r"^Line 1 of the script: it is no JSON object; write one in { }\.$"):
        read_script("hello there")


def test_a_setting_says_what_is_to_be_written(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('port = "harbour"')
    with pytest.raises(AskedWrongly, match=r"^The setting port: write a whole number\.$"):
        read_settings(tmp_path)


def test_one_finding_is_one() -> None:
    assert [findings_said(count) for count in (1, 2)] == ["1 finding.", "2 findings."]
