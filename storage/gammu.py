"""The database of gammu-smsd, the program of a USB modem: its own file and tables, never the store's.

Tables and states: gammu-smsd-tables(7) and gammu-smsd-sql(7), version 17, SQLite by libdbi. The program
writes local times, and its triggers UTC.
"""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path
from typing import TypeVar
from urllib.parse import quote

from bot.model.errors import ChannelDown
from bot.model.modem import HeardPart, Letter, SentPart

Found = TypeVar("Found")

BUSY_S = 5.0
# The last texts of this line whose parts are all sent: only then does one leave the outbox.
_LEFT = """CreatorID LIKE 'coldjar %' AND ID > (SELECT MAX(ID) FROM sentitems) - 500
    AND ID NOT IN (SELECT ID FROM outbox)"""


class GammuDatabase:
    """The tables as this line uses them; each method raises ChannelDown where they cannot be used."""

    def __init__(self, path: Path) -> None:
        self._path = path

    async def seen_us(self) -> int | None:
        """When the program last wrote of its phone, None before it ever did."""

        def look(tables: sqlite3.Connection) -> int | None:
            (seen_s,) = tables.execute(
                "SELECT CAST(MAX(strftime('%s', UpdatedInDB)) AS INTEGER) FROM phones"
            ).fetchone()
            return None if seen_s is None else int(seen_s) * 1_000_000

        return await self._with(look)

    async def heard(self, most: int) -> list[HeardPart]:
        """What came in and was not acknowledged, oldest first."""
        sql = """SELECT ID, SenderNumber, Text, Coding = '8bit', UDH, ReceivingDateTime,
            strftime('%s', ReceivingDateTime, 'utc'), strftime('%s', UpdatedInDB)
            FROM inbox WHERE Processed = 'false' ORDER BY ID LIMIT ?1"""

        def look(tables: sqlite3.Connection) -> list[HeardPart]:
            return [_heard(row) for row in tables.execute(sql, (most,))]

        return await self._with(look)

    async def done(self, rows: Sequence[int]) -> None:
        """These are acknowledged, and their words gone from here: codes stand nowhere in clear."""
        sql = "UPDATE inbox SET Processed = 'true', Text = '', TextDecoded = '' WHERE ID = ?1"
        await self._with(lambda tables: tables.executemany(sql, [(row,) for row in rows]).rowcount)

    async def place(self, letter: Letter) -> None:
        """The text is on the program's disk, to be sent; one that may stand there already stands once."""
        await self._with(lambda tables: _place(tables, letter))

    async def sent(self) -> list[SentPart]:
        """What is said of the last texts that were sent; their words are gone from here."""

        def look(tables: sqlite3.Connection) -> list[SentPart]:
            # The program does not wait for a lock, it connects anew: so none is taken for nothing.
            worded = f"Text <> '' AND {_LEFT}"
            if tables.execute(f"SELECT 1 FROM sentitems WHERE {worded}").fetchone():  # noqa: S608 - no values
                tables.execute(f"UPDATE sentitems SET Text = '', TextDecoded = '' WHERE {worded}")  # noqa: S608 - as above
            rows = tables.execute(f"SELECT CreatorID, Status FROM sentitems WHERE {_LEFT} ORDER BY ID")  # noqa: S608 - as above
            return [SentPart(*row) for row in rows]

        return await self._with(look)

    async def _with(self, work: Callable[[sqlite3.Connection], Found]) -> Found:
        return await asyncio.to_thread(self._at_once, work)

    def _at_once(self, work: Callable[[sqlite3.Connection], Found]) -> Found:
        """The work is done in one transaction, committed."""
        address = f"file:{quote(str(self._path.absolute()))}?mode=rw"  # a file that is not there is not made
        try:
            with closing(sqlite3.connect(address, BUSY_S, uri=True)) as tables:
                # So that neither waits for the other's reading; it stays so with the file.
                tables.execute("PRAGMA journal_mode = WAL")
                tables.execute("PRAGMA secure_delete = ON")
                with tables:
                    return work(tables)
        except sqlite3.Error as problem:
            raise ChannelDown(
                f"gammu-smsd's database {self._path} cannot be used ({problem}); see deploy/gammu"
            ) from problem


def _heard(row: tuple[int, str, str, int, str, str, str | None, str]) -> HeardPart:
    id_, sender, text, binary, header, stamp, sent_s, kept_s = row
    return HeardPart(
        row=id_,
        sender=sender,
        octets=_octets(text),
        binary=bool(binary),
        header=_octets(header),
        stamp=stamp,
        sent_us=None if sent_s is None else int(sent_s) * 1_000_000,
        kept_us=int(kept_s) * 1_000_000,
    )


def _octets(told: str) -> bytes:
    """The octets of hex digits; what is none as it stands."""
    try:
        return bytes.fromhex(told)
    except ValueError:
        return told.encode()


def _place(tables: sqlite3.Connection, letter: Letter) -> None:
    tables.execute("BEGIN IMMEDIATE")
    if letter.again:
        sql = """SELECT 1 FROM outbox WHERE CreatorID = ?1
            UNION ALL SELECT 1 FROM sentitems WHERE CreatorID = ?1"""
        if tables.execute(sql, (letter.mark,)).fetchone():
            return
    coding = "Default_No_Compression" if letter.gsm else "Unicode_No_Compression"
    first, *more = [(part.encode("utf-16-be", "replace").hex().upper(), coding) for part in letter.parts]
    # The program compares with its local time where the table's own defaults are UTC: long past suits both.
    sql = """INSERT INTO outbox (Text, Coding, UDH, MultiPart, DestinationNumber, DeliveryReport, CreatorID,
        InsertIntoDB, SendingDateTime, SendingTimeOut) VALUES (?1, ?2, ?3, ?4, ?5, 'yes', ?6,
        datetime('now', 'localtime'), '2000-01-01 00:00:00', '2000-01-01 00:00:00')"""
    head = _header(letter, 1) if more else None
    placed = tables.execute(
        sql, (*first, head, "true" if more else "false", letter.number, letter.mark)
    ).lastrowid
    tables.executemany(
        """INSERT INTO outbox_multipart (ID, SequencePosition, Text, Coding, UDH)
        VALUES (?1, ?2, ?3, ?4, ?5)""",
        [(placed, place, *one, _header(letter, place)) for place, one in enumerate(more, 2)],
    )


def _header(letter: Letter, place: int) -> str:
    """The header that joins parts: 3GPP TS 23.040, 9.2.3.24.1."""
    return bytes((5, 0, 3, letter.reference % 256, len(letter.parts), place)).hex().upper()
