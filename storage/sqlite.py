"""SQLite behind the unit of work: one connection, and a thread of its own for whatever may wait.

A transaction that waits neither for the disk nor for another program's lock stays in the caller's thread: two
that take turns at the interpreter's lock cost a sixth more. Result codes: https://www.sqlite.org/rescode.html
"""

from __future__ import annotations

import asyncio
import logging
import os
import re
import sqlite3
from collections.abc import Awaitable, Callable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote

import aiosqlite

from bot.model.errors import ColdjarError, Conflict, StoreUnavailable, StoreUnfit

from .engine import Disk, Found, Look, Refused, Session, Statement

log = logging.getLogger("coldjar.store")
T = TypeVar("T")
# A checkpoint costs two syncs and 30 ms. It is made beside the writer's connection, every so many commits;
# the writer makes one itself, and waits for it, only where its log has so many pages of 4 KiB all the same.
CHECKPOINT_COMMITS = 64
CHECKPOINT_PAGES = 32_000
STATEMENTS = 256  # prepared statements that a connection keeps
APPEND_ONLY = "append-only"  # the constraint that stops a REPLACE, as the first migration names it

_READ_ONLY = "The store may only be read; check the disk, and let the service write it."
_LOCKED = "The store is locked by another program; close that program and send again."
_NO_STORE = "The store's file is not a store; name the right one or restore the last backup."
# By primary result code, the low byte of what SQLite reports.
MEANINGS: dict[int, tuple[type[ColdjarError], str]] = {
    sqlite3.SQLITE_PERM: (StoreUnavailable, "The store may not be written; let the service write it."),
    sqlite3.SQLITE_BUSY: (StoreUnavailable, _LOCKED),
    sqlite3.SQLITE_LOCKED: (StoreUnavailable, _LOCKED),
    sqlite3.SQLITE_READONLY: (StoreUnavailable, _READ_ONLY),
    sqlite3.SQLITE_INTERRUPT: (StoreUnavailable, "The store was interrupted; send again."),
    sqlite3.SQLITE_IOERR: (StoreUnavailable, "The store's disk failed; check the disk and send again."),
    sqlite3.SQLITE_CORRUPT: (StoreUnfit, "The store is damaged; restore the last backup."),
    sqlite3.SQLITE_FULL: (StoreUnavailable, "The store's disk is full; free some space and send again."),
    sqlite3.SQLITE_CANTOPEN: (StoreUnavailable, "The store does not open; check the disk and send again."),
    sqlite3.SQLITE_PROTOCOL: (StoreUnavailable, _LOCKED),
    sqlite3.SQLITE_SCHEMA: (StoreUnavailable, "The store's tables were changed meanwhile; send again."),
    sqlite3.SQLITE_NOLFS: (StoreUnavailable, "The store is too large for its disk; move it to another."),
    sqlite3.SQLITE_FORMAT: (StoreUnfit, _NO_STORE),
    sqlite3.SQLITE_NOTADB: (StoreUnfit, _NO_STORE),
}
# After these the connection is opened anew: its file may stand on a disk that was mounted again since.
OF_THE_DISK = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN}
# By extended result code.
CONFLICTS = {
    sqlite3.SQLITE_CONSTRAINT_UNIQUE,
    sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY,
    sqlite3.SQLITE_CONSTRAINT_ROWID,
}


class _Thread(aiosqlite.Connection):
    """A connection with its thread, which takes several statements in one hop too."""

    async def at_once(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Return what this returns, which runs in the thread behind what was asked before."""
        answer: T = await self._execute(work, self._conn)  # type: ignore[no-untyped-call]  # untyped there
        return answer

    def here(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Return what this returns, which runs in the caller's thread; nothing asked before is at work."""
        return work(self._conn)


class Place:
    """Where a store's file stands. After its disk failed every connection is opened anew.

    A disk that is mounted again stands beside the one before, which open files still look at.
    """

    def __init__(self) -> None:
        self.failures = 0


class _SqliteSession:
    """One connection. Its thread takes calls in order, so nothing overtakes a rollback.

    What is called in the caller's thread finds it idle: a block has one statement at a time, and a statement
    that was cut short is waited for by the rollback behind it.

    `beside` is a second connection of a writer's, for its checkpoints.
    """

    def __init__(
        self,
        connection: _Thread,
        journal: Path,
        beside: aiosqlite.Connection | None,
        place: Place,
        busy_s: float,
    ) -> None:
        writes = beside is not None
        self._connection = connection
        self._busy_s = busy_s
        self._journal = journal
        self._place, self._failures = place, place.failures
        self._beside = beside
        self._commits = 0
        self._checkpoint: asyncio.Task[None] | None = None
        self._writes = writes
        self._begin = "BEGIN IMMEDIATE" if writes else "BEGIN"
        self._durable = True
        self._waits = True  # for another program's lock
        self._here = False  # the open transaction runs in the caller's thread
        self._anew = True  # the log may begin anew, and SQLite waits for the disk then
        self._opens: Disk | None = None
        self._closed = False

    @property
    def lost(self) -> bool:
        return self._closed or self._failures != self._place.failures

    async def begin(self, disk: Disk) -> None:
        self._opens = disk  # with the first statement, in one hop
        self._here = self._writes and disk is Disk.LATER and not self._anew
        self._anew = False

    async def _at_once(self, work: Callable[[sqlite3.Connection], T]) -> T:
        """Return what this returns: at once where nothing of the transaction waits, else in the thread."""
        if self._here and self._opens is not None:
            self._here = self._connection.here(self._opened_now)
        return self._connection.here(work) if self._here else await self._connection.at_once(work)

    def _opened_now(self, connection: sqlite3.Connection) -> bool:
        """Return whether the transaction is open; another program has the store locked where it is not."""
        try:
            self._open(connection, waits=False)
        except sqlite3.OperationalError as problem:
            if problem.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                raise
            return False
        return True

    def _open(self, connection: sqlite3.Connection, *, waits: bool = True) -> None:
        """The transaction is open, and its commit waits for the disk or does not."""
        if self._opens is None:
            return
        durable = self._opens is Disk.NOW
        if durable is not self._durable:
            connection.execute(f"PRAGMA synchronous = {'FULL' if durable else 'NORMAL'}")
            self._durable = durable
        if waits is not self._waits:
            connection.execute(f"PRAGMA busy_timeout = {round(self._busy_s * 1000) if waits else 0}")
            self._waits = waits
        connection.execute(self._begin)
        self._opens = None

    async def commit(self, statements: Sequence[Statement]) -> None:
        def commit(connection: sqlite3.Connection) -> None:
            if statements:
                self._run_all(connection, statements)
            connection.commit()

        await self._at_once(commit)
        self._commits += 1
        if self._beside is not None and self._commits >= CHECKPOINT_COMMITS and self._checkpoint is None:
            self._commits = 0
            self._checkpoint = asyncio.create_task(self._checkpointed(self._beside))

    async def _checkpointed(self, beside: aiosqlite.Connection) -> None:
        """What the log holds stands in the file; what cannot be copied now is still in the log."""
        try:
            await beside.execute_fetchall("PRAGMA wal_checkpoint(PASSIVE)")
        except sqlite3.Error as problem:
            self.known(problem)  # a disk tells of a loss once: others may not hear of it
            log.warning("the store's log could not be copied into its file: %s", problem)
        finally:
            self._checkpoint, self._anew = None, True

    async def on_disk(self) -> None:
        # The sync of the write-ahead log is what NORMAL leaves out of a commit. A checkpoint syncs that log
        # itself before it copies from it (https://www.sqlite.org/pragma.html#pragma_synchronous).
        self._refuse_if_lost()
        await asyncio.to_thread(_sync, self._journal)
        self._refuse_if_lost()

    def _refuse_if_lost(self) -> None:
        """Its disk failed since, and a log may stand there now that lacks what it wrote."""
        if self.lost:
            raise StoreUnavailable(MEANINGS[sqlite3.SQLITE_IOERR][1])

    async def rollback(self) -> None:
        await self._connection.rollback()

    async def close(self) -> None:
        if self._closed:
            return
        self._closed = True
        if self._checkpoint is not None:
            await asyncio.wait([self._checkpoint])
        if self._beside is not None:
            await self._beside.close()
        await self._connection.close()

    async def claim(self) -> bool:
        return True  # one machine, one file: BEGIN IMMEDIATE is all the lock there is

    async def rows(self, sql: str, values: tuple[Any, ...]) -> Found:
        return (await self.rows_of([(sql, values)]))[0]

    async def rows_of(self, looks: Sequence[Look]) -> list[Found]:
        def rows_of(connection: sqlite3.Connection) -> list[Found]:
            self._open(connection)
            return [connection.execute(numbered(sql), values).fetchall() for sql, values in looks]

        return await self._at_once(rows_of)

    async def run(self, sql: str, values: tuple[Any, ...]) -> int:
        def run(connection: sqlite3.Connection) -> int:
            self._open(connection)
            return connection.execute(numbered(sql), values).rowcount

        touched = await self._at_once(run)
        if touched < 0:
            raise ValueError(f"Only INSERT, UPDATE and DELETE as first word count what they touch: {sql}")
        return touched

    async def run_all(self, statements: Sequence[Statement]) -> None:
        await self._at_once(lambda connection: self._run_all(connection, statements))

    def _run_all(self, connection: sqlite3.Connection, statements: Sequence[Statement]) -> None:
        self._open(connection)
        for sql, rows in statements:
            connection.executemany(numbered(sql), rows)

    def among(self, column: str, place: str) -> str:
        return f"{column} IN (SELECT value FROM json_each({place}))"  # noqa: S608 - names in the code, no values

    def known(self, error: Exception) -> ColdjarError | None:
        if isinstance(error, ColdjarError):
            return error
        if isinstance(error, OSError):
            self._place.failures += 1
            return StoreUnavailable(MEANINGS[sqlite3.SQLITE_IOERR][1])
        code: int = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_OK)
        if code & 0xFF == sqlite3.SQLITE_READONLY and not self._writes:
            return None  # a write in a reader's block is a mistake of the program
        if code & 0xFF in OF_THE_DISK:
            self._place.failures += 1
        return meaning(error)


def meaning(error: Exception) -> ColdjarError | None:
    """Say what a driver's error means to people; None stands for a mistake of the program."""
    code: int = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_OK)
    if code in CONFLICTS:
        return Conflict(f"That is already on record ({error}); read it before writing again.")
    replacing = code == sqlite3.SQLITE_CONSTRAINT_CHECK and str(error).endswith(APPEND_ONLY)
    if replacing or code == sqlite3.SQLITE_CONSTRAINT_TRIGGER:
        return Refused(f"What is on record stays ({error}); add a correction.")
    kind, sentence = MEANINGS.get(code & 0xFF, (None, ""))
    return kind(sentence) if kind else None


@lru_cache(maxsize=1024)
def numbered(sql: str) -> str:
    """Return the same statement with SQLite's ?1 for $1."""
    return re.sub(r"\$(\d+)", r"?\1", sql)


def _sync(journal: Path) -> None:
    """What was written to the log is on disk. SQLite has no lock on this file that closing would drop."""
    held = os.open(journal, os.O_RDONLY)
    try:
        os.fdatasync(held)
    finally:
        os.close(held)


def file_of(url: str) -> Path:
    """Return the file that "sqlite:////path/coldjar.db" names."""
    return Path(url.removeprefix("sqlite:///"))


def opener(url: str, busy_s: float) -> Callable[[bool], Awaitable[Session]]:
    """Return what opens a connection to this file, for the writer or for a reader."""
    place = Place()
    return lambda writes: connect(url, writes, busy_s, place)


async def connect(url: str, writes: bool, busy_s: float, place: Place) -> Session:
    """Return a connection to a file that exists. Raises StoreUnfit or StoreUnavailable."""
    path = file_of(url)
    if not path.is_file():
        if place.failures:  # it was there: its disk is not mounted just now
            raise StoreUnavailable(MEANINGS[sqlite3.SQLITE_CANTOPEN][1])
        raise StoreUnfit(f"There is no store at {path}; name the right place, or set one up there.")
    connection = await _open(path, busy_s)
    try:
        await _prepare(connection, writes)
        beside = await _open(path, busy_s) if writes else None
    except Exception as error:
        await connection.close()
        raise meaning(error) or error from error
    return _SqliteSession(connection, path.with_name(f"{path.name}-wal"), beside, place, busy_s)


def _address(path: Path) -> str:
    """mode=rw: a file that goes away this instant is not made anew, empty."""
    return f"file:{quote(str(path.absolute()))}?mode=rw"


async def _open(path: Path, busy_s: float) -> _Thread:
    def connect() -> sqlite3.Connection:
        return sqlite3.connect(
            _address(path),
            uri=True,
            timeout=busy_s,
            isolation_level=None,
            cached_statements=STATEMENTS,
            check_same_thread=False,  # one at a time: see `_SqliteSession`
        )

    thread = _Thread(connect, iter_chunk_size=64)
    try:
        await thread
    except sqlite3.Error as error:
        raise meaning(error) or error from error
    return thread


async def _prepare(connection: aiosqlite.Connection, writes: bool) -> None:
    """Make committed mean on disk (FULL), and readers not wait for the writer (WAL)."""
    mode = await connection.execute_fetchall("PRAGMA journal_mode = WAL")
    if list(mode) != [("wal",)]:
        raise StoreUnfit("The store's disk cannot share files between programs; keep it on a local disk.")
    await connection.execute("PRAGMA synchronous = FULL")
    await connection.execute(f"PRAGMA wal_autocheckpoint = {CHECKPOINT_PAGES}")
    await connection.execute("PRAGMA foreign_keys = ON")
    if not writes:
        await connection.execute("PRAGMA query_only = ON")
