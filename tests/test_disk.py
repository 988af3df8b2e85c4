"""What is committed and not on disk yet is not acknowledged; the next gulp is thought about meanwhile.

The promise is the line's own. On SQLite the disk is asked apart from the commit, by fdatasync(2) of the
write-ahead log; PostgreSQL waits for it in COMMIT.
"""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from bot.model.errors import StoreUnavailable
from storage.engine import Session
from tests.lines import line_to
from tests.test_desk import kept, states


class Disk:
    """A disk that takes its time: what it is asked waits until `free` is set, or fails with `problem`."""

    def __init__(self) -> None:
        self.free = asyncio.Event()
        self.free.set()
        self.problem: Exception | None = None
        self.asked = self.told = 0

    def under(self, session: Session) -> Session:
        below: Any = _Below(session, self)
        return below  # type: ignore[no-any-return]  # it answers as the session it wraps


class _Below:
    """A session of the real engine over such a disk."""

    def __init__(self, session: Session, disk: Disk) -> None:
        self._session, self._disk = session, disk

    def __getattr__(self, name: str) -> Any:
        return getattr(self._session, name)

    async def on_disk(self) -> None:
        self._disk.asked += 1
        free, problem = self._disk.free, self._disk.problem
        await free.wait()
        if problem is not None:
            raise problem
        await self._session.on_disk()
        self._disk.told += 1


async def until(holds: Callable[[], bool]) -> None:
    async with asyncio.timeout(10):
        while not holds():  # noqa: ASYNC110 - what is waited for is in the store, which rings no bell
            await asyncio.sleep(0)


async def test_a_slow_disk_keeps_answers_back_and_not_the_next_gulp(database_url: str, tmp_path: Path) -> None:
    disk = Disk()
    async with line_to(database_url, tmp_path, wrap=disk.under) as line:
        working = [asyncio.create_task(line.house.desk.run()), asyncio.create_task(line.house.pump.run())]
        disk.free.clear()
        first = asyncio.create_task(line.house.desk.take(line.message("R1", "01 spill")))
        await until(lambda: disk.asked == 1)
        second = asyncio.create_task(line.house.desk.take(line.message("R2", "02 spill")))
        await until(lambda: disk.asked == 2)
        assert len(await kept(line)) == 2
        assert not first.done()
        assert not second.done()
        assert line.far.tried == []
        disk.free.set()
        assert states(list(await asyncio.gather(first, second))) == ["taken", "taken"]
        await until(lambda: len(line.far.sent) == 2)
        assert [text.person for text in line.far.sent] == ["R1", "R2"]
        for task in working:
            task.cancel()
        await asyncio.gather(*working, return_exceptions=True)


async def test_a_disk_that_fails_acknowledges_nothing_and_the_answer_goes_once_it_works(
    database_url: str, tmp_path: Path
) -> None:
    disk = Disk()
    async with line_to(database_url, tmp_path, wrap=disk.under) as line:
        disk.problem = StoreUnavailable("The store's disk failed; check the disk and send again.")
        message = line.message("R1", "01 spill")
        assert states(await line.hears(message)) == ["StoreUnavailable"]
        assert line.far.tried == []
        disk.problem = None
        (again,) = await line.hears(message)
        assert not isinstance(again, BaseException)
        assert again.again
        await line.house.pump.drain()
        assert len(line.far.to("R1")) == 1
        assert [state for state, _, _ in await line.outbox()] == ["sent"]


async def test_what_is_on_disk_early_is_answered_behind_what_was_asked_before(
    database_url: str, tmp_path: Path
) -> None:
    disk = Disk()
    async with line_to(database_url, tmp_path, wrap=disk.under) as line:
        database = line.house.store.database
        slow, quick = asyncio.Event(), disk.free
        disk.free = slow
        first = asyncio.create_task(database.on_disk())
        await until(lambda: disk.asked == 1)
        disk.free = quick
        second = asyncio.create_task(database.on_disk())
        ended: list[asyncio.Task[None]] = []
        for one in (first, second):
            one.add_done_callback(ended.append)
        await until(lambda: disk.told == 1)
        slow.set()
        await asyncio.gather(first, second)
        assert ended == [first, second]


async def test_what_was_asked_of_a_disk_that_fails_the_one_before_is_refused_with_it(
    database_url: str, tmp_path: Path
) -> None:
    # A disk tells of what it lost once (fsync(2)): that the next asking went well says nothing of its own part.
    disk = Disk()
    async with line_to(database_url, tmp_path, wrap=disk.under) as line:
        working = asyncio.create_task(line.house.desk.run())
        disk.free.clear()
        disk.problem = StoreUnavailable("The store's disk failed; check the disk and send again.")
        first = asyncio.create_task(line.house.desk.take(line.message("R1", "01 spill")))
        await until(lambda: disk.asked == 1)
        disk.problem = None
        second = asyncio.create_task(line.house.desk.take(line.message("R2", "02 spill")))
        await until(lambda: disk.asked == 2)
        disk.free.set()
        answers = await asyncio.gather(first, second, return_exceptions=True)
        assert states(answers) == ["StoreUnavailable", "StoreUnavailable"]
        assert line.far.tried == []
        assert states(await line.hears(line.message("R2", "03 spill"))) == ["taken"]
        working.cancel()
        await asyncio.gather(working, return_exceptions=True)


async def test_a_log_that_is_gone_is_a_disk_that_failed(migrated_file: Path, tmp_path: Path) -> None:
    store = shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with line_to(f"sqlite:///{store}", tmp_path) as line:
        assert states(await line.hears(line.message("R1", "01 spill"))) == ["taken"]
        (tmp_path / "coldjar.db-wal").unlink()
        assert states(await line.hears(line.message("R1", "02 spill"))) == ["StoreUnavailable"]


async def test_what_was_committed_before_the_disk_failed_is_not_said_to_be_on_the_one_mounted_since(
    migrated_file: Path, tmp_path: Path
) -> None:
    store = shutil.copy(migrated_file, tmp_path / "coldjar.db")
    log, aside = tmp_path / "coldjar.db-wal", tmp_path / "aside"
    async with line_to(f"sqlite:///{store}", tmp_path) as line:
        assert states(await line.hears(line.message("R1", "01 spill"))) == ["taken"]
        database = line.house.store.database
        await database.on_disk()
        log.rename(aside)
        with pytest.raises(StoreUnavailable, match="disk failed"):
            await database.on_disk()
        aside.rename(log)
        with pytest.raises(StoreUnavailable, match="disk failed"):
            await database.on_disk()
        assert states(await line.hears(line.message("R1", "02 spill"))) == ["taken"]
        await database.on_disk()


async def test_the_log_of_an_acknowledged_message_was_synced(database_url: str, tmp_path: Path) -> None:
    disk = Disk()
    async with line_to(database_url, tmp_path, wrap=disk.under) as line:
        for count, text in enumerate(("01 spill", "02 spill"), 1):
            assert states(await line.hears(line.message("R1", text))) == ["taken"]
            assert disk.asked == count
