"""One timer ends each of many that takes too long, at its own time; beside it `asyncio.timeout` of Python."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

import pytest

from bot.limits import Limit

FOREVER = 3600.0


async def test_what_takes_longer_is_ended_and_what_ends_in_time_is_not() -> None:
    limit, gate = Limit(0.05), asyncio.Event()

    async def short() -> str:
        with limit:
            await asyncio.sleep(0)
        await gate.wait()
        return "done"

    async def long() -> None:
        try:
            with limit:
                await gate.wait()
        finally:
            gate.set()

    async with asyncio.timeout(60):
        done, ended = await asyncio.gather(short(), long(), return_exceptions=True)
    assert done == "done"
    assert isinstance(ended, TimeoutError)


async def test_each_has_its_own_time_and_none_less_than_pythons_own_timeouts_give() -> None:
    limit, loop = Limit(0.2), asyncio.get_running_loop()

    async def ours() -> None:
        with limit:
            await asyncio.Event().wait()

    async def pythons() -> None:
        async with asyncio.timeout(0.2):
            await asyncio.Event().wait()

    async def took_s(starts_s: float, one: Callable[[], Awaitable[None]]) -> float:
        starting = asyncio.Event()
        loop.call_later(starts_s, starting.set)
        await starting.wait()
        begun = loop.time()
        with pytest.raises(TimeoutError):
            await one()
        return loop.time() - begun

    async with asyncio.timeout(60):
        took = await asyncio.gather(*(took_s(at, one) for at in (0.0, 0.05, 0.1) for one in (ours, pythons)))
    assert min(took) >= 0.199


async def test_a_task_ended_once_may_be_limited_and_ended_again() -> None:
    limit = Limit(0.02)
    for _ in range(3):
        with pytest.raises(TimeoutError), limit:
            await asyncio.Event().wait()
    with limit:
        await asyncio.sleep(0)


async def test_who_is_cancelled_from_outside_was_not_too_slow() -> None:
    limit, begun = Limit(FOREVER), asyncio.Event()

    async def long() -> None:
        with limit:
            begun.set()
            await asyncio.Event().wait()

    task = asyncio.create_task(long())
    await begun.wait()
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task


async def test_who_is_cancelled_from_outside_as_its_time_ends_stays_cancelled() -> None:
    limit, ended = Limit(0.02), asyncio.Event()

    async def stubborn() -> None:
        with limit:
            try:
                await asyncio.Event().wait()
            finally:
                ended.set()
                await asyncio.sleep(0)

    task = asyncio.create_task(stubborn())
    await ended.wait()
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task


async def test_an_error_of_what_is_limited_comes_through() -> None:
    with pytest.raises(ConnectionResetError), Limit(FOREVER):
        raise ConnectionResetError
