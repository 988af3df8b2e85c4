"""Seals read off jars, as people type them: "01 5101 whole 02 5102 cut 1507"."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ..readers.clock_time import looks_like_time
from ..readers.words import NumberTold, read_number

CONDITIONS = {
    **dict.fromkeys(("whole", "intact", "ok", "okay", "good", "unbroken"), "whole"),
    **dict.fromkeys(("cut", "torn", "slit"), "cut"),
    **dict.fromkeys(("lifted", "loose", "peeled"), "lifted"),
    "broken": "broken",
    **dict.fromkeys(("leaking", "leaks", "leaky"), "leaking"),
    **dict.fromkeys(("damaged", "cracked", "chipped"), "damaged"),
}
UNREAD = frozenset(("unread", "unreadable", "illegible"))
_FILLERS = frozenset(("and", "seal", "is", "reads", "jar", "at", "received", "taken"))
_NOT_READ = re.compile(
    r"\b(?:not|cannot be|can't be|cant be)\s+(?:read|readable|seen)\b|\bno\s+seal\b", re.IGNORECASE
)
_SEAL = re.compile(r"[A-Za-z]{0,3}-?[0-9]{1,10}", re.ASCII)
_WARM = re.compile(r"-?[0-9]{1,2}(?:[.,][0-9]+)?[CF]", re.ASCII | re.IGNORECASE)
_JAR = re.compile(r"[A-Za-z]{0,2}-?[0-9]{1,3}", re.ASCII)
# How a line begins that may be one: cheap, because every text is held against it.
LIKELY = re.compile(
    r"\s*[A-Za-z]{0,2}-?\d[\d/+&-]*\s+(?:seal\s+)?"
    r"(?:tape|unread|illegible|not|no|can|cant|whole|intact|cut|lifted|broken|leak\w*|damaged|[A-Za-z]{0,3}-?\d{1,10})\b",
    re.IGNORECASE | re.ASCII,
)


@dataclass
class Item:
    """One jar's seal as read; all None but the number where only its condition was told."""

    number: NumberTold
    seal: str | None = None
    tape: str | None = None
    unread: bool = False
    conditions: list[str] = field(default_factory=list)

    @property
    def condition(self) -> str | None:
        """The worst that was told, None where nothing was."""
        worse = [one for one in self.conditions if one != "whole"]
        return next(iter(worse or self.conditions), None)

    @property
    def reads(self) -> bool:
        """Something was read, or said to be unreadable."""
        return self.unread or self.seal is not None or self.tape is not None

    @property
    def raw(self) -> str:
        """As it is kept: number, seal and condition."""
        seal = "unread" if self.unread else self.seal or (f"tape {self.tape}" if self.tape else "")
        return " ".join(part for part in (self.number.number, seal, *self.conditions) if part)


@dataclass
class Lines:
    """What a text says of seals; `left` are the words that say nothing; `time`, `temperature` as typed."""

    items: list[Item] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    time: str | None = None
    temperature: str | None = None


def scan_seals(text: str) -> Lines:
    """Each jar's number, its seal and how it is, in the order of the text."""
    tokens = [t for t in re.split(r"[\s,;]+", _NOT_READ.sub("unread", text)) if t]
    lines = Lines()
    place = 0
    while place < len(tokens):
        place = _take(tokens, place, lines)
    return lines


def _take(tokens: list[str], place: int, lines: Lines) -> int:
    """The token at this place belongs somewhere; where to go on."""
    token = tokens[place]
    word = token.lower().rstrip(".!")
    item = lines.items[-1] if lines.items else None
    if word in _FILLERS:
        return place + 1
    if item is not None and word in CONDITIONS:
        item.conditions.append(CONDITIONS[word])
    elif item is not None and word in UNREAD and not item.reads:
        item.unread = True
    elif item is not None and word == "tape" and not item.reads:
        return _take_tape(tokens, place + 1, item)
    elif item is not None and not item.reads and not item.conditions and _SEAL.fullmatch(token):
        item.seal = token
    else:
        _take_other(token, lines)
    return place + 1


def _take_other(token: str, lines: Lines) -> None:
    """A next jar's number, the time or the temperature of them all, or words that say nothing."""
    if _WARM.fullmatch(token):
        lines.temperature = token
    elif _JAR.fullmatch(token):
        _begin(token, lines)
    elif looks_like_time(token) and lines.time is None:
        lines.time = token
    else:
        lines.left.append(token)


def _begin(token: str, lines: Lines) -> None:
    number = read_number(token)
    if isinstance(number, NumberTold):
        lines.items.append(Item(number))
    else:
        lines.left.append(token)


def _take_tape(tokens: list[str], place: int, item: Item) -> int:
    """Tape's initials go up to the next number or condition."""
    initials: list[str] = []
    while place < len(tokens) and len(initials) < 3:
        word = tokens[place].lower().rstrip(".")
        if word in CONDITIONS or any(letter.isdigit() for letter in word):
            break
        if word not in ("with", "initials", "initialled", "initialed", "by"):
            initials.append(tokens[place])
        place += 1
    item.tape = " ".join(initials) or None
    item.unread = item.tape is None
    return place
