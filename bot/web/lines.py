"""A line of a conversation, as the log shows it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TypedDict
from zoneinfo import ZoneInfo

from bot.ports import LogLine

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class ShownChoice(TypedDict):
    """A button: what it sends, and its words with their digit in front."""

    id: str
    label: str


class ShownLine(TypedDict):
    """What the template and the script both draw a line from. `at` is ISO 8601 with its offset."""

    key: str
    row: int
    at: str
    day: str
    time: str
    who: str
    text: str
    asks: bool
    urgent: bool
    more: list[str]
    link: str | None
    drawing: str | None
    choices: list[ShownChoice]


def shown(line: LogLine, zone: ZoneInfo) -> ShownLine:
    """Return the line with its instant in the unit's zone."""
    at = (EPOCH + timedelta(microseconds=line.at_us)).astimezone(zone)
    return {
        "key": line.key,
        "row": line.row,
        "at": at.isoformat(timespec="seconds"),
        "day": day_of(at),
        "time": f"{at:%H:%M}",
        "who": "line" if line.outgoing else "you",
        "text": _without_list(line),
        "asks": line.asks is not None,
        "urgent": line.urgent,
        "more": _more(line),
        "link": line.link,
        "drawing": f"/chat/drawing/{line.row}" if line.drawn else None,
        "choices": [
            {"id": choice.id, "label": f"{digit} {choice.label}"}
            for digit, choice in enumerate(line.choices, start=1)
        ],
    }


def _without_list(line: LogLine) -> str:
    """Return the text without the choices at its end: here they are buttons."""
    listed = " ".join(f"{digit} {choice.label}" for digit, choice in enumerate(line.choices, start=1))
    return line.text.removesuffix(listed).rstrip() if listed else line.text


def day_of(at: datetime) -> str:
    """Return the heading over a day. The offset is in it: after a clock change comes a new heading."""
    return f"{at:%a} {at.day} {at:%b %Y} UTC{at.isoformat()[-6:]}"


def open_questions(lines: list[ShownLine]) -> set[str]:
    """Return the keys of lines whose buttons still stand.

    Those are the last line sent that is not urgent, where it asks or offers, and urgent ones after it.
    """
    standing: set[str] = set()
    for line in reversed([line for line in lines if line["who"] == "line"]):
        if line["asks"] or line["choices"]:
            standing.add(line["key"])
        if not line["urgent"]:
            break
    return standing


def _more(line: LogLine) -> list[str]:
    photos = len(line.photos)
    told = [f"{photos} photo" + "s" * (photos > 1)] if photos else []
    return [*told, line.place] if line.place else told
