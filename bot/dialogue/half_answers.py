"""Answers that are not whole: the other half of one, a place in words, and that there is none."""

from __future__ import annotations

import re

from ..rules.fields import Field
from .readers.base import squeezed
from .readers.day_forms import DAY_WORDS

_LETTERS = re.compile(r"\s*([NS])\w*[\s,/]*([EW])\w*\W*", re.IGNORECASE)
_PLACE = re.compile(
    r"(?:by|at|on|off|near|next\s+to|beside|alongside|behind|under|between|opposite|north|south|east|west)"
    r"\s+\w{2,}\s*\w\D*",
    re.IGNORECASE,
)
_NOT_KNOWN = frozenset(
    (
        *("none", "unknown", "not known", "not stated", "dunno", "don't know", "dont know", "no idea"),
        *("refused", "n/a", "na", "not applicable"),
    )
)
_MAY_BE_ABSENT = ("seal", "photo", "cooler")  # "no photo" answers for these as SKIP does


def is_half(text: str) -> bool:
    """A unit, "old time", "yesterday", "12 Oct", 12/10: short, and no figure of its own but a day's."""
    return len(text) <= 16 and sum(1 for letter in text if letter.isdigit()) <= (4 if "/" in text else 2)


def joined(field: Field, half: str, text: str) -> tuple[str, ...]:
    """The two halves as one answer, in each way that people finish what they began."""
    both = (f"{half} {text}", f"{text} {half}")
    letters = _LETTERS.fullmatch(text)
    if field.id == "position" and letters is not None and len(parts := half.split()) == 2:
        return (f"{parts[0].rstrip(',')}{letters[1]} {parts[1]}{letters[2]}",)
    if field.reader == "time" and text in ("1", "2"):  # the digits of "Old time or new time?"
        return (f"{half} {'old' if text == '1' else 'new'} time",)
    if field.reader == "cooler":  # "M 46", then "46 F"
        return (*both, f"{half.rpartition(' ')[0]} {text}")
    return both


def is_same_time(half: str, text: str) -> bool:
    """True where a time that was asked for its day is said again without one."""
    return DAY_WORDS.isdisjoint(text.lower().split()) and _digits(half) == _digits(text) != ""


def _digits(text: str) -> str:
    return "".join(letter for letter in text if letter.isdigit())


def is_place(text: str) -> bool:
    """True where the words say by what or off what it was, and hold no figure of a position."""
    return _PLACE.fullmatch(text.strip()) is not None


def says_none(field: Field, text: str) -> bool:
    """True where the field is said to be unknown or absent: it then stays not stated."""
    words = squeezed(text).rstrip(".!")
    absent = words in ("no", "nope") or words.partition(" ")[2] in (field.id, *field.words)
    return words in _NOT_KNOWN or (field.id in _MAY_BE_ABSENT and absent and words.startswith("no"))
