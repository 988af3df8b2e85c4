"""How a store comes to this release's tables: by itself, once, in a process of its own."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
from pathlib import Path

import pytest

from bot.model.errors import StoreUnfit
from storage.migrate import MIGRATIONS, ensure_migrated
from storage.migrations.dump import dump

ROOT = Path(__file__).resolve().parents[2]


async def test_an_empty_place_is_migrated_once(empty_url, opened):
    assert await ensure_migrated(empty_url) is True
    assert await ensure_migrated(empty_url) is False
    async with opened(empty_url) as database, database.read() as tx:
        assert await tx.rows("SELECT id, writes FROM store_state") == [(1, 0)]


async def test_two_services_that_start_at_once_migrate_once(empty_url):
    await asyncio.gather(ensure_migrated(empty_url), ensure_migrated(empty_url))
    assert await ensure_migrated(empty_url) is False


async def test_a_store_of_a_later_release_is_left_alone(database_url, outside):
    await outside("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreUnfit, match="another release"):
        await ensure_migrated(database_url)
    assert await outside("SELECT version_num FROM alembic_version") == [("9999",)]


@pytest.mark.parametrize("empty_url", ["sqlite"], indirect=True)
async def test_another_programs_file_is_left_alone(empty_url, tmp_path, opened):
    async def tables() -> str:
        async with opened(empty_url) as database:
            return await dump(database)

    (tmp_path / "coldjar.db").touch()
    async with opened(empty_url) as database, database.write() as tx:
        await tx.rows("CREATE TABLE catches (fish TEXT)")
    before = await tables()
    with pytest.raises(StoreUnfit, match="another program"):
        await ensure_migrated(empty_url)
    assert await tables() == before


async def test_a_missing_folder_is_not_made(tmp_path):
    with pytest.raises(StoreUnfit, match="no folder"):
        await ensure_migrated(f"sqlite:///{tmp_path / 'nowhere' / 'coldjar.db'}")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("empty_url", ["postgres"], indirect=True)
async def test_a_table_that_is_in_the_way_stops_the_migration_and_nothing_is_made(empty_url, opened):
    async with opened(empty_url) as database:
        async with database.write() as tx:
            await tx.rows("CREATE TABLE samples (id TEXT)")
        before = await dump(database)
        with pytest.raises(StoreUnfit, match="samples"):
            await ensure_migrated(empty_url)
        assert await dump(database) == before


def test_the_child_finds_the_package_from_anywhere_and_takes_nothing_from_there(tmp_path):
    (tmp_path / "storage").mkdir()
    (tmp_path / "storage" / "__init__.py").write_text("raise SystemExit('the wrong package')")
    program = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r}); import asyncio, storage.migrate as m;"
        "print(asyncio.run(m.ensure_migrated('sqlite:///here.db')), 'alembic' in sys.modules)"
    )
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    command = [sys.executable, "-W", "error", "-c", program]
    done = subprocess.run(command, cwd=tmp_path, env=environment, check=True, capture_output=True, text=True)
    assert done.stdout.split() == ["True", "False"]
    assert (tmp_path / "here.db").is_file()


def test_the_command_line_prints_the_tables_and_says_what_is_wrong(migrated_file, tmp_path):
    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "storage.migrate", *words]
        return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)

    shown = run("--dump", f"sqlite:///{migrated_file}")
    assert (shown.returncode, shown.stdout) == (0, (MIGRATIONS / "schema.sqlite.sql").read_text())
    missing = run("--dump", f"sqlite:///{tmp_path / 'none.db'}")
    assert (missing.returncode, missing.stderr.count("\n")) == (1, 1)
    assert run().returncode == 2
    assert run("ftp://nowhere").returncode == 2
