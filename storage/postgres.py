"""PostgreSQL behind the unit of work: one connection.

SQLSTATE codes: PostgreSQL manual, appendix A.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from typing import Any

import asyncpg

from bot.model.errors import AskedWrongly, ColdjarError, Conflict, StoreUnavailable, StoreUnfit

from .engine import Disk, Found, Look, Refused, Session, Statement

CONNECT_S = 10.0
STATEMENT_S = 60.0  # a statement unanswered for so long is given up
WRITER_LOCK = 0x636F6C646A6172  # any 64-bit number that nobody else locks
READ_ONLY = "25006"
CONFLICT = "23505"
REFUSED = "CJ001"  # raised by the append-only triggers; the server itself has no class CJ

_AGAIN = "The database did not take it; check the database server and send again."
_LOST = "The connection to the database was lost; check the database server and send again."
_LOCKED = "The store is locked by another program; close that program and send again."
_CHANGED = "The store's tables were changed meanwhile; send again."
_USER = "The database does not let this user in or at its tables; correct the store's address or the grants."
_DAMAGED = "The database is damaged; stop the service and restore the last backup."
# A whole class by its two characters, one code by its five; the five win.
MEANINGS: dict[str, tuple[type[ColdjarError], str]] = {
    "08": (StoreUnavailable, _LOST),
    READ_ONLY: (StoreUnavailable, "The database may only be read; name the server that takes writes."),
    "25P03": (StoreUnavailable, "The database cut off an idle transaction; send again."),
    "25P04": (StoreUnavailable, "The database cut off a long transaction; send again."),
    "28": (StoreUnfit, _USER),
    "3D": (StoreUnfit, "There is no such database; create it or correct the store's address."),
    "40": (StoreUnavailable, "The database undid a write that stood in another's way; send again."),
    "42501": (StoreUnfit, _USER),
    "53": (StoreUnavailable, "The database lacks space, memory or connections; free some and send again."),
    "55P03": (StoreUnavailable, _LOCKED),
    "57": (StoreUnavailable, "The database is stopping or cut the statement off; send again."),
    "58": (StoreUnavailable, _AGAIN),
    "72": (StoreUnavailable, "The view that was read is too old; send again."),
    "F0": (StoreUnavailable, _AGAIN),
    "XX": (StoreUnavailable, _AGAIN),
    "XX001": (StoreUnfit, _DAMAGED),
    "XX002": (StoreUnfit, _DAMAGED),
}


class _PostgresSession:
    """One connection, one statement at a time."""

    def __init__(self, connection: asyncpg.Connection, writes: bool) -> None:
        self._connection = connection
        self._writes = writes
        self._begin = "BEGIN" if writes else "BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY"

    @property
    def lost(self) -> bool:
        closed: bool = self._connection.is_closed()
        return closed

    async def begin(self, disk: Disk) -> None:
        relaxed = "; SET LOCAL synchronous_commit = off" if disk is Disk.NEVER else ""
        await self._connection.execute(f"{self._begin}{relaxed}")

    async def commit(self, statements: Sequence[Statement]) -> None:
        await self.run_all(statements)
        # A spoilt transaction answers COMMIT with ROLLBACK, and with no error.
        if (answer := await self._connection.execute("COMMIT")) != "COMMIT":
            raise StoreUnavailable(f"The database answered {answer}, nothing is stored; send again.")

    async def on_disk(self) -> None:
        """Nothing to do: each commit that counts has waited for the disk."""

    async def rollback(self) -> None:
        # Sent in any case: after a cut BEGIN the driver does not know whether the server began.
        await self._connection.execute("ROLLBACK")

    async def close(self) -> None:
        try:
            await self._connection.close(timeout=CONNECT_S)
        except (OSError, asyncpg.PostgresError, asyncpg.InterfaceError):
            self._connection.terminate()  # the goodbye did not get through

    async def claim(self) -> bool:
        return bool(await self._connection.fetchval("SELECT pg_try_advisory_lock($1)", WRITER_LOCK))

    async def rows(self, sql: str, values: tuple[Any, ...]) -> Found:
        return [tuple(row) for row in await self._connection.fetch(sql, *values)]

    async def rows_of(self, looks: Sequence[Look]) -> list[Found]:
        return [await self.rows(sql, values) for sql, values in looks]

    async def run(self, sql: str, values: tuple[Any, ...]) -> int:
        return int((await self._connection.execute(sql, *values)).rpartition(" ")[2])

    async def run_all(self, statements: Sequence[Statement]) -> None:
        for sql, rows in statements:
            await self._connection.executemany(sql, rows)

    def among(self, column: str, place: str) -> str:
        # Not IN (SELECT …): for that the planner assumes 100 texts and reads small tables whole.
        return f"{column} = ANY (ARRAY(SELECT jsonb_array_elements_text({place}::jsonb)))"

    def known(self, error: Exception) -> ColdjarError | None:
        if isinstance(error, ColdjarError):
            return error
        if getattr(error, "sqlstate", None) == READ_ONLY and not self._writes:
            return None  # a write in a reader's block is a mistake of the program
        if isinstance(error, (asyncpg.InterfaceError, asyncpg.InternalClientError)) and self.lost:
            return StoreUnavailable(_LOST)
        return meaning(error)


def meaning(error: Exception) -> ColdjarError | None:
    """Say what a driver's error means to people; None stands for a mistake of the program."""
    if isinstance(error, OSError):  # also TimeoutError, name look-up and TLS
        return StoreUnavailable(_LOST)
    if isinstance(error, (asyncpg.InvalidCachedStatementError, asyncpg.OutdatedSchemaCacheError)):
        return StoreUnavailable(_CHANGED)
    if not isinstance(error, asyncpg.PostgresError):
        return None
    code = error.sqlstate or ""
    if code == CONFLICT:
        return Conflict(f"That is already on record ({error.constraint_name}); read it before writing again.")
    if code == REFUSED:
        return Refused(f"What is on record stays ({error.message}); add a correction.")
    kind, sentence = MEANINGS.get(code) or MEANINGS.get(code[:2]) or (None, "")
    return kind(sentence) if kind else None


def opener(url: str, busy_s: float) -> Callable[[bool], Awaitable[Session]]:
    """Return what opens a connection to this database, for the writer or for a reader."""
    return lambda writes: connect(url, writes, busy_s)


async def connect(url: str, writes: bool, busy_s: float) -> Session:
    """Return a connection to a database that exists. Raises StoreUnfit or StoreUnavailable."""
    try:
        connection = await asyncpg.connect(
            url,
            timeout=CONNECT_S,
            command_timeout=STATEMENT_S,
            server_settings={
                "application_name": "coldjar",
                "lock_timeout": str(round(busy_s * 1000)),
                "synchronous_commit": "on",
            },
        )
    except (asyncpg.ClientConfigurationError, ValueError) as error:
        raise AskedWrongly(f"The store's address cannot be read ({error}); correct it.") from error
    except asyncpg.TargetServerAttributeNotMatched as error:
        raise StoreUnavailable(MEANINGS[READ_ONLY][1]) from error
    except Exception as error:
        known = meaning(error)
        if known is None:
            raise
        raise known from error
    if connection.get_settings().server_encoding != "UTF8":
        await connection.close()
        raise StoreUnfit("The database does not store UTF-8 text; create it with ENCODING 'UTF8'.")
    return _PostgresSession(connection, writes)
