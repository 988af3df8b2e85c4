"""The store's tables, brought to this release's shape in a process of its own.

`python -m storage.migrate URL` migrates; "-" reads the address from standard input, so that no list of
processes shows its password. `--dump URL` prints the tables, `--new WORDS` begins a migration.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bot.model.errors import AskedWrongly, ColdjarError, StoreUnavailable, StoreUnfit

from . import sqlite
from .database import dialect_of, open_database
from .migrations.dump import dump

if TYPE_CHECKING:
    from alembic.config import Config
    from sqlalchemy import Connection

MIGRATIONS = Path(__file__).resolve().parent / "migrations"
HEAD = "0006"  # the newest migration, so that the parent need not load the library to know
BUSY_S = 30.0  # how long a migration waits for another program's lock


async def ensure_migrated(url: str) -> bool:
    """Bring the store to this release's tables; return whether there was anything to do.

    A missing SQLite file is made, its folder is not. Raises StoreUnavailable, or StoreUnfit: from a
    newer release, no store of ours, or the migration failed and changed nothing.
    """
    version = await version_of(url)
    if version == HEAD:
        return False
    if version is not None and version not in _revisions():
        raise StoreUnfit(f"The store is of another release (tables {version}); start that release.")
    await _run_child(url)
    return True


async def is_older(url: str) -> bool:
    """True where the store is of a release before this one, which this one can bring up to date."""
    version = await version_of(url)
    return version is not None and version != HEAD and version in _revisions()


def _revisions() -> set[str]:
    """Return the migrations this release knows, from their files' names."""
    return {path.name.partition("_")[0] for path in MIGRATIONS.glob("versions/[0-9]*.py")}


async def version_of(url: str) -> str | None:
    """The store's last migration, None where it has no tables at all."""
    if dialect_of(url) == "sqlite" and not (path := sqlite.file_of(url)).exists():
        if not path.parent.is_dir():
            raise StoreUnfit(f"There is no folder {path.parent}; make it, or name another.")
        return None
    database = await open_database(url)
    try:
        async with database.read() as tx:
            if database.dialect == "sqlite":
                tables = [name for (name,) in await tx.rows("SELECT tbl_name FROM sqlite_master")]
            else:
                # Other tables may stand beside ours, in a database that several programs share.
                tables = [name for (name,) in await tx.rows("SELECT to_regclass('alembic_version')") if name]
            if not tables:
                return None
            if "alembic_version" not in tables:
                raise StoreUnfit("The file holds another program's tables; name the right one.")
            found = await tx.rows("SELECT version_num FROM alembic_version")
            return str(found[0][0]) if found else None
    finally:
        await database.close()


async def _run_child(url: str) -> None:
    """Migrate in a process that takes its memory with it. Raises StoreUnfit with its last words."""
    found_in = [str(MIGRATIONS.parent.parent), *filter(None, [os.environ.get("PYTHONPATH")])]
    child = await asyncio.create_subprocess_exec(
        # -P: whatever lies in the current directory is not imported.
        *(sys.executable, "-P", "-m", "storage.migrate", "-"),
        env={**os.environ, "PYTHONPATH": os.pathsep.join(found_in)},
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.DEVNULL,
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        _, said = await child.communicate(url.encode())
    finally:
        if child.returncode is None:
            child.kill()
            await child.wait()
    if child.returncode:
        last = said.decode(errors="replace").strip().rpartition("\n")[2]
        raise StoreUnfit(last or f"The migration ended with code {child.returncode}; run it by hand.")


def upgrade(url: str, to: str = "head", folder: Path = MIGRATIONS) -> None:
    """Run the migrations up to `to` in this process: all of them are stored, or none.

    Raises StoreUnfit or StoreUnavailable.
    """
    from alembic import command
    from sqlalchemy.exc import DBAPIError

    config = _config(folder)

    def run(connection: Connection) -> None:
        config.attributes["connection"] = connection
        command.upgrade(config, to)

    try:
        _on_sqlite(url, run) if dialect_of(url) == "sqlite" else asyncio.run(_on_postgres(url, run))
    except DBAPIError as error:
        known = sqlite.meaning(error.orig or error)
        if isinstance(known, StoreUnavailable):
            raise known from error
        words = " ".join(str(error.orig).split())
        raise StoreUnfit(f"The migration failed and changed nothing ({words}); ask for help.") from error


def _config(folder: Path) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    config.set_main_option("file_template", "%%(rev)s_%%(slug)s")
    config.set_main_option("path_separator", "os")
    return config


def _on_sqlite(url: str, run: Callable[[Connection], None]) -> None:
    import sqlite3

    from sqlalchemy import create_engine, event
    from sqlalchemy.pool import NullPool

    path = sqlite.file_of(url)
    engine = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(path, timeout=BUSY_S, isolation_level=None),
        poolclass=NullPool,
    )
    # The driver begins no transaction before CREATE TABLE by itself.
    event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN IMMEDIATE"))
    with engine.connect() as connection:
        run(connection)


async def _on_postgres(url: str, run: Callable[[Connection], None]) -> None:
    import asyncpg
    from sqlalchemy.ext.asyncio import create_async_engine
    from sqlalchemy.pool import NullPool

    async def connect() -> Any:
        return await asyncpg.connect(url, server_settings={"lock_timeout": str(round(BUSY_S * 1000))})

    engine = create_async_engine("postgresql+asyncpg://", async_creator=connect, poolclass=NullPool)
    async with engine.connect() as connection:
        await connection.run_sync(run)


def begin_migration(words: str, folder: Path = MIGRATIONS) -> None:
    """Write the next numbered, empty migration into the folder."""
    from alembic import command

    command.revision(_config(folder), message=words, rev_id=f"{int(HEAD) + 1:04}")


async def _print_dump(url: str) -> None:
    database = await open_database(url)
    try:
        sys.stdout.write(await dump(database))
    finally:
        await database.close()


def main(arguments: list[str]) -> int:
    """Do what the command line asks; 0 done, 1 something is wrong, 2 asked wrongly."""
    parser = argparse.ArgumentParser(prog="python -m storage.migrate", description=__doc__)
    parser.add_argument("url", nargs="?", help="sqlite:////path/coldjar.db, postgresql://… or -")
    parser.add_argument("--dump", action="store_true", help="print the tables")
    parser.add_argument("--new", metavar="WORDS", help="begin a migration")
    asked = parser.parse_args(arguments)
    if asked.new:
        begin_migration(asked.new)
        return 0
    if not asked.url:
        parser.error("name the store's address")
    url = sys.stdin.read().strip() if asked.url == "-" else asked.url
    try:
        asyncio.run(_print_dump(url)) if asked.dump else upgrade(url)
    except ColdjarError as error:
        sys.stderr.write(f"{error}\n")
        return 2 if isinstance(error, AskedWrongly) else 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
