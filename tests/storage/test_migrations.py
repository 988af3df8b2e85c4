"""The tables' history, three ways: made fresh, brought over with everything in it, read by today's code."""

from __future__ import annotations

import asyncio
import shutil
from pathlib import Path
from typing import Any

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory

from bot.model.errors import StoreUnfit
from storage.database import Database, Tx
from storage.engine import Refused
from storage.migrate import HEAD, MIGRATIONS, begin_migration, ensure_migrated, upgrade
from storage.migrations.dump import dump

ROOT = Path(__file__).resolve().parents[2]
APPEND_ONLY = ("entries", "raw_messages")


def history(folder: Path = MIGRATIONS) -> list[str]:
    """All migrations, oldest first, as the library reads them."""
    config = Config()
    config.set_main_option("script_location", str(folder))
    config.set_main_option("path_separator", "os")
    return [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()][::-1]


async def migrated(url: str, to: str = "head", folder: Path = MIGRATIONS) -> None:
    await asyncio.to_thread(upgrade, url, to, folder)


def test_the_newest_migration_is_the_one_this_release_names():
    assert history()[-1] == HEAD


def test_the_file_of_each_migration_begins_with_its_number():
    files = sorted(path.name for path in (MIGRATIONS / "versions").glob("*.py"))
    assert [name.partition("_")[0] for name in files] == history()


def test_no_migration_copies_a_table_over_and_so_drops_its_triggers():
    for path in (MIGRATIONS / "versions").glob("*.py"):
        assert "batch_alter" not in path.read_text()


async def test_the_tables_made_fresh_are_the_ones_on_file(empty_url, opened):
    await migrated(empty_url)
    async with opened(empty_url) as database:
        on_file = MIGRATIONS / f"schema.{database.dialect}.sql"
        assert await dump(database) == on_file.read_text(), "see `python -m storage.migrate --dump`"


async def test_one_migration_at_a_time_ends_at_the_same_tables(empty_url, opened):
    for revision in history():
        await migrated(empty_url, revision)
    async with opened(empty_url) as database:
        assert await dump(database) == (MIGRATIONS / f"schema.{database.dialect}.sql").read_text()


COLUMNS = {
    "sqlite": """
        SELECT m.name, c.name, c.type FROM sqlite_master AS m JOIN pragma_table_info(m.name) AS c
        WHERE m.type = 'table' AND m.name NOT IN ('alembic_version', 'replacing', 'sqlite_sequence')
    """,
    "postgres": """
        SELECT table_name::text, column_name::text, data_type::text FROM information_schema.columns
        WHERE table_schema = current_schema() AND table_name <> 'alembic_version'
    """,
}


async def columns_of(database: Database, tx: Tx) -> dict[str, dict[str, str]]:
    """The columns of each table with their sort, "text" or another, whatever the migration."""
    tables: dict[str, dict[str, str]] = {}
    for table, column, sort in await tx.rows(COLUMNS[database.dialect]):
        tables.setdefault(table, {})[column] = sort.lower()
    return tables


async def fill(database: Database) -> None:
    """Three rows in every table, no two cells of a column alike; the counter has its one row already."""
    async with database.write() as tx:
        for table, columns in (await columns_of(database, tx)).items():
            if table == "store_state":
                continue
            places = ", ".join(f"${number}" for number in range(1, len(columns) + 1))
            names = ", ".join(columns)
            await tx.run_many(
                f"INSERT INTO {table} ({names}) VALUES ({places})",
                [
                    tuple(f'{{"{name}":{n}}}' if sort == "text" else n for name, sort in columns.items())
                    for n in (1, 2, 3)
                ],
            )


async def everything(database: Database) -> dict[str, list[dict[str, Any]]]:
    async with database.read() as tx:
        return {
            table: [
                dict(zip(columns, row, strict=True))
                for row in await tx.rows(f"SELECT {', '.join(columns)} FROM {table} ORDER BY 1, 2")
            ]
            for table, columns in (await columns_of(database, tx)).items()
        }


async def refuses(database: Database) -> None:
    """Every way to change or remove a row of an append-only table is refused, and no row is lost."""
    own_way = {"sqlite": "INSERT OR REPLACE INTO {0} SELECT * FROM {0}", "postgres": "TRUNCATE {0}"}
    for table in APPEND_ONLY:
        for way in ("UPDATE {0} SET text = 'x'", "DELETE FROM {0}", own_way[database.dialect]):
            with pytest.raises(Refused):
                async with database.write() as tx:
                    await tx.rows(way.format(table))


async def is_kept(database: Database, before: dict[str, list[dict[str, Any]]]) -> None:
    """Each cell of before is there still, and the refusals stand."""
    await refuses(database)
    after = await everything(database)
    for table, rows in before.items():
        kept = [{name: row[name] for name in old} for row, old in zip(after[table], rows, strict=True)]
        assert kept == rows


@pytest.mark.parametrize("start", history())
async def test_a_filled_store_of_any_release_keeps_every_row_and_refusal(empty_url, start, opened):
    await migrated(empty_url, start)
    async with opened(empty_url) as database:
        await fill(database)
        before = await everything(database)
    assert all(len(rows) == 3 for table, rows in before.items() if table != "store_state")
    for revision in history()[history().index(start) :]:
        await migrated(empty_url, revision)
        async with opened(empty_url) as database:
            await is_kept(database, before)


@pytest.fixture
def later(tmp_path: Path) -> Path:
    """A history with one migration more, as the next release may have it."""
    folder = tmp_path / "later"
    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    begin_migration("one column more", folder)
    return folder


def with_body(folder: Path, body: str) -> None:
    [path] = (folder / "versions").glob(f"{int(HEAD) + 1:04}_*.py")
    doc = '    """Change the tables. Append-only ones keep their triggers: no batch alteration."""\n'
    text = path.read_text()
    assert doc in text
    path.write_text(text.replace(doc, doc + body))


ONE_COLUMN_MORE = """
    op.add_column("entries", sa.Column("again", sa.Integer, server_default="0", nullable=False))
"""
COPIED_OVER = """
    with op.batch_alter_table("entries", recreate="always") as batch:
        batch.add_column(sa.Column("again", sa.Integer, server_default="0", nullable=False))
"""


async def test_the_next_migration_keeps_every_row_and_refusal(empty_url, later, opened):
    with_body(later, ONE_COLUMN_MORE)
    assert history(later) == [*history(), f"{int(HEAD) + 1:04}"]
    await migrated(empty_url)
    async with opened(empty_url) as database:
        await fill(database)
        before = await everything(database)
    await migrated(empty_url, folder=later)
    async with opened(empty_url) as database:
        await is_kept(database, before)
    async with opened(empty_url) as database:
        assert [row["again"] for row in (await everything(database))["entries"]] == [0, 0, 0]


@pytest.mark.parametrize("empty_url", ["sqlite"], indirect=True)
async def test_a_table_copied_over_would_be_caught_here(empty_url, later, opened):
    with_body(later, COPIED_OVER)
    await migrated(empty_url)
    async with opened(empty_url) as database:
        await fill(database)
        before = await everything(database)
    await migrated(empty_url, folder=later)
    async with opened(empty_url) as database:
        with pytest.raises(pytest.fail.Exception, match="DID NOT RAISE"):
            await is_kept(database, before)


def and_one_that_fails(folder: Path) -> None:
    """One more still, which cannot run; the one before it can."""
    this, following = f"{int(HEAD) + 1:04}", f"{int(HEAD) + 2:04}"
    (folder / "versions" / f"{following}_fails.py").write_text(
        f"from alembic import op\n\nrevision, down_revision = {following!r}, {this!r}\n\n\n"
        "def upgrade():\n    op.execute('CREATE TABLE half (id INTEGER)')\n"
        "    op.execute('INSERT INTO no_such_table VALUES (1)')\n"
    )


async def test_a_migration_that_fails_leaves_the_store_as_it_was(empty_url, later, opened):
    with_body(later, ONE_COLUMN_MORE)
    and_one_that_fails(later)
    await migrated(empty_url)
    async with opened(empty_url) as database:
        tables = await dump(database)
        await fill(database)
        before = await everything(database)
    with pytest.raises(StoreUnfit, match="no_such_table"):
        await migrated(empty_url, folder=later)
    assert await ensure_migrated(empty_url) is False
    async with opened(empty_url) as database:
        assert await dump(database) == tables
        assert await everything(database) == before


# What each release wrote: canonical JSON (RFC 8785), kept to the byte; instants in microseconds UTC.
YESTERDAY = {
    "0001": [
        """
        INSERT INTO entries (chain, seq, kind, received_us, hash, text)
        VALUES ('case:CH-014', 1, 'SampleDeclared', 1791793860000000, '9f',
                '{"at":"2026-10-12T09:31:00+01:00","said":"03 Ölfilm €","v":1}')
        """,
        "UPDATE store_state SET writes = 41 WHERE id = 1",
        """
        INSERT INTO outbox (address, doc, queued_us, due_us, state) VALUES
        ('sms:+447700900001', '{"text":"03 on record."}', 1791793860000001, 1791793860000002, 'waiting')
        """,
    ],
    "0002": [
        """
        INSERT INTO due (kind, subject, due_us, state, doc, try_us)
        VALUES ('cooler_forecast', 'M', 7, 'asked', '{}', 7)
        """,
        """
        INSERT INTO alerts (id, kind, subject, state, raised_us, doc) VALUES ('A12', 'entry_stop', 'R1', 'open', 5,
        '{"alert":"A12","alert_kind":"entry_stop","level":"critical","sample":null,"subject":"R1","told":["S1"]}')
        """,
    ],
    "0003": ["UPDATE outbox SET report = 'delivered', report_us = 1791793860000003"],
    "0004": ["INSERT INTO due (kind, subject, due_us, state) VALUES ('ladder', 'A12', 9, 'waiting')"],
    "0005": [],  # samples, which are made again, grew a column
    "0006": [],  # as above
}


@pytest.mark.parametrize("release", history())
async def test_yesterdays_rows_are_read_by_todays_code(empty_url, release, opened):
    await migrated(empty_url, release)
    async with opened(empty_url) as database, database.write() as tx:
        for older in (one for one in history() if one <= release):
            for sql in YESTERDAY[older]:
                await tx.run(sql)
    await migrated(empty_url)
    async with opened(empty_url) as database, database.read() as tx:
        text = '{"at":"2026-10-12T09:31:00+01:00","said":"03 Ölfilm €","v":1}'
        entry = ("case:CH-014", 1, 1_791_793_860_000_000, text)
        assert await tx.rows("SELECT chain, seq, received_us, text FROM entries") == [entry]
        assert await tx.rows("SELECT writes FROM store_state") == [(41,)]
        assert await tx.rows("SELECT row, due_us, attempts, again, leased_by FROM outbox") == [
            (1, 1_791_793_860_000_002, 0, 0, None)
        ]
