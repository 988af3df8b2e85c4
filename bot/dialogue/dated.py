"""A time with its day among the words of a line: whose it is, or that a human must say."""

from __future__ import annotations

import re
from typing import NamedTuple, TypeAlias

from ..model.entries import FactTold
from ..rules.fields import Field, SampleTable
from .readers.base import Ask, Unread
from .readers.clock_forms import When, looks_like_time, whens_in
from .readings import Source, read_field

_Word: TypeAlias = "re.Match[str]"
_WORD = re.compile(r"\S+")
_LINKS = frozenset(("", "is", "no", "nr", "number"))  # between a field's word and its value: "seal no. 1204"
_OF_SOMEBODY = "by"  # "drawn by Jan 12"
_COOLER_WORDS = 4  # "cooler M 4.4 C" before its time


class Dated(NamedTuple):
    """Where in the line it stands, with the word that announces it; what it says for which field."""

    begin: int
    end: int
    said: str
    field: str
    read: tuple[FactTold, ...] | Ask


def find_dated(text: str, source: Source, timed: bool) -> Dated | None:
    """The first time with its day that the line tells; `timed`: the jar's own time is known already."""
    whens = whens_in(text)
    if not whens:
        return None
    free = _free_from(text, source.trade.table)
    for when in whens:
        if when.end <= free and (dated := _told(text, when, source, timed)) is not None:
            return dated
    return None


def _free_from(text: str, table: SampleTable) -> int:
    """Where words begin that run to the end of the line: what they hold is theirs."""
    for word in _WORD.finditer(text):
        one = _announces(word, table)
        if one is not None and one.greedy:
            return word.start()
    return len(text)


def _told(text: str, when: When, source: Source, timed: bool) -> Dated | None:
    table, said = source.trade.table, text[when.begin : when.end]
    before = list(_WORD.finditer(text[: when.begin]))
    one, begin = table.by_id["time"], when.begin
    if (cooler := _cooler_of(before, table)) is not None and (timed or _other_time(text, when)):
        one, begin = table.by_id["cooler"], cooler.start()
    elif (word := _word_of(before)) is not None:
        announced = _announces(word, table)
        announced = None if announced is not None and announced.reader == "cooler" else announced
        if word.group().lower() == _OF_SOMEBODY or (announced is not None and announced.reader != "time"):
            return None
        one, begin = (announced, word.start()) if announced is not None else (one, begin)
    if not when.clear:
        return Dated(begin, when.end, said, one.id, Ask("read.time.unclear", {"raw": said}))
    read = read_field(one, said if one.reader == "time" else text[begin : when.end], source)
    return None if isinstance(read, Unread) else Dated(begin, when.end, said, one.id, read)


def _announces(word: _Word, table: SampleTable) -> Field | None:
    plain = word.group().lower().strip(".:=#,")
    return table.by_word.get("seal" if plain.startswith("seal") else plain)


def _word_of(before: list[_Word]) -> _Word | None:
    """The word before, over marks and single letters: what it announces is what follows."""
    for word in reversed(before):
        plain = word.group().lower().strip(".:=#,")
        if plain not in _LINKS and not (len(plain) == 1 and plain.isalpha()):
            return word
    return None


def _cooler_of(before: list[_Word], table: SampleTable) -> _Word | None:
    for word in reversed(before[-_COOLER_WORDS:]):
        one = _announces(word, table)
        if one is not None and one.reader == "cooler":
            return word
    return None


def _other_time(text: str, when: When) -> bool:
    """True where a time stands elsewhere in the line, which may be the jar's; a seal's number is none."""
    words = f"{text[: when.begin]} {text[when.end :]}".lower().split()
    pairs = zip(["", *words], words, strict=False)
    return any(looks_like_time(word) and last != "seal" for last, word in pairs)
