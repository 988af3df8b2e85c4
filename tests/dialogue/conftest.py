"""`talk`: a line with two responders, a custodian and a supervisor, on a real SQLite store."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from tests.talk import DRILL, SETUP, Talk, talk_to


@pytest.fixture
async def talk(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path) as line:
        yield line


@pytest.fixture
async def drill(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    """The same line with a real case and an exercise open."""
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, SETUP + DRILL) as line:
        yield line


@pytest.fixture
async def untold(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    """A line whose people have not been told yet that what is texted may be disclosed."""
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, told=False) as line:
        yield line


COURIER = {"K1": "sms:+447700900005", "L1": "sms:+447700900006"}
LABORATORY = """
[laboratory]
hours = { mon = ["08:00", "17:00"], tue = ["08:00", "17:00"], thu = ["08:00", "17:00"], fri = ["08:00", "17:00"] }
courier_cutoff = "15:00"
transit_hours = 20
"""
WITH_COURIER = SETUP + LABORATORY + "".join(
    f'[[people]]\nname = "{name}"\nroles = ["{role}"]\naddresses = ["{COURIER[name]}"]\n'
    for name, role in (("K1", "courier"), ("L1", "laboratory"))
)


@pytest.fixture
async def sending(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    """The line with a courier and a laboratory on it."""
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, WITH_COURIER) as line:
        yield line
