"""Yes and no, seals, and the numbers written on jars, as people type them.

What stands on a seal or a jar is echoed as typed: a padded digit would be an invented one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from ..keywords import NO, YES
from .base import UNREAD, Ask, Unread, folded, squeezed

_LONGEST = 400  # characters
_MOST_NUMBERS = 100  # in one list; the basic kit has sixteen jars

_SEAL_WORD = re.compile(r"seal(?:\s*(?:no\.?|nr\.?|number|#))?[\s:]*", re.IGNORECASE)
_SEAL_NUMBER = re.compile(r"[a-z]{0,3}-?[0-9]{1,10}", re.ASCII | re.IGNORECASE)
_TAPE_WORD = re.compile(r"tape\b", re.IGNORECASE)
_TAPE_NUMBER = re.compile(r"[a-z]{0,3}-?[0-9]{3,10}", re.ASCII | re.IGNORECASE)
_INITIALS = re.compile(r"[a-z](?:\.?[a-z0-9]){0,2}\.?", re.ASCII | re.IGNORECASE)
_INITIALLED = re.compile(r"with|initial(?:s|led|ed)?|signed|by", re.IGNORECASE)
_NOT_INITIALS = frozenset(
    ("and", "cut", "is", "it", "no", "not", "off", "ok", "old", "on", "new", "set", "the", "was", "yes")
)

_JAR_WORD = r"(?:(?:(?:jar|sample|number)s?|nos?\.?|nr\.?)[\s:]*)?#?\s*"
_NUMBER = r"(?P<letters#>[a-z]{1,2}-?)?(?P<digits#>[0-9]{1,3})(?![a-z0-9])"
_ITEM_TEXT = _NUMBER.replace("#", "1") + rf"(?:\s*(?:-|to)\s*{_NUMBER.replace('#', '2')})?"
_ITEM = re.compile(_ITEM_TEXT, re.ASCII | re.IGNORECASE)
_UNNAMED = re.sub(r"\?P<\w+>", "?:", _ITEM_TEXT)
_LIST = re.compile(
    rf"{_JAR_WORD}(?P<items>{_UNNAMED}(?:(?:\s*[,;&+]\s*|\s+)(?:and\s+)?{_UNNAMED})*)",
    re.ASCII | re.IGNORECASE,
)


class YesNo(StrEnum):
    """An answer to a question of yes or no; "dunno" is one, and is no "no"."""

    YES = "yes"
    NO = "no"
    NOT_STATED = "not_stated"


_ANSWERS = {
    **dict.fromkeys(("y", "yes", "yeah", "yep", "yup", "ok", "okay", "aye", "affirmative", *YES), YesNo.YES),
    **dict.fromkeys(("n", "no", "nope", "nah", "negative", *NO), YesNo.NO),
    **dict.fromkeys(
        ("unknown", "not known", "not stated", "not sure", "unsure", "dunno", "don't know", "dont know"),
        YesNo.NOT_STATED,
    ),
}


@dataclass(frozen=True, slots=True)
class SealTold:
    """A seal's number as printed, or the initials across a tape; None where the text has none."""

    number: str | None
    tape_initials: str | None
    raw: str


@dataclass(frozen=True, slots=True)
class NumberTold:
    """A sample number as written on the jar, and the key under which "03" and "3" are one."""

    number: str
    key: str


def read_yes_no(text: str) -> YesNo | Unread:
    """Yes, no or not stated, where the whole text says just that."""
    return _ANSWERS.get(squeezed(text).rstrip("!,"), UNREAD)


def read_seal(text: str) -> SealTold | Ask | Unread:
    """The seal that the whole text states, with or without the word.

    Asks, under "read.seal.": number (the word alone), one (several numbers), initials (tape alone).
    """
    raw = text.strip()
    said = folded(raw)
    word = _SEAL_WORD.match(said)
    rest = said[word.end() :].strip() if word else said
    tape = _TAPE_WORD.match(rest)
    if tape:
        return _tape(rest[tape.end() :], raw)
    numbers = [each for each in re.split(r"[\s,;/&+]+", rest.rstrip(".")) if each]
    if not numbers:
        return Ask("read.seal.number", {"raw": raw}) if word else UNREAD
    if not all(map(_SEAL_NUMBER.fullmatch, numbers)):
        return UNREAD
    return SealTold(numbers[0], None, raw) if len(numbers) == 1 else Ask("read.seal.one", {"raw": raw})


def _tape(rest: str, raw: str) -> SealTold | Ask | Unread:
    """Tape carries a number, or initials across its edge, or both."""
    words = [each for each in re.split(r"[\s,;:]+", rest) if each and not _INITIALLED.fullmatch(each)]
    numbers = [each for each in words if _TAPE_NUMBER.fullmatch(each)]
    others = [each for each in words if each not in numbers]
    if not words:
        return Ask("read.seal.initials", {"raw": raw})
    if len(numbers) > 1:
        return Ask("read.seal.one", {"raw": raw})
    if len(others) > 3 or not all(map(_are_initials, others)):
        return UNREAD
    return SealTold(numbers[0] if numbers else None, " ".join(others) or None, raw)


def _are_initials(word: str) -> bool:
    return _INITIALS.fullmatch(word) is not None and word.lower() not in _NOT_INITIALS


def read_number(text: str) -> NumberTold | Ask | Unread:
    """The one sample number that the whole text states. Asks: read.number.one where it holds several."""
    told = read_numbers(text)
    if isinstance(told, tuple) and len(told) == 1:
        return told[0]
    return told if isinstance(told, Unread) else Ask("read.number.one", {"raw": text.strip()})


def read_numbers(text: str) -> tuple[NumberTold, ...] | Ask | Unread:
    """The sample numbers of a list with ranges ("01-03, 05"), in its order, each once.

    Numbers inside a range are written as wide as its two ends if these are equally wide. Asks:
    read.number.range where a range runs backwards, mixes letters, or the list is over a hundred long.
    """
    raw = text.strip()
    whole = _LIST.fullmatch(folded(raw).rstrip(".")) if len(raw) <= _LONGEST else None
    if whole is None:
        return UNREAD
    told: dict[str, NumberTold] = {}
    for item in _ITEM.finditer(whole["items"]):
        numbers = _expanded(item)
        for number in numbers:
            told.setdefault(number.key, number)
        if not numbers or len(told) > _MOST_NUMBERS:
            return Ask("read.number.range", {"raw": raw})
    return tuple(told.values())


def _expanded(item: re.Match[str]) -> tuple[NumberTold, ...]:
    """The numbers of one item of a list; none where its range runs backwards or mixes letters."""
    letters, first, last = item["letters1"] or "", item["digits1"], item["digits2"]
    if last is None:
        return (_number(letters, first),)
    if (item["letters2"] or "").upper() != letters.upper():
        return ()
    width = len(first) if len(first) == len(last) else 0
    between = (f"{n:0{width}d}" for n in range(int(first) + 1, int(last)))
    ends = (first, last) if int(first) < int(last) else ()
    return tuple(_number(letters, digits) for digits in (*ends[:1], *between, *ends[1:]))


def _number(letters: str, digits: str) -> NumberTold:
    return NumberTold(letters + digits, letters.rstrip("-").upper() + str(int(digits)))
