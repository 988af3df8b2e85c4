"""What every store promises, on both engines. Seen from outside by the engines' own clients."""

from __future__ import annotations

import asyncio
import json
from contextlib import AsyncExitStack, suppress
from typing import Any

import pytest

from bot.model.errors import Conflict, StoreUnavailable
from storage.database import READERS, Database, Tx, open_database
from storage.engine import Disk

HEAD = "INSERT INTO heads (chain, seq, hash) VALUES ($1, $2, $3)"
HEADS = "SELECT chain, seq, hash FROM heads ORDER BY chain"
TO_SEND = """
    INSERT INTO outbox (address, doc, queued_us, due_us, state) VALUES ($2, $3, $1, $1, $4) RETURNING row
"""
HOSTILE = ['it\'s "quoted"', "a,b", "50 % \\ $1 ?1", "Grüße 🛢", "", "null", "ends ", "ENDS "]


async def heads(database: Database) -> list[tuple[Any, ...]]:
    async with database.read() as tx:
        return await tx.rows(HEADS)


async def writes_so_far(database: Database) -> int:
    async with database.read() as tx:
        [(writes,)] = await tx.rows("SELECT writes FROM store_state")
    return int(writes)


async def test_a_block_that_ended_well_is_seen_by_another_program(database, outside):
    async with database.write() as tx:
        assert await tx.run(HEAD, "unit", 7, "ab") == 1
        assert await outside(HEADS) == []
    assert await outside(HEADS) == [("unit", 7, "ab")]


async def test_a_block_that_raised_stores_nothing(database, outside):
    with pytest.raises(KeyError):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run(HEAD, "unit", 7, "ab")
            raise KeyError
    assert await outside(HEADS) == []


async def test_run_counts_the_rows_that_it_touched(database):
    async with database.write() as tx:
        await tx.run_many(HEAD, [("a", 1, "x"), ("b", 2, "x"), ("c", 3, "y")])
        await tx.run_many(HEAD, [])
        assert await tx.run("UPDATE heads SET seq = seq + $1 WHERE hash = $2", 10, "x") == 2
        assert await tx.run(f"{HEAD} ON CONFLICT DO NOTHING", "a", 5, "z") == 0
        assert await tx.run("DELETE FROM heads WHERE chain = $1", "no such") == 0
    assert await heads(database) == [("a", 11, "x"), ("b", 12, "x"), ("c", 3, "y")]


async def test_rows_hands_out_what_returning_returns_and_one_value_serves_two_places(database):
    values = (2**53 + 1, "sms:+447700900001", "{}", "waiting")
    async with database.write() as tx:
        assert await tx.rows(TO_SEND, *values) == [(1,)]
        assert await tx.rows(TO_SEND, *values) == [(2,)]
        found = await tx.rows("SELECT queued_us, due_us, attempts, leased_by FROM outbox WHERE row = $1", 2)
    assert found == [(2**53 + 1, 2**53 + 1, 0, None)]


async def test_a_number_of_the_outbox_is_never_given_out_again(database):
    for number in (1, 2, 3):
        async with database.write() as tx:
            assert await tx.rows(TO_SEND, 1, "web:r1", "{}", "waiting") == [(number,)]
            assert await tx.run("DELETE FROM outbox") == 1


async def test_texts_come_back_to_the_byte_and_sort_by_code_point_on_both_engines(database):
    texts = [*HOSTILE, "Z", "a", "ä", "z", "_", "\x01"]
    async with database.write() as tx:
        await tx.run_many(HEAD, [(text, 1, text) for text in texts])
    # UTF-8 sorts as code points do: RFC 3629, section 1.
    assert [chain for chain, _, _ in await heads(database)] == sorted(texts)


@pytest.mark.parametrize("asked", [[], ["Grüße 🛢"], HOSTILE, [*HOSTILE, *HOSTILE, "no such"]])
async def test_among_finds_exactly_the_texts_of_the_array(database, asked):
    async with database.write() as tx:
        await tx.run_many(HEAD, [(text, 1, "x") for text in [*HOSTILE, "other"]])
        await tx.run(HEAD, "elsewhere", 1, "y")
        sql = f"SELECT chain FROM heads WHERE {tx.among('chain', '$1')} AND hash = $2"
        found = await tx.rows(sql, json.dumps(asked), "x")
    assert {chain for (chain,) in found} == set(asked) - {"no such"}
    assert len(found) == len({chain for (chain,) in found})


async def test_among_is_answered_from_the_index(database):
    async with database.write() as tx:
        await tx.run_many(HEAD, [(f"chain {number}", 1, "x") for number in range(2000)])
        # The planners' own words: "EXPLAIN QUERY PLAN" of SQLite, "Using EXPLAIN" of PostgreSQL.
        explain = "EXPLAIN QUERY PLAN" if database.dialect == "sqlite" else "EXPLAIN"
        await tx.rows("ANALYZE heads")
        sql = f"{explain} SELECT hash FROM heads WHERE {tx.among('chain', '$1')}"
        plan = await tx.rows(sql, '["chain 7"]')
    words = " ".join(str(cell) for row in plan for cell in row)
    assert ("SEARCH heads USING INDEX" if database.dialect == "sqlite" else "heads_pkey") in words
    assert "SCAN heads" not in words
    assert "Seq Scan" not in words


async def test_a_text_is_no_number_on_either_engine(database):
    with pytest.raises(Exception) as caught:  # noqa: PT011 - each driver has its own
        async with database.write() as tx:
            await tx.run(HEAD, "unit", "seven", "ab")
    assert not isinstance(caught.value, (StoreUnavailable, Conflict))
    assert await heads(database) == []


async def test_a_key_that_stands_spoils_the_whole_block(database):
    with pytest.raises(Conflict):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run(HEAD, "unit", 1, "ab")
            await tx.run(HEAD, "unit", 2, "cd")
    assert await heads(database) == []


async def test_an_error_that_the_block_hides_still_stops_it(database):
    with pytest.raises(Conflict):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run_many(HEAD, [("a", 1, "x")])
            with pytest.raises(Conflict):
                await tx.run_many(HEAD, [("b", 1, "x"), ("a", 1, "x")])
            with pytest.raises(Conflict):
                await tx.run(HEAD, "c", 1, "x")
    assert await heads(database) == []


async def test_what_goes_together_is_run_in_its_order_when_its_block_ends(database):
    async with database.write() as tx:
        with tx.together():
            await tx.run_many(HEAD, [("a", 1, "x"), ("b", 1, "x")])
            await tx.run_many("UPDATE heads SET seq = seq + $2 WHERE chain = $1", [("a", 4)])
            await tx.run_many("UPDATE heads SET seq = seq * $2 WHERE chain = $1", [("a", 2)])
            with pytest.raises(RuntimeError, match="together"):
                await tx.rows(HEADS)
        assert await tx.rows(HEADS) == [("a", 10, "x"), ("b", 1, "x")]
    assert len(await heads(database)) == 2


async def test_one_that_fails_of_those_that_go_together_spoils_the_whole_block(database):
    with pytest.raises(Conflict):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            with tx.together():
                await tx.run_many(HEAD, [("a", 1, "x")])
                await tx.run_many(HEAD, [("a", 1, "y")])
                await tx.run_many(HEAD, [("b", 1, "x")])
    assert await heads(database) == []


async def test_where_not_all_that_goes_together_was_named_nothing_of_the_block_is_stored(database):
    async def half() -> None:
        async with database.write() as tx:
            with tx.together():
                await tx.run_many(HEAD, [("a", 1, "x")])
            with suppress(KeyError), tx.together():
                await tx.run_many(HEAD, [("b", 1, "x")])
                raise KeyError("c")

    with pytest.raises(KeyError):
        await half()
    assert await heads(database) == []


async def test_looks_that_go_together_are_answered_in_their_order(database):
    one = "SELECT seq FROM heads WHERE chain = $1"
    async with database.write() as tx:
        await tx.run_many(HEAD, [("a", 1, "x"), ("b", 2, "x")])
        assert await tx.rows_of([(one, ("b",)), (HEADS, ()), (one, ("c",)), (one, ("a",))]) == [
            [(2,)], [("a", 1, "x"), ("b", 2, "x")], [], [(1,)]
        ]  # fmt: skip
        assert await tx.rows_of([]) == []


async def test_a_look_that_fails_of_those_that_go_together_spoils_the_whole_block(database):
    with pytest.raises(Exception, match="nowhere"):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run(HEAD, "a", 1, "x")
            await tx.rows_of([(HEADS, ()), ("SELECT seq FROM nowhere", ()), (HEADS, ())])
    assert await heads(database) == []


async def test_a_transaction_is_of_no_use_after_its_block(database):
    kept: list[Tx] = []
    async with database.write() as tx:
        kept.append(tx)
    with pytest.raises(KeyError):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            kept.append(tx)
            raise KeyError
    async with database.read() as tx:
        kept.append(tx)
    for tx in kept:
        with pytest.raises(RuntimeError):
            await tx.run(HEAD, "late", 1, "x")
    assert await heads(database) == []


async def test_blocks_of_many_tasks_wait_for_each_other(database):
    async def add_one() -> None:
        async with database.write() as tx:
            [(writes,)] = await tx.rows("SELECT writes FROM store_state")
            await asyncio.sleep(0)
            await tx.run("UPDATE store_state SET writes = $1", writes + 1)

    await asyncio.gather(*(add_one() for _ in range(25)))
    assert await writes_so_far(database) == 25


async def test_two_programs_write_one_store(database, database_url, opened):
    async def add(store: Database) -> None:
        for _ in range(10):
            async with store.write() as tx:
                await tx.run("UPDATE store_state SET writes = writes + 1")

    async with opened(database_url) as other:
        await asyncio.gather(add(database), add(other))
    assert await writes_so_far(database) == 20


async def test_a_reader_sees_one_view_while_others_write(database):
    async with database.read() as tx:
        assert await tx.rows(HEADS) == []
        async with database.write() as writer:
            await writer.run(HEAD, "unit", 1, "ab")
        assert await tx.rows(HEADS) == []
    assert await heads(database) == [("unit", 1, "ab")]


async def test_a_reader_beyond_the_seats_waits_its_turn(database):
    async with AsyncExitStack() as others:
        for _ in range(READERS - 1):
            await others.enter_async_context(database.read())
        async with database.read() as tx:
            await tx.rows(HEADS)
            late = asyncio.create_task(heads(database))
            for _ in range(100):
                await asyncio.sleep(0)
            assert not late.done()
        assert await late == []


async def test_a_reader_cannot_write_and_the_next_reader_reads(database):
    for _ in range(READERS + 1):
        with pytest.raises(Exception, match=r"read.?only") as caught:
            async with database.read() as tx:
                await tx.run(HEAD, "unit", 1, "ab")
        assert not isinstance(caught.value, StoreUnavailable)
    assert await heads(database) == []


async def test_a_closed_store_says_so(database_url):
    database = await open_database(database_url)
    await heads(database)
    await database.close()
    await database.close()
    with pytest.raises(RuntimeError, match="closed"):
        await heads(database)
    with pytest.raises(RuntimeError, match="closed"):
        async with database.write():
            pass


@pytest.mark.parametrize("before", [None, Disk.LATER, Disk.NEVER])
async def test_what_is_committed_is_asked_to_be_on_the_disk(database, before):
    for chain in ("first", "second") if before is not None else ():  # a writer's first waits in any case
        async with database.write(disk=before) as tx:
            await tx.run(HEAD, chain, 1, "x")
    async with database.write() as tx:
        if database.dialect == "sqlite":
            # https://www.sqlite.org/pragma.html#pragma_synchronous: 2 is FULL.
            assert await tx.rows("PRAGMA synchronous") == [(2,)]
            assert await tx.rows("PRAGMA busy_timeout") == [(5000,)]
            assert await tx.rows("PRAGMA journal_mode") == [("wal",)]
        else:
            assert await tx.rows("SHOW synchronous_commit") == [("on",)]
