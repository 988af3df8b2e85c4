"""A conversation as its person sees it, read from the store."""

from __future__ import annotations

import json

from storage import reading
from storage.database import Database

from .model.message import Outgoing
from .ports import LogLine


class StoredLog:
    """The chat log over an open store."""

    def __init__(self, database: Database) -> None:
        self._database = database

    async def recent(self, address: str, limit: int) -> list[LogLine]:
        """The last `limit` lines, both ways, oldest first."""
        async with self._database.read() as tx:
            raws, sent = await reading.conversation(tx, address, limit)
        lines = [_incoming(key, at, text) for key, at, text in raws] + [_outgoing(text) for text in sent]
        return sorted(lines, key=lambda line: (line.at_us, line.outgoing, line.row))[-limit:]

    async def sent_after(self, address: str, row: int) -> list[LogLine]:
        """What was queued for this address after that outbox row, oldest first."""
        async with self._database.read() as tx:
            return [_outgoing(text) for text in await reading.sent_after(tx, address, row)]


def _incoming(key: str, at_us: int, text: str) -> LogLine:
    held = json.loads(text)
    position = held.get("position")
    place = f"{position['lat']:.5f} {position['lon']:.5f}" if position else None
    photos = tuple(file.get("name") or file["sha256"][:8] for file in held.get("attachments", ()))
    said = held.get("text") or held.get("press") or ""
    message_id = key.partition(":")[2]
    return LogLine(f"in:{message_id}", 0, at_us, False, said, photos=photos, place=place)


def _outgoing(text: Outgoing) -> LogLine:
    return LogLine(
        key=f"out:{text.row}",
        row=text.row,
        at_us=text.queued_us,
        outgoing=True,
        text=text.text,
        choices=text.choices,
        asks=text.asks,
        urgent=text.alert is not None,
    )
