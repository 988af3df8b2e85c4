"""A time with its day among the words of a line: whose it is, or that a human must say."""

from __future__ import annotations

import re
from datetime import datetime
from typing import NamedTuple, TypeAlias

from ..model.entries import FactTold
from ..model.times import us_of
from ..rules.civil_time import local
from ..rules.fields import Field, SampleTable
from .keywords import NOW
from .readers.base import Ask, Unread
from .readers.clock_forms import When, whens_in
from .readers.clock_time import looks_like_time
from .readers.day_forms import WEEKDAYS, may_hold_day, tells_night
from .readings import Source, read_field

_Word: TypeAlias = "re.Match[str]"
_WORD = re.compile(r"\S+")
_LINKS = frozenset(("", "is", "no", "nr", "number"))  # between a field's word and its value: "seal no. 1204"
_OF_SOMEBODY = "by"  # "drawn by Jan 12"
_MORNING = 6  # hours: from here on a time of today's is none of last night's. Common practice, no source.
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
    free = begin_of_words(text, source.trade.table)
    for when in whens:
        if when.end <= free and (dated := _told(text, when, source, timed)) is not None:
            return dated
    return None


def begin_of_words(text: str, table: SampleTable, but: str = "") -> int:
    """Where words begin that run to the line's end, but those for `but`: what they hold is theirs."""
    for word in _WORD.finditer(text):
        one = _announces(word, table)
        if one is not None and one.greedy and one.id != but:
            return word.start()
    return len(text)


def _told(text: str, when: When, source: Source, timed: bool) -> Dated | None:
    whose = _whose(text, when, source.trade.table, timed)
    if whose is None:
        return None
    one, begin = whose
    said = text[when.begin : when.end]
    twice = one.id == "time" and count_of_times(text[: when.begin].lower().split()) > 0
    if twice or not when.clear:
        return Dated(begin, when.end, said, one.id, Ask("read.time.unclear", {"raw": said}))
    read = read_field(one, said if one.reader == "time" else text[begin : when.end], source)
    return None if isinstance(read, Unread) else Dated(begin, when.end, said, one.id, read)


def _whose(text: str, when: When, table: SampleTable, timed: bool) -> tuple[Field, int] | None:
    """The field that it tells, and where its word begins; None where it is a part of another's value."""
    before = list(_WORD.finditer(text[: when.begin]))
    cooler = _cooler_of(before, table)
    if cooler is not None and (timed or count_of_times(_without(text, when).lower().split())):
        return table.by_id["cooler"], cooler.start()
    word = _word_of(before)
    one = None if word is None else _announces(word, table)
    if word is None or one is None or one.reader == "cooler":
        of_somebody = any(w.group().lower() == _OF_SOMEBODY for w in before[-3:])
        return None if of_somebody else (table.by_id["time"], when.begin)
    return (one, word.start()) if one.reader == "time" else None


def _without(text: str, when: When) -> str:
    return f"{text[: when.begin]} {text[when.end :]}"


def _plain(word: _Word) -> str:
    return word.group().lower().strip(".:=#,")


def _announces(word: _Word, table: SampleTable) -> Field | None:
    plain = _plain(word)
    return table.by_word.get("seal" if plain.startswith("seal") else plain)


def _word_of(before: list[_Word]) -> _Word | None:
    """The word before, over marks and single letters: what it announces is what follows."""
    for word in reversed(before):
        plain = _plain(word)
        if plain not in _LINKS and not (len(plain) == 1 and plain.isalpha()):
            return word
    return None


def _cooler_of(before: list[_Word], table: SampleTable) -> _Word | None:
    for word in reversed(before[-_COOLER_WORDS:]):
        one = _announces(word, table)
        if one is not None and one.reader == "cooler":
            return word
    return None


def doubted(facts: list[FactTold], left: list[str], text: str, source: Source) -> list[FactTold]:
    """The times told without a day, where words that nobody read may be their day: none is today's then."""
    undated = [fact for fact in facts if _is_undated(fact)] if left else []
    if not undated:  # as with most texts: the zone's date costs more than this look
        return []
    sent = local(source.message.said_us, source.trade.zone)
    if may_hold_day(left, text, sent.date()):
        return undated
    return [one for one in undated if _at_us(one) >= _morning_us(sent)] if tells_night(text) else []


def _morning_us(sent: datetime) -> int:
    return us_of(sent.replace(hour=_MORNING, minute=0, second=0, microsecond=0))


def _at_us(fact: FactTold) -> int:
    at_us = fact.value.get("at_us") if isinstance(fact.value, dict) else None
    return at_us if isinstance(at_us, int) else 0


def _is_undated(fact: FactTold) -> bool:
    raw = fact.raw.lower()
    dated = whens_in(raw) and WEEKDAYS.isdisjoint(raw.replace(",", " ").split())
    return _at_us(fact) > 0 and raw not in NOW and not dated


def count_of_times(words: list[str]) -> int:
    """How many of a line's words, in lower case, are times; a seal's number is none."""
    words = [word.rstrip(",;") for word in words]
    pairs = zip(["", *words], words, strict=False)
    return sum(1 for last, word in pairs if looks_like_time(word) and last != "seal")
