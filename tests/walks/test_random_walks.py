"""Random conversations: whatever is sent, everything is answered, kept, unaltered, and rebuilt the same.

COLDJAR_WALKS chooses how many: "ci" 500, "hand" 10,000, else a few. The promises are the line's own;
the clock changes are those of Europe/Lisbon in the IANA time zone data (25 Oct 2026, 28 Mar 2027).
"""

from __future__ import annotations

import asyncio
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from tests.conftest import address_of, ask_server
from tests.talk import talk_to
from tests.walks.sayings import STARTS, Saying, walks
from tests.walks.walker import MEMORY, TWO_CASES, fresh_copy, whole_walk

HOW_MANY = {"ci": 500, "hand": 10_000}.get(os.environ.get("COLDJAR_WALKS", ""), 40)
WALKED = f"coldjar_walk_{os.getpid()}"
BEFORE_ALL = "2026-10-12T07:30:00Z"


@pytest.fixture(scope="module")
def work(migrated_file: Path) -> Iterator[Path]:
    """A folder with a store that is set up for walks."""
    with tempfile.TemporaryDirectory(dir=MEMORY) as name:
        folder = Path(name)
        asyncio.run(set_up(fresh_copy(migrated_file, folder / "template"), folder))
        yield folder


async def set_up(url: str, folder: Path) -> None:
    async with talk_to(url, folder, TWO_CASES, BEFORE_ALL):
        pass


# The fixture only hands out the template; every example is played on a copy.
@settings(max_examples=HOW_MANY, deadline=None, suppress_health_check=list(HealthCheck), print_blob=True)
@given(STARTS, walks())
def test_whatever_is_sent_is_answered_and_kept(work: Path, start: str, sayings: list[Saying]) -> None:
    url = fresh_copy(work / "template" / "coldjar.db", work / "walk")
    asyncio.run(whole_walk(url, work / "walk", start, sayings))


@settings(max_examples=HOW_MANY // 20, deadline=None, suppress_health_check=list(HealthCheck), print_blob=True)
@given(STARTS, walks())
def test_postgres_bears_it_too(migrated_template: str, work: Path, start: str, sayings: list[Saying]) -> None:
    ask_server(f"CREATE DATABASE {WALKED} TEMPLATE {migrated_template}")
    try:
        asyncio.run(whole_walk(address_of(WALKED), work, start, sayings))
    finally:
        ask_server(f"DROP DATABASE {WALKED} WITH (FORCE)")
