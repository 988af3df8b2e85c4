"""The engines' own clients, to see and disturb a store from outside: sqlite3 of Python, and asyncpg."""

from __future__ import annotations

import sqlite3
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager, closing
from typing import Any

import asyncpg
import pytest

from storage.database import Database, open_database

Ask = Callable[[str], Awaitable[list[tuple[Any, ...]]]]


@asynccontextmanager
async def outsider(url: str) -> AsyncIterator[Ask]:
    """One connection of the engine's own client; each statement commits by itself, until it says BEGIN."""
    if url.startswith("sqlite:///"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"), isolation_level=None)) as plain:

            async def ask(sql: str) -> list[tuple[Any, ...]]:
                return plain.execute(sql).fetchall()

            yield ask
    else:
        connection = await asyncpg.connect(url)

        async def fetch(sql: str) -> list[tuple[Any, ...]]:
            return [tuple(row) for row in await connection.fetch(sql)]

        try:
            yield fetch
        finally:
            await connection.close()


@asynccontextmanager
async def _opened(url: str) -> AsyncIterator[Database]:
    database = await open_database(url)
    try:
        yield database
    finally:
        await database.close()


@pytest.fixture
def opened() -> Callable[[str], AbstractAsyncContextManager[Database]]:
    """`async with opened(url) as database`: a store open for a while."""
    return _opened


@pytest.fixture
async def outside(database_url: str) -> AsyncIterator[Ask]:
    async with outsider(database_url) as ask:
        yield ask
