"""What people read is made again from the entries alone, bit for bit; there is no outside source for it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractAsyncContextManager
from pathlib import Path

import pytest

from storage.database import Database
from storage.projections import TABLES
from storage.rebuild import contents, rebuild
from tests.storage.record import Ask, fill
from tests.talk import SETUP, talk_to

Opened = Callable[[str], AbstractAsyncContextManager[Database]]


async def test_a_rebuild_gives_the_tables_bit_for_bit(database_url: str, tmp_path: Path, opened: Opened) -> None:
    await fill(database_url, tmp_path)
    async with opened(database_url) as database, database.write() as tx:
        before = await contents(tx)
        counts = await rebuild(tx)
        assert await contents(tx) == before
        assert counts == {table: len(rows) for table, rows in before.items()}
    assert all(counts[table] for table in TABLES)


@pytest.mark.parametrize("table", TABLES)
async def test_a_table_that_was_emptied_comes_back(
    table: str, database_url: str, tmp_path: Path, opened: Opened, outside: Ask
) -> None:
    await fill(database_url, tmp_path)
    async with opened(database_url) as database:
        async with database.read() as tx:
            before = await contents(tx)
        await outside(f"DELETE FROM {table}")
        async with database.write() as tx:
            assert await contents(tx) != before
            await rebuild(tx)
            assert await contents(tx) == before


async def test_a_rebuild_from_a_damaged_chain_changes_nothing(
    database_url: str, tmp_path: Path, opened: Opened, outside: Ask
) -> None:
    """An entry that this release cannot read stops it, and the tables stay as they were."""
    await fill(database_url, tmp_path)
    sql = "INSERT INTO entries (chain, seq, kind, received_us, hash, text) VALUES ('CH-014', 99, 'x', 1, 'x', '{0}')"
    await outside(sql.format('{"kind":"NoSuchKind","body_version":1}'))
    async with opened(database_url) as database:
        async with database.read() as tx:
            before = await contents(tx)
        with pytest.raises(ValueError, match="NoSuchKind"):
            async with database.write() as tx:
                await rebuild(tx)
        async with database.read() as tx:
            assert await contents(tx) == before


async def test_a_figure_told_without_a_fraction_is_rebuilt_as_it_was(database_url: str, tmp_path: Path) -> None:
    """JSON has one sort of number (RFC 8259, 6): 75.0 told and 75 read back must not differ."""
    async with talk_to(database_url, tmp_path, SETUP) as talk:
        await talk.says("R1", "01 background 0901 jar fill 3/4 47N 19W cooler M 4.0C oiltemp 45C depth 2m container 500 ml")
        assert await talk.rebuilds_the_same()
        assert (await talk.verdict()).found == ()
        assert (await talk.jar("01"))["fill"] is not None


async def test_the_line_goes_on_after_a_rebuild(database_url: str, tmp_path: Path, opened: Opened) -> None:
    async with talk_to(database_url, tmp_path, SETUP) as talk:
        await talk.says("R1", "01 spill sheen 0901 seal 5101")
        async with opened(database_url) as database, database.write() as tx:
            await rebuild(tx)
            await tx.run("UPDATE store_state SET writes = writes + 1 WHERE id = 1")
        await talk.says("R1", "01 seal is 5102 not 5101, misread")
        assert [seal["number"] for seal in (await talk.jar("01"))["seals"]] == ["5102"]
        assert (await talk.verdict()).found == ()
        assert await talk.rebuilds_the_same()
