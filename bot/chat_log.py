"""A conversation as its person sees it, read from the store."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import TypeAlias

from storage import reading
from storage.database import Database

from .dialogue.page_line import LINK_MARK, TOO_OLD
from .model.message import Outgoing
from .ports import LogLine

LinkOf: TypeAlias = Callable[[Outgoing], Awaitable[str | None]]
BELOW = "open it below."


class StoredLog:
    """The chat log over an open store."""

    def __init__(self, database: Database, link_of: LinkOf) -> None:
        """`link_of` gives the link that a text holds, if any: it does not stand in the store."""
        self._database = database
        self._link_of = link_of

    async def recent(self, address: str, limit: int) -> list[LogLine]:
        """The last `limit` lines, both ways, oldest first."""
        async with self._database.read() as tx:
            raws, sent = await reading.conversation(tx, address, limit)
        labels = {
            (f"out:{text.row}", choice.id): _label(text, choice.id)
            for text in sent
            for choice in text.choices
        }
        lines = [_incoming(key, at, held, labels) for key, at, held in raws] + [
            await self._outgoing(text) for text in sent
        ]
        return sorted(lines, key=lambda line: (line.at_us, line.outgoing, line.row))[-limit:]

    async def sent_after(self, address: str, row: int) -> list[LogLine]:
        """What was queued for this address after that outbox row, oldest first."""
        async with self._database.read() as tx:
            sent = await reading.sent_after(tx, address, row)
        return [await self._outgoing(text) for text in sent]

    async def drawing(self, address: str, row: int) -> str | None:
        """The SVG of the text of that outbox row, None where this address was sent none."""
        async with self._database.read() as tx:
            text = await reading.sent(tx, address, row)
        return None if text is None else text.drawing

    async def _outgoing(self, text: Outgoing) -> LogLine:
        line = _outgoing(text)
        if LINK_MARK not in text.text:
            return line
        link = await self._link_of(text)
        words = BELOW if link is not None else TOO_OLD
        return replace(line, text=text.text.replace(LINK_MARK, words), link=link)


def _label(text: Outgoing, chosen: str) -> str:
    digits = {choice.id: digit for digit, choice in enumerate(text.choices, 1)}
    label = next(choice.label for choice in text.choices if choice.id == chosen)
    return f"{digits[chosen]} {label}"


def _incoming(key: str, at_us: int, text: str, labels: dict[tuple[str, str], str]) -> LogLine:
    """A press is shown with the words of its button, as it was when it was pressed."""
    held = json.loads(text)
    photos = tuple(file.get("name") or file["sha256"][:8] for file in held.get("attachments", ()))
    press = held.get("press") or ""
    said = held.get("text") or labels.get((held.get("reply_to") or "", press), press)
    message_id = key.partition(":")[2]
    return LogLine(
        f"in:{message_id}", 0, at_us, False, said, photos=photos, place=_place(held.get("position"))
    )


def _place(position: dict[str, float] | None) -> str | None:
    if position is None:
        return None
    lat, lon, within = position["lat"], position["lon"], position.get("accuracy_m")
    place = f"{abs(lat):.5f}{'N' if lat >= 0 else 'S'} {abs(lon):.5f}{'E' if lon >= 0 else 'W'}"
    return place if within is None else f"{place}, within {within:.0f} m"


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
        drawn=text.drawing is not None,
    )
