"""Messages from a file, one JSON object a line; texts out as lines of the same sort."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from pydantic import Field, ValidationError, field_validator

from ..model.base import Frozen
from ..model.errors import AskedWrongly
from ..model.message import Outgoing
from ..model.plainly import plainly
from ..model.times import iso_utc, us_of_iso

INSTANT = "2026-10-12T09:17:00Z"


class Line(Frozen):
    """One line in. `at` alone lets time go by. Instants are ISO 8601 with an offset."""

    at: str
    channel: str | None = None
    from_: str | None = Field(None, alias="from")
    text: str = ""
    id: str | None = None
    sent_at: str | None = None
    photo: str | None = None
    caption: str = ""
    position: tuple[float, float] | None = None
    press: str | None = None
    reply_to: str | None = None

    @field_validator("at", "sent_at")
    @classmethod
    def _instant(cls, text: str | None) -> str | None:
        if text is not None:
            try:
                us_of_iso(text)
            except ValueError as problem:
                why = f"{text[:40]!r} is no instant with its offset; write it like {INSTANT}"
                raise ValueError(why) from problem
        return text

    @field_validator("position")
    @classmethod
    def _on_earth(cls, place: tuple[float, float] | None) -> tuple[float, float] | None:
        if place is not None and not (abs(place[0]) <= 90 and abs(place[1]) <= 180):
            raise ValueError("a position is [latitude, longitude] in degrees")
        return place

    @property
    def at_us(self) -> int:
        """When it arrives, in microseconds UTC."""
        return us_of_iso(self.at)


def read_line(text: str, number: int) -> Line:
    """The line. Raises AskedWrongly with its number and what is wrong."""
    try:
        line = Line.model_validate_json(text)
    except ValidationError as problem:
        first = problem.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        why = f"{place}: {plainly(first)}" if place else "it is no JSON object; write one in { }"
        raise AskedWrongly(f"Line {number} of the script: {why}.") from problem
    if line.channel is None and (line.text or line.photo or line.press or line.position):
        raise AskedWrongly(
            f"Line {number} of the script says something but no channel; add channel and from."
        )
    if line.channel is not None and line.from_ is None:
        raise AskedWrongly(f"Line {number} of the script has no sender; add from.")
    return line


class ReplayChannel:
    """Stands for one channel: every text sent becomes one JSON line."""

    def __init__(self, name: str, now_us: Callable[[], int], write: Callable[[str], None]) -> None:
        self.name = name
        self._now_us = now_us
        self._write = write

    async def send(self, text: Outgoing) -> None:
        """The text is written out in the shape that programs read."""
        self._write(json.dumps(as_line(text, self._now_us()), ensure_ascii=False))


def as_line(text: Outgoing, at_us: int) -> dict[str, Any]:
    """A text sent, in the shape of the output reference."""
    return {
        "at": iso_utc(at_us),
        "channel": text.channel,
        "to": text.account,
        "person": text.person,
        "text": text.text,
        "asks": text.asks,
        "choices": [choice.model_dump() for choice in text.choices],
        "alert": text.alert.model_dump() if text.alert is not None else None,
        "files": list(text.files),
    }
