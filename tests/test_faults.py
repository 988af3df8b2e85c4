"""A store that refuses: nothing is acknowledged that it does not hold, one notice goes out, and it passes.

The faults are the system's own: a tmpfs with no room (tmpfs(5)), a file made immutable (chattr(1)), as where a disk is
read-only (the kernel's own fault is in test_disk_read_only.py), another program's lock (SQLite: BEGIN IMMEDIATE).
"""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import sqlite3
import subprocess
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import (
    AbstractAsyncContextManager,
    asynccontextmanager,
    closing,
    contextmanager,
    nullcontext,
    suppress,
)
from pathlib import Path
from typing import TypeAlias

import pytest

from bot.model.errors import StoreUnavailable
from bot.model.message import Incoming
from bot.wiring import House
from tests.channels.gateway import gateway
from tests.channels.test_sms_gateway import BY_WEB, R1, S1, settings
from tests.running import running, until, until_rows

Fault: TypeAlias = Callable[[Path], AbstractAsyncContextManager[None]]
NOTICE = "nothing is stored"
RAWS = "SELECT text FROM raw_messages ORDER BY row"
NOTICES = "SELECT doc FROM outbox WHERE address = 'web:s1'"

as_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root may mount a disk or make a file immutable")


@contextmanager
def small_disk(place: Path) -> Iterator[Path]:
    """A file system of 4 MB at this place while the block runs."""
    place.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", place], check=True)
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", place], check=True)


@asynccontextmanager
async def full(folder: Path) -> AsyncIterator[None]:
    filler = folder / "filler"
    _fill(filler)
    try:
        yield
    finally:
        filler.unlink()


def _fill(filler: Path) -> None:
    with filler.open("wb", buffering=0) as out, suppress(OSError):  # there is no room left
        while out.write(bytes(4096)):
            pass


@asynccontextmanager
async def read_only(folder: Path) -> AsyncIterator[None]:
    _change(folder, "+i")
    try:
        yield
    finally:
        _change(folder, "-i")


def _change(folder: Path, how: str) -> None:
    subprocess.run(["chattr", how, folder / "coldjar.db", folder / "coldjar.db-wal"], check=True)


@asynccontextmanager
async def locked(folder: Path) -> AsyncIterator[None]:
    with closing(sqlite3.connect(folder / "coldjar.db", check_same_thread=False, isolation_level=None)) as other:
        await asyncio.to_thread(other.execute, "BEGIN IMMEDIATE")  # the line goes on while this waits for its turn
        yield


@pytest.mark.parametrize(
    ("fault", "why"),
    [
        pytest.param(full, "The store's disk is full; free some space", marks=as_root, id="full"),
        pytest.param(read_only, "check the disk", marks=as_root, id="read-only"),
        pytest.param(locked, "The store is locked by another program", id="locked"),
    ],
)
async def test_a_store_that_refuses_answers_nobody_and_one_notice_goes_to_a_phone(
    fault: Fault, why: str, migrated_file: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with small_disk(tmp_path / "disk") if fault is full else nullcontext(tmp_path) as folder:
        url = f"sqlite:///{shutil.copy(migrated_file, folder / 'coldjar.db')}"
        async with (
            gateway(tmp_path / "gw") as (made, phones),
            running(url, folder, settings(made), told_after_s=0.2, busy_s=0.2) as house,
        ):
            phones.say(R1, "01 spill thick")
            await phones.hears_that(R1, "01 saved")
            for number in ("02", "03") if fault is locked else ("02",):
                async with fault(folder):
                    phones.say(R1, f"{number} spill thick")
                    assert why in await phones.hears_that(S1, NOTICE)
                    assert f"{number} spill thick" not in await texts_on_record(house)
                    if number == "03":  # it lasts: two more tries of the store, each at its own look
                        caplog.clear()
                        await until(lambda: caplog.text.count("a trouble cannot be told") > 1)
                await phones.hears_that(R1, f"{number} saved")
                await until(lambda: "takes writes again" in caplog.text)
                caplog.clear()
            assert await texts_on_record(house) == [f"0{n} spill thick" for n in range(1, int(number) + 1)]
            said = b"".join(phones.lines)
            assert [said.count(words.encode()) for words in ("01 saved", f"{number} saved")] == [1, 1]
            assert said.count(NOTICE.encode()) == int(number) - 1
            async with house.store.database.read() as tx:
                assert await tx.rows("SELECT doc FROM outbox WHERE doc LIKE '%nothing was stored%'") == []


async def texts_on_record(house: House) -> list[str]:
    async with house.store.database.read() as tx:
        return [json.loads(text)["text"] for (text,) in await tx.rows(RAWS)]


async def test_where_no_phone_is_reached_it_is_told_once_the_store_works_and_only_once(
    migrated_file: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    message = Incoming(channel="web", account="r1", message_id="m1", received_us=1, text="01 spill thick")
    async with running(
        f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, {}, setup=BY_WEB, told_after_s=0, busy_s=0.2
    ) as house:
        async with locked(tmp_path):
            with pytest.raises(StoreUnavailable, match="locked"):
                await house.desk.take(message)
            await until(lambda: "the store refuses" in caplog.text)
        [(doc,)] = await until_rows(house, NOTICES, len)
        assert "nothing was stored; it works again." in json.loads(doc)["text"]
        assert not (await house.desk.take(message)).again
        assert len(await until_rows(house, NOTICES, len)) == 1
