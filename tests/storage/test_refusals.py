"""The database itself keeps what was said: no client changes or removes it, however it asks."""

from __future__ import annotations

import sqlite3

import asyncpg
import pytest

from bot.model.errors import Conflict
from storage.engine import Refused

ENTRY = "INSERT INTO entries (chain, seq, kind, received_us, hash, text) VALUES ($1, $2, 'k', 5, 'h', $3)"
MESSAGE = (
    "INSERT INTO raw_messages (key, address, received_us, state, sha256, text)"
    " VALUES ($1, 'sms:+447700900001', 5, 'taken', 'h', $2)"
)
ENTRIES = "SELECT chain, seq, text FROM entries ORDER BY chain, seq"
MESSAGES = "SELECT row, key, text FROM raw_messages ORDER BY row"

CHANGES = [
    "UPDATE {table} SET text = 'changed'",
    "UPDATE {table} SET text = text WHERE received_us = 5",
    "DELETE FROM {table}",
    "DELETE FROM {table} WHERE received_us = 5",
]
REPLACES = [
    "INSERT OR REPLACE INTO entries VALUES ('unit', 1, 'k', 6, 'h', 'changed')",
    "REPLACE INTO entries VALUES ('unit', 1, 'k', 6, 'h', 'changed')",
    "UPDATE OR REPLACE entries SET seq = 1 WHERE seq = 2",
    "INSERT OR REPLACE INTO raw_messages VALUES (1, 'sms:9', 'a', 6, NULL, 'taken', 'h', 'changed')",
    "INSERT OR REPLACE INTO raw_messages VALUES (9, 'sms:1', 'a', 6, NULL, 'taken', 'h', 'changed')",
]
UPSERTS = [
    """
    INSERT INTO entries VALUES ('unit', 1, 'k', 6, 'h', 'changed')
    ON CONFLICT (chain, seq) DO UPDATE SET text = 'changed'
    """,
    """
    INSERT INTO raw_messages (key, address, received_us, state, sha256, text)
    VALUES ('sms:1', 'a', 6, 'taken', 'h', 'changed') ON CONFLICT (key) DO UPDATE SET text = 'changed'
    """,
]
TRUNCATES = [
    "TRUNCATE entries",
    "TRUNCATE raw_messages RESTART IDENTITY",
    "TRUNCATE heads, entries CASCADE",
]

on_sqlite = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
on_postgres = pytest.mark.parametrize("database_url", ["postgres"], indirect=True)


@pytest.fixture(autouse=True)
async def said(database):
    """Two entries and two messages stand, and stand unchanged after the test."""
    async with database.write() as tx:
        await tx.run_many(ENTRY, [("unit", 1, "first"), ("unit", 2, "second")])
        await tx.run_many(MESSAGE, [("sms:1", "one"), ("sms:2", "two")])
    yield
    async with database.read() as tx:
        assert await tx.rows(ENTRIES) == [("unit", 1, "first"), ("unit", 2, "second")]
        assert await tx.rows(MESSAGES) == [(1, "sms:1", "one"), (2, "sms:2", "two")]


def every(table: str) -> list[str]:
    return [change.format(table=table) for change in CHANGES]


async def is_refused(database, outside, sql: str) -> None:
    """By our own connection in our words, by the engine's own client in the engine's."""
    with pytest.raises(Refused, match="append-only"):
        async with database.write() as tx:
            await tx.run(sql)
    with pytest.raises((sqlite3.IntegrityError, asyncpg.PostgresError), match="append-only"):
        await outside(sql)


@pytest.mark.parametrize("sql", [*every("entries"), *every("raw_messages"), *UPSERTS])
async def test_what_was_said_is_not_changed(database, outside, sql):
    await is_refused(database, outside, sql)


@on_sqlite
@pytest.mark.parametrize("sql", REPLACES)
async def test_what_was_said_is_not_replaced(database, outside, sql):
    await is_refused(database, outside, sql)


@on_postgres
@pytest.mark.parametrize("sql", TRUNCATES)
async def test_what_was_said_is_not_emptied_out(database, outside, sql):
    with pytest.raises(Refused):
        async with database.write() as tx:
            await tx.rows(sql)
    with pytest.raises(asyncpg.PostgresError, match="append-only"):
        await outside(sql)


async def test_a_second_entry_under_one_number_is_a_conflict_and_no_refusal(database):
    for sql, *values in ((ENTRY, "unit", 2, "other"), (MESSAGE, "sms:2", "other")):
        with pytest.raises(Conflict):
            async with database.write() as tx:
                await tx.run(sql, *values)


async def test_a_second_delivery_can_be_passed_over(database):
    async with database.write() as tx:
        assert await tx.run(f"{MESSAGE} ON CONFLICT (key) DO NOTHING", "sms:2", "again") == 0
        assert await tx.run(f"{ENTRY} ON CONFLICT DO NOTHING", "unit", 1, "again") == 0


async def test_the_tables_that_are_rebuilt_can_be_emptied(database):
    async with database.write() as tx:
        await tx.run("INSERT INTO heads (chain, seq, hash) VALUES ('unit', 2, 'h')")
        assert await tx.run("UPDATE heads SET seq = 3") == 1
        assert await tx.run("DELETE FROM heads") == 1
