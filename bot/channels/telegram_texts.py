"""Texts as Telegram takes them: cut between sentences, with buttons that name their question."""

from __future__ import annotations

import re

from telegram import BotCommand, InlineKeyboardButton, InlineKeyboardMarkup

from ..model.message import Outgoing

LONGEST = 4096  # UTF-16 units in a text: the Bot API
CAPTION = 1024  # of a photo
DATA_BYTES = 64  # in a button
_ENDS = re.compile(r"(?<=[.!?])\s+|\n+")
MENU = (
    BotCommand("jar", "begin a jar"),
    BotCommand("status", "what of yours is open"),
    BotCommand("skip", "leave the open question not stated"),
    BotCommand("wrong", "take the last answer back"),
    BotCommand("help", "what the open question wants"),
    BotCommand("sos", "tell everybody on the line: no rescue service"),
)


def units(text: str) -> int:
    """How many UTF-16 units a text takes."""
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def cut(text: str, longest: int = LONGEST) -> list[str]:
    """The text in pieces that each fit, cut between sentences, else between words, else where it must be."""
    pieces: list[str] = []
    rest = text.strip()
    while units(rest) > longest:
        at = _place(rest, longest)
        pieces.append(rest[:at].rstrip())
        rest = rest[at:].lstrip()
    return [piece for piece in (*pieces, rest) if piece]


def _place(text: str, longest: int) -> int:
    """Where to cut: behind the last sentence that fits, the last word, or the last character."""
    fits = _fitting(text, longest)
    ends = [match.end() for match in _ENDS.finditer(text, 0, fits + 1) if match.start() <= fits]
    if ends:
        return min(ends[-1], fits + 1)
    space = text.rfind(" ", 1, fits + 1)
    return space if space > 0 else fits


def _fitting(text: str, longest: int) -> int:
    """How many characters of the text take no more than so many units; a surrogate pair stays whole."""
    used = 0
    for place, sign in enumerate(text):
        used += 2 if sign > "\uffff" else 1
        if used > longest:
            return place
    return len(text)


def keyboard(text: Outgoing) -> InlineKeyboardMarkup | None:
    """One button a choice, one below the other, then SKIP and WRONG where a question is open."""
    if text.asks is None or text.ticket is None:
        return None
    rows = [[_button(text, choice.label, choice.id)] for choice in text.choices]
    if text.asks not in ("confirm", "query", "edit", "gave_up", "case_pick"):
        rows.append([_button(text, "SKIP", "skip"), _button(text, "WRONG", "wrong")])
    kept = [[button for button in row if button is not None] for row in rows]
    kept = [row for row in kept if row]
    return InlineKeyboardMarkup(kept) if kept else None


def _button(text: Outgoing, label: str, choice: str) -> InlineKeyboardButton | None:
    """The button, or none where its data would be too long: its word can always be typed."""
    data = f"{text.asks}/{text.ticket}/{choice}"
    if len(data.encode()) > DATA_BYTES:
        data = f"/{text.ticket}/{choice}"
    return InlineKeyboardButton(label, callback_data=data) if len(data.encode()) <= DATA_BYTES else None
