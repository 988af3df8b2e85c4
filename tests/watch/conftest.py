"""`night`: a line with a ladder of three, a supervisor first."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from tests.talk import DRILL, SETUP, Talk, talk_to

LADDER = """
[[people]]
name = "S2"
roles = ["deputy"]
addresses = ["sms:+447700900005"]
[[people]]
name = "D1"
roles = ["duty_office"]
addresses = ["sms:+447700900006"]
[watch]
quiet = ["22:00", "06:00"]
ladder = ["S1", "S2", "D1"]
ladder_minutes = 10
digest = { S1 = "18:00" }
"""


@pytest.fixture
async def night(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, SETUP + LADDER) as line:
        yield line


@pytest.fixture
async def drill(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    """The same line with a real case and an exercise open."""
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, SETUP + DRILL + LADDER) as line:
        yield line
