"""What goes wrong outside is said in one sentence, and the store works again once it is put right."""

from __future__ import annotations

import asyncio
import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from bot.model.errors import AskedWrongly, StoreUnavailable, StoreUnfit
from storage.database import open_database
from storage.engine import Disk

HEAD = "INSERT INTO heads (chain, seq, hash) VALUES ($1, $2, $3)"
ROOT = Path(__file__).resolve().parents[2]

on_sqlite = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
on_postgres = pytest.mark.parametrize("database_url", ["postgres"], indirect=True)


async def store(database, chain: str, disk: Disk = Disk.NOW) -> None:
    async with database.write(disk=disk) as tx:
        await tx.run(HEAD, chain, 1, "x")


async def stored(database) -> list[str]:
    async with database.read() as tx:
        return [chain for (chain,) in await tx.rows("SELECT chain FROM heads ORDER BY chain")]


@pytest.fixture
async def hasty(database_url):
    """A store that waits for another program's lock for 50 ms only."""
    database = await open_database(database_url, busy_s=0.05)
    yield database
    await database.close()


async def test_a_lock_of_another_program_is_waited_for_and_then_told(hasty, outside):
    database = hasty
    lock = "BEGIN IMMEDIATE" if database.dialect == "sqlite" else "BEGIN; LOCK TABLE heads IN EXCLUSIVE MODE"
    for part in lock.split("; "):
        await outside(part)
    with pytest.raises(StoreUnavailable, match="locked by another program"):
        await store(database, "blocked")
    assert await stored(database) == []  # readers are not held up
    await outside("ROLLBACK")
    await store(database, "free")
    assert await stored(database) == ["free"]


@on_sqlite
@pytest.mark.parametrize("disk", Disk)
async def test_while_another_program_s_lock_is_waited_for_all_else_goes_on(database, outside, disk):
    await store(database, "first", disk)  # a writer's first transaction runs beside the loop in any case
    await outside("BEGIN IMMEDIATE")
    writing = asyncio.create_task(store(database, "waited", disk))
    async with asyncio.timeout(3):  # shorter than a store waits for a lock
        assert await stored(database) == ["first"]
        assert not writing.done()
        await outside("ROLLBACK")
        await writing
    assert await stored(database) == ["first", "waited"]


@on_sqlite
async def test_a_block_has_the_store_to_itself_from_its_first_statement_on(database, hasty):
    # What is read in a block still holds when the block writes, whichever program else there is.
    async with database.write() as tx:
        assert await tx.rows("SELECT chain FROM heads") == []
        with pytest.raises(StoreUnavailable, match="locked"):
            await store(hasty, "blocked")
    await store(hasty, "free")
    assert await stored(database) == ["free"]


@on_sqlite
async def test_a_full_store_takes_nothing_until_there_is_room(database):
    async with database.write() as tx:
        [(pages,)] = await tx.rows("PRAGMA page_count")
        await tx.rows(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StoreUnavailable, match="full"):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run(HEAD, "small", 1, "x")
            await tx.run(HEAD, "large", 1, "x" * 100_000)
    assert await stored(database) == []
    async with database.write() as tx:
        await tx.rows(f"PRAGMA max_page_count = {2**30}")
    await store(database, "room")
    assert await stored(database) == ["room"]


AT_THE_FILE_LIMIT = """
import asyncio, resource, sys
from bot.model.errors import StoreUnavailable
from storage.database import open_database

async def main():
    database = await open_database(sys.argv[1])
    sql = "INSERT INTO heads (chain, seq, hash) VALUES ($1, 1, $2)"
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, resource.RLIM_INFINITY))
    try:
        async with database.write() as tx:
            await tx.run(sql, "large", "x" * 1_000_000)
    except StoreUnavailable as error:
        print(error)
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    async with database.write() as tx:
        await tx.run(sql, "room", "x")
    async with database.read() as tx:
        print(await tx.rows("SELECT chain FROM heads"))
    await database.close()

asyncio.run(main())
"""


def in_a_child(program: str, url: str) -> list[str]:
    command = [sys.executable, "-W", "error", "-c", program, url]
    done = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
    return done.stdout.splitlines()


@on_sqlite
def test_a_disk_that_takes_no_more_bytes_is_told_and_then_written(database_url):
    # The limit is the operating system's own: setrlimit(2), RLIMIT_FSIZE.
    said, rows = in_a_child(AT_THE_FILE_LIMIT, database_url)
    assert "disk" in said
    assert rows == "[('room',)]"


WHO_MAY_NOT_WRITE = """
import asyncio, os, sys
import storage.sqlite
from bot.model.errors import StoreUnavailable
from storage.database import open_database

if os.geteuid() == 0:  # who may write anything, so it becomes nobody
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)

async def main():
    try:
        database = await open_database(sys.argv[1])
        async with database.write() as tx:
            await tx.run("DELETE FROM heads")
    except StoreUnavailable as error:
        print(error)

asyncio.run(main())
"""


def test_a_file_that_may_not_be_written_is_told(migrated_file):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "coldjar.db"
        shutil.copy(migrated_file, path)
        path.chmod(0o444)
        Path(folder).chmod(0o555)
        [said] = in_a_child(WHO_MAY_NOT_WRITE, f"sqlite:///{path}")
        Path(folder).chmod(0o755)
    assert "let the service write it" in said or "does not open" in said


@on_postgres
async def test_a_server_that_takes_no_writes_is_told(database, database_url, outside, opened):
    name = database_url.rpartition("/")[2]
    await outside(f"ALTER DATABASE {name} SET default_transaction_read_only = on")
    async with opened(database_url) as standby:
        with pytest.raises(StoreUnavailable, match="only be read"):
            await store(standby, "refused")
    await store(database, "taken")
    assert await stored(database) == ["taken"]


async def end_of(database, outside, *, reading: bool = False) -> None:
    """Another program ends the server's side of the connection, and waits until it is gone."""
    async with database.read() if reading else database.write() as tx:
        [(process,)] = await tx.rows("SELECT pg_backend_pid()")
    assert await outside(f"SELECT pg_terminate_backend({process}, 5000)") == [(True,)]


@on_postgres
async def test_a_connection_lost_inside_a_block_is_told_and_the_next_block_has_a_new_one(database, outside):
    with pytest.raises(StoreUnavailable, match="send again"):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run(HEAD, "lost", 1, "x")
            [(process,)] = await tx.rows("SELECT pg_backend_pid()")
            await outside(f"SELECT pg_terminate_backend({process}, 5000)")
            await tx.run(HEAD, "lost too", 1, "x")
    await store(database, "next")
    assert await stored(database) == ["next"]


@on_postgres
async def test_a_connection_lost_before_the_commit_stores_nothing(database, outside):
    with pytest.raises(StoreUnavailable):  # noqa: PT012 - the end of a block raises, too
        async with database.write() as tx:
            await tx.run(HEAD, "lost", 1, "x")
            [(process,)] = await tx.rows("SELECT pg_backend_pid()")
            await outside(f"SELECT pg_terminate_backend({process}, 5000)")
    assert await stored(database) == []


@on_postgres
async def test_connections_lost_between_blocks_cost_one_block_at_most(database, outside):
    for reading, act in ((False, lambda: store(database, "one")), (True, lambda: stored(database))):
        await end_of(database, outside, reading=reading)
        try:
            await act()
        except StoreUnavailable:
            await act()
    assert await stored(database) == ["one"]


@on_postgres
async def test_one_program_at_a_time_claims_the_writing(database, database_url, opened):
    async with opened(database_url) as other:
        assert await database.claim_writer()
        assert not await other.claim_writer()
        await database.close()
        assert await other.claim_writer()


@on_sqlite
async def test_a_file_needs_no_claim(database):
    assert await database.claim_writer()


@on_postgres
async def test_a_claim_lost_with_its_connection_is_not_written_on(database, database_url, outside, opened):
    assert await database.claim_writer()
    await end_of(database, outside)
    async with opened(database_url) as other:
        assert await other.claim_writer()
        for _ in range(2):  # the first may only find its connection gone
            with pytest.raises(StoreUnavailable):
                await store(database, "both")
    await store(database, "mine")
    assert await stored(database) == ["mine"]


async def test_what_is_no_store_is_unfit(tmp_path):
    with pytest.raises(StoreUnfit, match="no store at"):
        await open_database(f"sqlite:///{tmp_path / 'missing.db'}")
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "letter.db").write_text("Dear harbour, " * 1000)
    with pytest.raises(StoreUnfit, match="not a store"):
        await open_database(f"sqlite:///{tmp_path / 'letter.db'}")
    assert (tmp_path / "letter.db").read_text().startswith("Dear harbour")


@on_sqlite
async def test_a_damaged_file_is_unfit(database_url, tmp_path, opened):
    path = tmp_path / "coldjar.db"
    whole = path.read_bytes()
    path.write_bytes(whole[:4096] + bytes(len(whole) - 4096))
    with pytest.raises(StoreUnfit, match="damaged"):
        async with opened(database_url) as database:
            await stored(database)


@on_postgres
async def test_a_database_that_is_not_there_is_unfit(database_url):
    with pytest.raises(StoreUnfit, match="no such database"):
        await open_database(f"{database_url}_missing")


async def test_a_server_that_is_not_there_is_unavailable():
    with socket.socket() as taken:  # bound, not listening: nobody else gets this port
        taken.bind(("127.0.0.1", 0))
        with pytest.raises(StoreUnavailable, match="database server"):
            await open_database(f"postgresql://someone@127.0.0.1:{taken.getsockname()[1]}/none")


async def test_an_address_of_another_kind_is_asked_wrongly():
    for url in ("coldjar.db", "mysql://host/none", "postgresql://host:port/none"):
        with pytest.raises(AskedWrongly):
            await open_database(url)
