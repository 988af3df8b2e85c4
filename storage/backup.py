"""A running store's tables copied, and put back: SQLite by its online backup, PostgreSQL by its own tools.

SQLite: https://www.sqlite.org/backup.html. PostgreSQL: pg_dump and pg_restore, custom format.
"""

from __future__ import annotations

import asyncio
import os
import sqlite3
from contextlib import closing
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from bot.model.errors import StoreUnavailable, StoreUnfit

from . import sqlite
from .database import dialect_of, open_database

PAGES = 1000  # copied at a time, 4 MB
REST_S = 0.01  # between them, so that the line's own disk work is not kept waiting
NAMES = {"sqlite": "coldjar.db", "postgres": "coldjar.pgdump"}


async def copy_tables(url: str, folder: Path) -> Path:
    """The store as it stood at one instant is a file in this folder, on disk.

    The line goes on meanwhile. Raises StoreUnavailable.
    """
    to = folder / NAMES[dialect_of(url)]
    if dialect_of(url) == "sqlite":
        await asyncio.to_thread(_copy_sqlite, sqlite.file_of(url), to)
    else:
        await _run_tool(url, "pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={to}")
    _sync(to)
    return to


async def restore_tables(folder: Path, url: str) -> None:
    """The store at `url`, empty until now, holds what the copy in this folder holds.

    Raises StoreUnfit where the store is not empty or the copy is of the other engine.
    """
    copy = folder / NAMES[dialect_of(url)]
    if not copy.is_file():
        raise StoreUnfit(f"{folder} holds no copy for this sort of store; name the database it came from.")
    if dialect_of(url) == "sqlite":
        await asyncio.to_thread(_copy_sqlite, copy, sqlite.file_of(url))
        return
    await _refuse_if_filled(url)
    await _run_tool(
        url, "pg_restore", "--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction", copy
    )


def _copy_sqlite(source: Path, to: Path) -> None:
    """An open read keeps the source at one instant, so that no write of the line begins the copy anew."""
    try:
        with (
            closing(
                sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
            ) as one,
            closing(sqlite3.connect(to)) as other,
        ):
            one.execute("BEGIN")
            one.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()
            one.backup(other, pages=PAGES, sleep=REST_S)
            to.chmod(0o600)
    except sqlite3.Error as error:
        raise sqlite.meaning(error) or error from error


async def _refuse_if_filled(url: str) -> None:
    database = await open_database(url)
    try:
        async with database.read() as tx:
            if (await tx.rows("SELECT to_regclass('alembic_version')"))[0][0]:
                raise StoreUnfit("The database holds a store already; name an empty one.")
    finally:
        await database.close()


async def _run_tool(url: str, tool: str, *arguments: str | Path) -> None:
    """The tool has done its work. Its password goes by the environment, which no list of processes shows."""
    parts = urlsplit(url)
    host = f"{parts.username}@" if parts.username else ""
    host += f"[{parts.hostname}]" if ":" in (parts.hostname or "") else parts.hostname or ""
    host += f":{parts.port}" if parts.port else ""
    shown = urlunsplit(parts._replace(netloc=host))
    environment = {**os.environ, **({"PGPASSWORD": parts.password} if parts.password else {})}
    try:
        child = await asyncio.create_subprocess_exec(
            *(tool, f"--dbname={shown}", *map(str, arguments)),
            env=environment,
            stderr=asyncio.subprocess.PIPE,
        )
    except FileNotFoundError as problem:
        raise StoreUnavailable(f"{tool} is not installed; install PostgreSQL's client programs.") from problem
    _, said = await child.communicate()
    if child.returncode:
        last = said.decode(errors="replace").strip().rpartition("\n")[2]
        raise StoreUnavailable(f"{tool} failed ({last}); see to the database and run it again.")


def _sync(file: Path) -> None:
    """Its bytes are on disk."""
    handle = os.open(file, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
