"""What the store asks of a database engine: one connection, and transactions on it."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import Any, Protocol, TypeAlias

from bot.model.errors import ColdjarError

Statement: TypeAlias = tuple[str, Sequence[tuple[Any, ...]]]  # with the rows that it is run for
Look: TypeAlias = tuple[str, tuple[Any, ...]]  # a SELECT with its values
Found: TypeAlias = list[tuple[Any, ...]]


class Refused(ColdjarError):
    """The database itself refuses to change or remove what is on record."""


class Disk(Enum):
    """When the disk holds what a transaction wrote; a kill loses nothing that was committed.

    NOW: when its block ends. LATER: once `Database.on_disk` has returned, so that the next block may run
    meanwhile. NEVER: some time; a power cut may lose it.
    """

    NOW = "now"
    LATER = "later"
    NEVER = "never"


class Session(Protocol):
    """One connection of an engine. It raises the driver's own errors; `known` says what they mean."""

    @property
    def lost(self) -> bool:
        """Whether no statement can be sent any more."""
        ...

    async def begin(self, disk: Disk) -> None:
        """Open a transaction, at the latest with its first statement.

        The writer's holds the store's lock, a reader's one view of it. Its commit waits for the disk where
        `disk` is NOW, and may where it is LATER.
        """
        ...

    async def commit(self, statements: Sequence[Statement]) -> None:
        """Return once everybody sees what the transaction wrote, these as by `run_all` before the end."""
        ...

    async def on_disk(self) -> None:
        """Return once everything that was committed and not NEVER is on disk."""
        ...

    async def rollback(self) -> None:
        """Leave no transaction open, also where none was."""
        ...

    async def close(self) -> None:
        """Leave nothing open; a transaction is undone."""
        ...

    async def claim(self) -> bool:
        """Return whether this connection is the store's one writer until it closes."""
        ...

    async def rows(self, sql: str, values: tuple[Any, ...]) -> Found:
        """As `Tx.rows`."""
        ...

    async def rows_of(self, looks: Sequence[Look]) -> list[Found]:
        """As `rows` for each of these, in as few hops as the engine allows."""
        ...

    async def run(self, sql: str, values: tuple[Any, ...]) -> int:
        """As `Tx.run`."""
        ...

    async def run_all(self, statements: Sequence[Statement]) -> None:
        """Run these statements in order, each for all its rows, in as few hops as the engine allows."""
        ...

    def among(self, column: str, place: str) -> str:
        """As `Tx.among`."""
        ...

    def known(self, error: Exception) -> ColdjarError | None:
        """Say what a driver's error means to people; None stands for a mistake of the program."""
        ...
