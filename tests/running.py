"""The real house running by itself in the test's loop, on this machine's clock, with lines to phones."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette

from bot.channels.pace import ChatPace
from bot.channels.webchat import WebChat
from bot.clock import SystemClock, SystemSecrets
from bot.install import apply_setup
from bot.phone_lines import FetchFiles, hooks_of, jobs_of, paces_of, phone_lines
from bot.ports import Line
from bot.settings import Settings
from bot.wiring import House, build
from storage.database import open_database
from storage.originals import FolderOriginals
from storage.work import Store
from tests.talk import KEY, SETUP


@asynccontextmanager
async def running(
    url: str,
    folder: Path,
    settings: dict[str, Any],
    *,
    setup: str = SETUP,
    told_after_s: float = 30.0,
    serving: socket.socket | None = None,
    chat_s: float = 0.05,
    gather_late_s: float = 0.0,
    busy_s: float = 5.0,
    tune: Callable[[Line], None] | None = None,
    originals: FolderOriginals | None = None,
) -> AsyncIterator[House]:
    """A house over a migrated store, its desk, pump and lines at work until the block ends.

    `chat_s` seconds lie between two texts to a chat of a messenger that has such a limit; `tune` sets what
    else of a line would make a test wait.
    """
    clock, secrets = SystemClock(), SystemSecrets()
    store = Store(await open_database(url, busy_s=busy_s), lambda: secrets.token(16))
    try:
        await apply_setup(store, setup, clock, secrets, KEY)
        lines = phone_lines(Settings(**settings), clock, secrets, KEY)
        for line in lines:
            if isinstance(line.pace, ChatPace):
                line.pace.chat_s = chat_s
            if tune is not None:
                tune(line)
        channels = {"web": WebChat(), **{line.name: line for line in lines}}
        house = build(store, folder, channels, clock, "run", KEY, paces_of(lines), originals)
        house.pump.gather_late_s = gather_late_s
        house.errands.learn("fetch", FetchFiles(house, lines))
        await house.pump.start()
        await house.errands.start()
        work = [house.desk.run(), house.pump.run(), house.errands.run()]
        beside = jobs_of(house, lines, told_after_s=told_after_s)
        if serving is not None:  # where messengers push to
            app = Starlette(routes=[hook.route() for hook in hooks_of(Settings(**settings), lines)])
            config = uvicorn.Config(app, log_config=None, lifespan="off", timeout_graceful_shutdown=1)
            beside.append(uvicorn.Server(config)._serve([serving]))
        tasks = [asyncio.create_task(one) for one in work]
        lasting = [asyncio.create_task(one) for one in beside]
        try:
            yield house
        finally:
            ended = [task for task in (*tasks, *lasting) if task.done()]
            await _cancelled(tasks)
            await house.pump.stop()
            await _cancelled(lasting)
            if serving is not None:
                serving.close()
            assert ended == [], ended
    finally:
        await store.close()


async def _cancelled(tasks: list[asyncio.Task[None]]) -> None:
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)


async def until(true: Callable[[], Any], within_s: float = 60) -> None:
    """Return once it is so; fail where it is not in time."""
    async with asyncio.timeout(within_s):
        while not true():  # noqa: ASYNC110 - what is waited for rings no bell
            await asyncio.sleep(0)


async def until_rows(house: House, sql: str, wanted: Callable[[list[Any]], Any], within_s: float = 60) -> list[Any]:
    """The rows, once they are as wanted."""
    async with asyncio.timeout(within_s):
        while True:
            async with house.store.database.read() as tx:
                rows = await tx.rows(sql)
            if wanted(rows):
                return rows
