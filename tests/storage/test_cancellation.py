"""A task may be cancelled at any instant: its block is stored whole or not at all, and the next works."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from bot.model.errors import StoreUnavailable
from storage.database import READERS, Database

HEAD = "INSERT INTO heads (chain, seq, hash) VALUES ($1, $2, $3)"
HEADS = "SELECT chain, seq, hash FROM heads ORDER BY chain"


async def heads(database: Database) -> list[tuple[Any, ...]]:
    async with database.read() as tx:
        return await tx.rows(HEADS)


async def test_a_task_cancelled_inside_its_block_leaves_nothing_and_the_next_block_is_whole(database):
    began = asyncio.Event()

    async def stays() -> None:
        async with database.write() as tx:
            await tx.run(HEAD, "cut", 1, "x")
            began.set()
            await asyncio.Event().wait()

    task = asyncio.create_task(stays())
    await began.wait()
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
    async with database.write() as tx:
        await tx.run(HEAD, "next", 1, "x")
    assert await heads(database) == [("next", 1, "x")]


def cancel_me() -> None:
    """The task's next wait is cut short."""
    task = asyncio.current_task()
    assert task is not None
    task.cancel()


async def test_a_task_cancelled_while_its_block_begins_holds_no_lock(database, outside):
    async def begins() -> None:
        cancel_me()
        async with database.write() as tx:
            await tx.run(HEAD, "cut", 1, "x")

    with pytest.raises(asyncio.CancelledError):
        await asyncio.create_task(begins())
    await outside("INSERT INTO heads (chain, seq, hash) VALUES ('free', 1, 'x')")
    assert await heads(database) == [("free", 1, "x")]


async def test_a_task_cancelled_during_the_commit_has_stored_its_block(database, outside):
    async def commits() -> None:
        async with database.write() as tx:
            await tx.run(HEAD, "whole", 1, "x")
            cancel_me()

    with pytest.raises(asyncio.CancelledError):
        await asyncio.create_task(commits())
    assert await outside(HEADS) == [("whole", 1, "x")]


@pytest.mark.parametrize("database_url", ["postgres"], indirect=True)
async def test_a_task_cancelled_while_its_commit_hangs_waits_for_its_end(database, outside):
    # A deferred trigger runs inside COMMIT (PostgreSQL manual, CREATE TRIGGER): this one waits for a lock.
    await outside(
        "CREATE FUNCTION hang() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
        " PERFORM pg_advisory_xact_lock(1); RETURN NULL; END $$"
    )
    await outside(
        "CREATE CONSTRAINT TRIGGER hangs AFTER INSERT ON heads DEFERRABLE INITIALLY DEFERRED"
        " FOR EACH ROW EXECUTE FUNCTION hang()"
    )
    await outside("SELECT pg_advisory_lock(1)")

    async def commits() -> None:
        async with database.write() as tx:
            await tx.run(HEAD, "whole", 1, "x")

    task = asyncio.create_task(commits())
    waiting = (
        "SELECT 1 FROM pg_locks JOIN pg_database AS d ON d.oid = database"
        " WHERE datname = current_database() AND locktype = 'advisory' AND NOT granted"
    )
    while not await outside(waiting):
        pass
    for _ in range(3):
        task.cancel()
        await outside(HEADS)  # some turns of the loop
    assert not task.done()
    await outside("SELECT pg_advisory_unlock(1)")
    with pytest.raises(asyncio.CancelledError):
        await task
    assert await heads(database) == [("whole", 1, "x")]


async def test_a_task_cancelled_while_its_block_is_undone_holds_no_lock(database, outside):
    async def undoes() -> None:
        async with database.write() as tx:
            await tx.run(HEAD, "cut", 1, "x")
            cancel_me()
            raise KeyError

    with pytest.raises(asyncio.CancelledError):
        await asyncio.create_task(undoes())
    await outside("INSERT INTO heads (chain, seq, hash) VALUES ('free', 1, 'x')")
    assert await heads(database) == [("free", 1, "x")]


@pytest.mark.parametrize("turns", [*range(12), 20, 40, 80, 160])
async def test_a_task_cancelled_anywhere_stores_all_or_nothing(database, turns):
    async def two_rows() -> None:
        async with database.write() as tx:
            await tx.run(HEAD, "one", 1, "x")
            await tx.run(HEAD, "two", 2, "x")

    task = asyncio.create_task(two_rows())
    for _ in range(turns):
        await asyncio.sleep(0)
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    assert len(await heads(database)) in (0, 2)
    async with database.write() as tx:
        await tx.run(HEAD, "next", 1, "x")
    assert ("next", 1, "x") in await heads(database)


async def test_a_statement_given_up_inside_the_block_spoils_it(database):
    with pytest.raises(StoreUnavailable):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run(HEAD, "one", 1, "x")
            statement = asyncio.create_task(tx.run(HEAD, "two", 2, "x"))
            await asyncio.sleep(0)
            statement.cancel()
            with pytest.raises(asyncio.CancelledError):
                await statement
    assert await heads(database) == []


async def test_a_cancelled_reader_gives_its_seat_back(database):
    for turns in range(3 * READERS):
        task = asyncio.create_task(heads(database))
        for _ in range(turns):
            await asyncio.sleep(0)
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
    assert await heads(database) == []
