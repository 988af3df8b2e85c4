"""Two services on one PostgreSQL: one writes, the other stands by, and takes over where the first is killed."""

from __future__ import annotations

import asyncio
import json
import os
import sys
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest

from bot.clock import SystemClock, SystemSecrets, VirtualClock
from bot.model.message import Incoming
from bot.model.times import MINUTE_US
from bot.wiring import build
from storage.database import open_database
from storage.work import Store
from tests.channels.gateway import NUMBER, gateway
from tests.channels.test_sms_gateway import R1, R2
from tests.talk import ADDRESSES, KEY, SETUP, Outbox

ROOT = Path(__file__).resolve().parents[2]
WATCH = '[watch]\nladder = ["S1"]\nladder_minutes = 1\n'
TAKEN_OVER_S = 10
WHAT = ("spill thick", "fill 3/4", "gloves changed")  # told of each jar, in a text each


@asynccontextmanager
async def service(folder: Path, url: str, **more: str) -> AsyncIterator[asyncio.subprocess.Process]:
    """`coldjar serve` in a process of its own with `more` in its environment, its log on a pipe."""
    child = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "bot", "serve", "--store", str(folder)),
        cwd=ROOT,
        env={**os.environ, "COLDJAR_DATABASE": url, "COLDJAR_PORT": "0", "PYTHONPATH": str(ROOT), **more},
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        yield child
    finally:
        if child.returncode is None:
            child.kill()
        await child.wait()


async def says(child: asyncio.subprocess.Process, what: str) -> str:
    """The first line of the service's log with these words, once it is there."""
    assert child.stderr is not None
    async with asyncio.timeout(40):
        while line := await child.stderr.readline():
            event = str(json.loads(line).get("event", ""))
            if what in event:
                return event
    raise AssertionError(f"the service ended and never said: {what}")


async def raise_alert(url: str, folder: Path) -> None:
    """Somebody called for help over a minute ago, so that the next rung is due already."""
    clock, secrets = VirtualClock(SystemClock().now_us() - MINUTE_US - 1), SystemSecrets()
    store = Store(await open_database(url), lambda: secrets.token(16))
    house = build(store, folder, {"sms": Outbox("sms", [])}, clock, "beside", KEY)
    channel, _, account = ADDRESSES["R1"].partition(":")
    message = Incoming(channel=channel, account=account, message_id="m", received_us=clock.now_us(), text="SOS")
    taken = asyncio.ensure_future(house.desk.take(message))
    await asyncio.sleep(0)
    await house.desk.gulp()
    await taken
    await house.close()


async def set_up(place: Path, url: str, text: str) -> Path:
    """The folder of a store that is set up in this database; what was said, with its links, is in `said`."""
    (place / "unit.toml").write_text(text)
    code, said = await command(url, "setup", str(place / "unit.toml"), "--store", str(place / "store"))
    assert code == 0, said
    (place / "said").write_text(said)
    return place / "store"


async def command(url: str, *words: str) -> tuple[int, str]:
    """The exit code of a command on this database, and what it said."""
    child = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "bot", *words),
        cwd=ROOT,
        env={**os.environ, "COLDJAR_DATABASE": url, "PYTHONPATH": str(ROOT)},
        stdout=asyncio.subprocess.PIPE,
    )
    said, _ = await child.communicate()
    assert child.returncode is not None
    return child.returncode, said.decode()


async def rows_of(url: str, sql: str) -> list[tuple[Any, ...]]:
    database = await open_database(url)
    try:
        async with database.read() as tx:
            return await tx.rows(sql)
    finally:
        await database.close()


TOLD = "SELECT COUNT(*) FROM entries WHERE kind = 'AlertTold'"
TEXTS = "SELECT COUNT(*) FROM outbox WHERE doc LIKE '%\"repeat\":1%'"


@pytest.mark.parametrize("database_url", ["postgres"], indirect=True)
async def test_a_standby_takes_over_within_ten_seconds_of_a_kill_and_files_nothing_twice(
    database_url: str, tmp_path: Path
) -> None:
    folder = await set_up(tmp_path, database_url, SETUP + WATCH)
    async with service(folder, database_url) as writer:
        await says(writer, "listening")
        async with service(folder, database_url) as standby:
            await says(standby, "standing by")
            await raise_alert(database_url, folder)
            writer.kill()
            killed = time.monotonic()
            await says(standby, "listening")
            assert time.monotonic() - killed < TAKEN_OVER_S
            async with asyncio.timeout(20):
                while await rows_of(database_url, TOLD) != [(1,)]:  # noqa: ASYNC110 - another process rings no bell
                    await asyncio.sleep(0)
            async with service(folder, database_url, COLDJAR_HEALTH_PORT="0") as again:
                health = (await says(again, "health answers at")).rpartition(" ")[2]
                await says(again, "standing by")
                async with httpx.AsyncClient() as monitoring:
                    answer = (await monitoring.get(health)).json()
                assert answer == {"ok": True, "wrong": [], "standing_by": True}
            assert await rows_of(database_url, TOLD) == [(1,)]
            assert await rows_of(database_url, TEXTS) == [(1,)]


RAWS = "SELECT text FROM raw_messages ORDER BY row"


@pytest.mark.parametrize("database_url", ["postgres"], indirect=True)
async def test_a_writer_killed_under_load_loses_no_text_and_doubles_none(database_url: str, tmp_path: Path) -> None:
    """Two phones send through the real gateway, which gives again what it was not acknowledged."""
    folder = await set_up(tmp_path, database_url, SETUP)
    sent = [(R1 if n < 10 else R2, f"{n:02d} {what}") for what in WHAT for n in range(1, 19)]
    async with gateway(tmp_path / "gw") as (made, phones):
        to = {"COLDJAR_SMS_GATEWAY": f"127.0.0.1:{made.boxes}", "COLDJAR_SMS_NUMBER": NUMBER}
        async with service(folder, database_url, **to) as writer:
            await says(writer, "is connected")
            async with service(folder, database_url, **to) as standby:
                await says(standby, "standing by")
                for number, text in sent:
                    phones.say(number, text)
                await phones.hears_that(R1, "saved")
                writer.kill()
                assert len(await rows_of(database_url, RAWS)) < len(sent), "it came too late to be under load"
                await says(standby, "is connected")
                async with asyncio.timeout(20):
                    while len(rows := await rows_of(database_url, RAWS)) < len(sent):  # noqa: ASYNC110 - as above
                        await asyncio.sleep(0)
                await phones.hears_that(R2, "18 ")
        assert sorted(json.loads(text)["text"] for (text,) in rows) == sorted(text for _, text in sent)
        assert await rows_of(database_url, "SELECT COUNT(*) FROM samples") == [(18,)]
        declared = "SELECT COUNT(*) FROM entries WHERE kind = 'SampleDeclared'"
        assert await rows_of(database_url, declared) == [(18,)]
