"""The digest is gathered by a child process: what it says is the day's, and a child that dies loses no digest."""

from __future__ import annotations

import asyncio
import os
import signal
from contextlib import suppress
from pathlib import Path

import pytest

from bot.children import BEHIND, answer_of
from bot.model.errors import ErrandFailed
from tests.talk import SETUP, Talk, talk_to
from tests.watch.conftest import LADDER
from tests.watch.test_digest import day_of, quiet_day

DUE = "SELECT state, attempts, problem FROM due WHERE kind = 'digest_asked'"
WAITING = '__import__("time").sleep(600)'


def children() -> set[int]:
    """The processes that this one started and that have not ended, by number: proc(5)."""
    found: set[int] = set()
    for task in Path(f"/proc/{os.getpid()}/task").iterdir():
        with suppress(FileNotFoundError):  # a thread that ended meanwhile
            found.update(map(int, (task / "children").read_text().split()))
    return found


async def child(others: set[int]) -> int:
    """The number of a child beside these, as soon as there is one."""
    while not (found := children() - others):  # noqa: ASYNC110 - another process rings no bell
        await asyncio.sleep(0)
    return found.pop()


async def test_what_the_child_says_is_the_day_on_either_engine(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path, SETUP + LADDER) as talk:
        talk.house.digests.aside = True
        await quiet_day(talk)
        told = await talk.says("S1", "digest", at="2026-10-12T16:31:00Z")
        assert told == (await day_of(talk, "2026-10-12T16:31:00Z"))["text"]
        assert "CH-014: 5 jars taken, 5 stored." in told
        assert await talk.says("S1", "digest more") == "That was all."


async def test_a_child_that_is_killed_loses_no_digest(night: Talk) -> None:
    night.house.digests.aside = True
    await quiet_day(night)
    others = children()
    asking = asyncio.create_task(night.says("S1", "digest", at="2026-10-12T16:31:00Z"))
    os.kill(await child(others), signal.SIGKILL)
    assert await asking == ""
    async with night.house.store.database.read() as tx:
        assert await tx.rows(DUE) == [("asked", 1, "The digest's process ended with: -9")]
    night.clock.move_to(night.clock.now_us() + 10_000_000)
    await night.house.drain()
    assert [one.text.splitlines()[0] for one in night.sent] == ["Corrowby Haven, Mon 12 Oct. Nothing needs you."]
    async with night.house.store.database.read() as tx:
        assert await tx.rows(DUE) == [("done", 2, None)]


async def test_a_child_stands_behind_replies_and_says_why_it_ended() -> None:
    assert await answer_of("It", ["tests.watch.child"], "print(os.nice(0))") == min(19, os.nice(0) + BEHIND)
    with pytest.raises(ErrandFailed, match=r"^It ended with: ValueError: no such cooler$"):
        await answer_of("It", ["tests.watch.child"], "raise ValueError('no such cooler')")


async def test_a_child_that_is_too_slow_or_not_waited_for_is_gone() -> None:
    others = children()
    with pytest.raises(ErrandFailed, match=r"^It took longer than 0\.2 s$"):
        await answer_of("It", ["tests.watch.child"], WAITING, longest_s=0.2)
    assert children() <= others
    asking = asyncio.create_task(answer_of("It", ["tests.watch.child"], WAITING))
    await child(others)
    asking.cancel()
    with pytest.raises(asyncio.CancelledError):
        await asking
    assert children() <= others
