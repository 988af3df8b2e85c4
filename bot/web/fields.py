"""From the fields of a request to what was said. Pure: a field that cannot be used is refused."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from bot.model.message import SharedPosition

from .parts import Refusal

MESSAGE_ID = re.compile(r"[A-Za-z0-9-]{8,64}")
EPOCH_MS = re.compile(r"[0-9]{1,14}")
NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,20})?(e[+-]?[0-9]{1,2})?", re.IGNORECASE)
UNKEEPABLE = re.compile("[\x00\ud800-\udfff]")  # a store of UTF-8 text cannot hold these
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
LATEST_US = (datetime(2200, 1, 1, tzinfo=UTC) - EPOCH) // timedelta(microseconds=1)
SHORT_CHARS = 200
KNOWN = frozenset({"id", "text", "sent_at", "press", "reply_to", "lat", "lon", "accuracy", "who"})


@dataclass(frozen=True)
class Said:
    """What a person said in one message, without its files. `sent_us` is UTC microseconds."""

    id: str
    text: str = ""
    sent_us: int | None = None
    press: str | None = None
    reply_to: str | None = None
    position: SharedPosition | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing at all was said in words, by a press or by a position."""
        return not (self.text or self.press or self.position)


def read_said(fields: Mapping[str, str], text_chars: int) -> Said | Refusal:
    """Return what was said, or why it cannot be used. An empty field is an absent one."""
    told = {name: value for name, value in fields.items() if value != ""}
    if (refusal := _unusable(told, text_chars)) is not None:
        return refusal
    sent_us = read_instant(told["sent_at"]) if "sent_at" in told else None
    if isinstance(sent_us, Refusal):
        return sent_us
    position = read_position(told)
    if isinstance(position, Refusal):
        return position
    return Said(
        id=told["id"],
        text=_as_typed(told.get("text", "")),
        sent_us=sent_us,
        press=told.get("press"),
        reply_to=told.get("reply_to"),
        position=position,
    )


def read_instant(raw: str) -> int | Refusal:
    """Return UTC microseconds from ISO 8601 with an offset, or from milliseconds since 1970."""
    if EPOCH_MS.fullmatch(raw):
        at_us = int(raw) * 1000
    else:
        try:
            at = datetime.fromisoformat(raw)
        except ValueError:
            return _bad("The time of sending is not a time; open the log again.")
        if at.tzinfo is None:
            return _bad("The time of sending has no offset from UTC; open the log again.")
        at_us = (at - EPOCH) // timedelta(microseconds=1)
    if 0 <= at_us < LATEST_US:
        return at_us
    return _bad("The time of sending is out of range; set the clock of the phone.")


def read_position(told: Mapping[str, str]) -> SharedPosition | Refusal | None:
    """Return the position the device sent, None where it sent none, or why it is not one."""
    if "lat" not in told and "lon" not in told and "accuracy" not in told:
        return None
    if not all(NUMBER.fullmatch(told.get(name, "")) for name in ("lat", "lon")):
        return _bad("That position lacks a latitude or a longitude; share it again or type it.")
    lat, lon = float(told["lat"]), float(told["lon"])
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        return _bad("That position is not on the globe; share it again or type it.")
    if "accuracy" not in told:
        return SharedPosition(lat=lat, lon=lon)
    if not NUMBER.fullmatch(told["accuracy"]) or not 0 <= float(told["accuracy"]) < 1e8:
        return _bad("The accuracy of that position is not in metres; share it again or type it.")
    return SharedPosition(lat=lat, lon=lon, accuracy_m=float(told["accuracy"]))


def _unusable(told: Mapping[str, str], text_chars: int) -> Refusal | None:
    """Return what is wrong with the fields as text, or None."""
    if unknown := told.keys() - KNOWN:
        return _bad(f"There is no field {sorted(unknown)[0][:40]!r} here; open the log again.")
    if not MESSAGE_ID.fullmatch(told.get("id", "")):
        return _bad("The message has no id of its own; open the log again and send it from there.")
    if any(UNKEEPABLE.search(value) for value in told.values()):
        return _bad("That text holds characters that cannot be kept; send it again without them.")
    if len(told.get("text", "")) > text_chars:
        return _bad(f"That text is over {text_chars} characters; send it in parts.")
    if any(len(value) > SHORT_CHARS for name, value in told.items() if name != "text"):
        return _bad(f"One of the fields is over {SHORT_CHARS} characters; open the log again.")
    return None


def _as_typed(text: str) -> str:
    """Undo the line ends that form encoding puts in (WHATWG HTML, form-data line breaks)."""
    return text.replace("\r\n", "\n")


def _bad(sentence: str) -> Refusal:
    return Refusal(422, sentence)
