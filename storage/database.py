"""The unit of work: one transaction at a time writes, snapshots read, on either engine.

SQL is plain and written once; $1, $2, … stand for its values and appear nowhere else in it. A failed
statement spoils its whole transaction, on both engines alike: later statements of the block raise the
same error, and so does the end of the block.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable, Coroutine, Iterator, Sequence
from contextlib import asynccontextmanager, contextmanager, suppress
from typing import Any, TypeVar

from bot.model.errors import AskedWrongly, StoreUnavailable

from .engine import Disk, Found, Look, Session, Statement

T = TypeVar("T")
READERS = 4  # connections beside the writer's; a fifth reader waits for one
OVER = "This transaction is over: open another block."
CUT = "A write was cut short and nothing of it is stored; send again."


class Tx:
    """One open transaction: one statement at a time, none after its block.

    Raises StoreUnavailable (send again), Conflict (a unique key already stands), Refused (it is on
    record for good) or StoreUnfit; a mistake of the program passes through as the driver's own error.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._stop: Exception | None = None
        self._together = False
        self._waiting: list[Statement] = []  # they go with the next statement, or with the commit

    async def rows(self, sql: str, *values: Any) -> Found:
        """Return all rows of a SELECT, or of a statement with RETURNING."""
        return await self._said((await self._ready()).rows(sql, values))

    async def rows_of(self, looks: Sequence[Look]) -> list[Found]:
        """Return all rows of each of these SELECTs; they go to the database at once."""
        return await self._said((await self._ready()).rows_of(looks)) if looks else []

    async def run(self, sql: str, *values: Any) -> int:
        """Return how many rows were touched; the first word is INSERT, UPDATE or DELETE."""
        return await self._said((await self._ready()).run(sql, values))

    async def run_many(self, sql: str, rows: Sequence[tuple[Any, ...]]) -> None:
        """Run one statement for each row of values; inside `together`, later."""
        if rows and self._together:
            self._waiting.append((sql, rows))
        elif rows:
            await self._said((await self._ready()).run_all([(sql, rows)]))

    @contextmanager
    def together(self) -> Iterator[None]:
        """All `run_many` of the block, and only they, go to the database at once: with what comes next.

        That is most often the commit, whose hop they then share; it raises what they raise. A block that is
        left by an error spoils the transaction: not all that goes together was named.
        """
        self._together = True
        try:
            yield
        except BaseException as error:
            cut = StoreUnavailable(CUT)
            self._stop = self._stop or (error if isinstance(error, Exception) else cut)
            raise
        finally:
            self._together = False

    def among(self, column: str, place: str) -> str:
        """Return a condition: the column's text is one of the JSON array of texts in `place` ("$1").

        Both engines look each text up in the column's index, however many there are.
        """
        return self._session.among(column, place)

    async def _ready(self) -> Session:
        if self._together:
            raise RuntimeError("Only run_many stands in a block of statements that go together.")
        if self._stop is not None:
            raise self._stop
        waiting, self._waiting = self._waiting, []
        if waiting:
            await self._said(self._session.run_all(waiting))
        return self._session

    async def _said(self, call: Awaitable[T]) -> T:
        """Return what the call returns; its error, in our words, then stands for the whole block."""
        try:
            return await call
        except Exception as error:
            meaning = self._session.known(error)
            self._stop = meaning or error
            if meaning is None:
                raise
            raise meaning from error
        except asyncio.CancelledError:
            self._stop = StoreUnavailable(CUT)
            raise

    async def _begin(self, disk: Disk) -> None:
        await self._said(self._session.begin(disk))

    async def _commit(self) -> None:
        if self._stop is not None:
            raise self._stop
        await self._said(self._session.commit(self._waiting))

    async def _end(self) -> None:
        """Undo, and take no more statements; a connection that cannot undo is closed."""
        self._stop = RuntimeError(OVER)
        try:
            await self._session.rollback()
        except Exception:  # noqa: BLE001 - why it is undone is on its way up; closing undoes as well
            await self._session.close()


class Database:
    """One store, open. `dialect` is "sqlite" or "postgres". Made by `open_database`."""

    def __init__(self, url: str, connect: Callable[[bool], Awaitable[Session]]) -> None:
        """`connect(writes)` opens one connection, for the writer or for a reader."""
        self.url = url  # for a child to open; it may hold a password
        self.dialect = dialect_of(url)
        self._connect = connect
        self._writing = asyncio.Lock()
        self._syncing: asyncio.Task[None] | None = None  # what the disk was asked last
        self._writer: Session | None = None
        self._claimed = False
        self._seats = asyncio.Semaphore(READERS)
        self._idle: list[Session] = []
        self._closed = False
        self.refused: StoreUnavailable | None = None  # why it took no write; None once one is on disk again

    @asynccontextmanager
    async def write(self, *, disk: Disk = Disk.NOW) -> AsyncIterator[Tx]:
        """Store the block whole once it has ended well, and nothing of it on any other exit.

        One block at a time; a block inside a block of the same task never gets its turn.
        A cancellation during the commit arrives after it: the block may then be stored.
        """
        with self._noted(disk is Disk.NOW):
            async with self._writing, _transaction(await self._writing_session(), disk) as tx:
                yield tx

    async def on_disk(self) -> None:
        """Return once everything committed so far is on disk, in the order of asking.

        It is asked beside what was asked before: a disk takes both in at once. Raises StoreUnavailable where
        it failed, here or in what is waited for: what was committed then may be lost by a power cut.
        """
        self._refuse_if_closed()
        if self._writer is None:
            return  # nothing was written
        with self._noted(True):
            self._syncing = asyncio.create_task(_synced(self._writer, self._syncing))
            await to_the_end(self._syncing)

    @contextmanager
    def _noted(self, on_disk: bool) -> Iterator[None]:
        """Whether the store takes writes is known from the last one that was to be on disk, or failed."""
        try:
            yield
        except StoreUnavailable as problem:
            self.refused = problem
            raise
        if on_disk:
            self.refused = None

    @asynccontextmanager
    async def read(self) -> AsyncIterator[Tx]:
        """Show one unchanging view of the store, as of the block's first statement; it cannot write."""
        async with self._seats:
            session = await self._reading_session()
            try:
                async with _transaction(session, Disk.NOW) as tx:
                    yield tx
            finally:
                self._idle.append(session)

    async def claim_writer(self) -> bool:
        """Return whether this process is the store's one writer from now on.

        A writer that lost its connection claims again before it writes again.
        """
        async with self._writing:
            session = await self._writing_session()
            self._claimed = await Tx(session)._said(session.claim())
            return self._claimed

    async def close(self) -> None:
        """Close all connections, once the blocks now running have ended."""
        async with self._writing:
            self._closed = True
            for _ in range(READERS):
                await self._seats.acquire()
            for session in [*self._idle, *([self._writer] if self._writer else [])]:
                await session.close()
            self._idle, self._writer = [], None
            for _ in range(READERS):
                self._seats.release()

    async def _writing_session(self) -> Session:
        self._refuse_if_closed()
        if self._writer is None or self._writer.lost:
            return await to_the_end(self._open_writer())
        return self._writer

    async def _open_writer(self) -> Session:
        if self._writer is not None:
            await self._writer.close()
        session = await self._connect(True)
        if self._claimed and not await session.claim():
            await session.close()
            raise StoreUnavailable("Another service writes this store now; stop one of the two.")
        self._writer = session
        return session

    async def _reading_session(self) -> Session:
        self._refuse_if_closed()
        while True:
            while self._idle:
                session = self._idle.pop()
                if not session.lost:
                    return session
                await to_the_end(session.close())
            await to_the_end(self._open_reader())

    async def _open_reader(self) -> None:
        self._idle.append(await self._connect(False))

    def _refuse_if_closed(self) -> None:
        if self._closed:
            raise RuntimeError("This store is closed: open it again.")


async def open_database(url: str, *, busy_s: float = 5.0, writes: bool = True) -> Database:
    """Return the store at `url`, its writer connected, or only a reader; it is not migrated.

    "sqlite:////path/coldjar.db" or "postgresql://…". `busy_s` is how long, in seconds, a statement
    waits for another program's lock. Raises StoreUnfit (missing, not a store) or StoreUnavailable.
    """
    database = _database(url, busy_s)
    try:
        await (database._writing_session() if writes else database._open_reader())
    except BaseException:
        await to_the_end(database.close())
        raise
    return database


def _database(url: str, busy_s: float) -> Database:
    """Load an engine's driver only where it is used."""
    if dialect_of(url) == "sqlite":
        from .sqlite import opener
    else:
        from .postgres import opener
    return Database(url, opener(url, busy_s))


def dialect_of(url: str) -> str:
    """Return "sqlite" or "postgres". Raises AskedWrongly."""
    if url.startswith("sqlite:///"):
        return "sqlite"
    if url.startswith(("postgresql://", "postgres://")):
        return "postgres"
    raise AskedWrongly("A store's address starts with sqlite:/// or postgresql://; correct it.")


@asynccontextmanager
async def _transaction(session: Session, disk: Disk) -> AsyncIterator[Tx]:
    tx = Tx(session)
    try:
        await tx._begin(disk)
        yield tx
        await to_the_end(tx._commit())
    except BaseException:
        await to_the_end(tx._end())
        raise
    tx._stop = RuntimeError(OVER)


async def _synced(session: Session, before: asyncio.Task[None] | None) -> None:
    """What was committed is on disk, and what was asked before is too: it failed with that otherwise."""
    waited_for = None if before is None or before.done() else before
    await Tx(session)._said(session.on_disk())
    if waited_for is not None:
        await waited_for


async def to_the_end(work: Coroutine[Any, Any, T] | asyncio.Task[T]) -> T:
    """Let the work run to its end even where its caller is cancelled; the cancellation follows it."""
    task = asyncio.ensure_future(work)
    try:
        return await asyncio.shield(task)
    except asyncio.CancelledError:
        while not task.done():
            with suppress(asyncio.CancelledError):
                await asyncio.wait({task})
        if not task.cancelled():
            task.exception()  # taken note of: the cancellation is what the caller hears
        raise
