"""The ways in which people write a day, in each language of the line: their pattern, and the stated parts."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from ...rules.fields import plain
from .base import Ask

# January to December, short and whole (Unicode CLDR, months of en, es, fr, pt and nb).
_MONTHS = (
    ("jan", "january", "ene", "enero", "janv", "janvier", "janeiro", "januar"),
    ("feb", "february", "febrero", "févr", "février", "fev", "fevereiro", "februar"),
    ("mar", "march", "marzo", "mars", "março"),
    ("apr", "april", "abr", "abril", "avr", "avril"),
    ("may", "mayo", "mai", "maio"),
    ("jun", "june", "junio", "juin", "junho", "juni"),
    ("jul", "july", "julio", "juil", "juillet", "julho", "juli"),
    ("aug", "august", "ago", "agosto", "août"),
    ("sep", "sept", "september", "septiembre", "septembre", "set", "setembro"),
    ("oct", "october", "octubre", "octobre", "out", "outubro", "okt", "oktober"),
    ("nov", "november", "noviembre", "novembre", "novembro"),
    ("dec", "december", "dic", "diciembre", "déc", "décembre", "dez", "dezembro", "des", "desember"),
)
_MONTH_OF = {
    form: number for number, words in enumerate(_MONTHS, 1) for word in words for form in (word, plain(word))
}
# How many days before the sending. Common practice, no source.
_BACK_OF = {
    **dict.fromkeys(("today", "hoy", "aujourd'hui", "hoje", "i dag", "idag"), 0),
    **dict.fromkeys(("yesterday", "ayer", "hier", "ontem", "i går", "igår", "i gar", "igar"), 1),
}


def any_of(words: Iterable[str]) -> str:
    """A pattern of these words, the longest first."""
    return "|".join(sorted(map(re.escape, words), key=len, reverse=True))


# Monday to Sunday (Unicode CLDR, weekdays of en, es, fr, pt and nb); the short forms, and which mean nothing
# else among other words, are common practice, no source.
_WEEKDAYS = (
    ("monday", "lunes", "lundi", "segunda-feira", "mandag"),
    ("tuesday", "martes", "mardi", "terça-feira", "tirsdag"),
    ("wednesday", "miércoles", "mercredi", "quarta-feira", "onsdag"),
    ("thursday", "jueves", "jeudi", "quinta-feira", "torsdag"),
    ("friday", "viernes", "vendredi", "sexta-feira", "fredag"),
    ("saturday", "sábado", "samedi", "lørdag"),
    ("sunday", "domingo", "dimanche", "søndag"),
)
_SHORT_WEEKDAYS = (("mon",), ("tue", "tues"), ("wed", "weds"), ("thu", "thurs"), ("fri",), ("sat",), ("sun",))


def _in_order(days: tuple[tuple[str, ...], ...]) -> dict[str, int]:
    return {form: n for n, words in enumerate(days) for word in words for form in (word, plain(word))}


_WHOLE_WEEKDAY_OF = _in_order(_WEEKDAYS)
WEEKDAYS = frozenset(_WHOLE_WEEKDAY_OF)
_WEEKDAY_OF = _WHOLE_WEEKDAY_OF | _in_order(_SHORT_WEEKDAYS)
_BEFORE = ("yest", "yday", "går", "anteayer", "avant-hier", "anteontem", "forgårs")
# The sun shines and somebody sat in other texts.
_OTHER_DAYS = {*_WEEKDAY_OF, *_BEFORE, *map(plain, _BEFORE), *(word for word, n in _BACK_OF.items() if n)}
_OTHER_DAYS -= {"sat", "sun"}

DAY_WORDS = frozenset(word for form in (*_MONTH_OF, *_BACK_OF, *_WEEKDAY_OF) for word in form.split())
# Words of their own too ("set 2 pads", "net out 10", "it may"): among other words they are no sure month.
DOUBTFUL = frozenset(("set", "out", "des", "ago"))
_PLAIN_WORDS = DOUBTFUL | {"may", "mar", "mai", "sep", "dec"}


def _day(before: Iterable[str], behind: Iterable[str], weekdays: Iterable[str]) -> str:
    """A pattern of a day; these months may stand before the number of the day, or behind it."""
    return (
        r"(?:(?P<y>[0-9]{4})[-/](?P<mo>[0-9]{1,2})[-/](?P<d>[0-9]{1,2})"
        r"|(?P<iso_y>[0-9]{4})(?P<iso_mo>[0-9]{2})(?P<iso_d>[0-9]{2})(?=t)"
        rf"|(?P<d1>[0-9]{{1,2}})(?:st|nd|rd|th|er|º|\.)?[ -]?(?:of |de )?(?P<mon1>{any_of(behind)})\.?"
        r"(?:(?:,? |-)(?:of |de )?(?P<y1>[0-9]{4}))?"
        rf"|(?P<mon2>{any_of(before)})\.? ?(?P<d2>[0-9]{{1,2}})(?:st|nd|rd|th)?(?:,? (?P<y2>[0-9]{{4}}))?"
        rf"|(?P<near>{any_of(_BACK_OF)})|(?P<week>{any_of(weekdays)}))"
    )


# Without those of figures with slashes: among other words, without a year, they may be a fill or a share.
_SURE = _MONTH_OF.keys() - _PLAIN_WORDS
DAY = _day(_MONTH_OF, _MONTH_OF, _WEEKDAY_OF)
DAY_BEFORE_CLOCK = _day(_SURE, _MONTH_OF, _WHOLE_WEEKDAY_OF)  # among other words
DAY_BEHIND_CLOCK = _day(_SURE, _SURE, _WHOLE_WEEKDAY_OF)
_SLASHED = r"(?P<a>[0-9]{1,2})/(?P<b>[0-9]{1,2})"
SLASHED = rf"{_SLASHED}(?:/(?P<ab_y>[0-9]{{4}}))?"
SLASHED_AMONG_WORDS = rf"{_SLASHED}/(?P<ab_y>[0-9]{{4}})"
_MONTH = any_of(_MONTH_OF)
_AMONG_WORDS = re.compile(
    rf"(?P<name>{any_of(_OTHER_DAYS)})|(?P<nth>[0-9]{{1,2}})(?:st|nd|rd|th|e)"
    r"|(?P<a>[0-9]{1,2})[/.-](?P<b>[0-9]{1,2})(?:[/.-](?:[0-9]{4}|[0-9]{2})?)?"
    r"|(?:19|20)[0-9]{2}(?P<mark>[/.-]?)(?P<mo>[0-9]{1,2})(?P=mark)(?P<d>[0-9]{1,2})"
    rf"|(?P<d1>[0-9]{{1,2}})-?(?P<mon1>{_MONTH})(?:-?[0-9]{{2,4}})?|(?P<mon2>{_MONTH})-?(?P<d2>[0-9]{{1,2}})"
    r"|(?P<six>[0-9]{6})"
)
_SIX_FIGURES = ("%d%m%y", "%y%m%d", "%m%d%y")
_NIGHT = re.compile(r"\blast (?:night|evening)\b|\banoche\b", re.IGNORECASE)
_NUMBERED = re.compile(
    r"\b(?:le|el|den|dia|día|the) (?P<nth>[0-9]{1,2})"
    r"(?=\s*(?:\Z|[,;.]|[0-9]{4}\b|[0-9]{1,2}[:.h][0-9]{2}))",
    re.IGNORECASE,
)
_LATELY, _THESE_DAYS = 62, 10  # days back: what names a day before them, or its number alone, is no day
Told = dict[str, str | None]


@dataclass(frozen=True, slots=True)
class Day:
    """A stated date: days back from the day of sending, or month and day with the year if stated.

    `weekday`: the last such day up to that of sending; 0 is Monday.
    """

    back: int = 0
    weekday: int | None = None
    year: int | None = None
    month: int | None = None
    day: int = 0


def day_of(told: Told, raw: str) -> Day | Ask | None:
    """The day that the groups of `DAY` or `SLASHED` hold; None where they hold none."""
    if told["near"]:
        return Day(back=_BACK_OF[told["near"].lower()])
    if told["week"]:
        return Day(weekday=_WEEKDAY_OF[told["week"].lower()])
    if told.get("a") and told.get("b"):
        return _by_slash(int(told["a"] or 0), int(told["b"] or 0), told["ab_y"], raw)
    month = told["mon1"] or told["mon2"]
    if month:
        year, day = told["y1"] or told["y2"], told["d1"] or told["d2"]
        return Day(year=int(year) if year else None, month=_MONTH_OF[month.lower()], day=int(day or 0))
    year = told["y"] or told["iso_y"]
    if year:
        return Day(
            year=int(year),
            month=int(told["mo"] or told["iso_mo"] or 0),
            day=int(told["d"] or told["iso_d"] or 0),
        )
    return None


def may_hold_day(words: list[str], text: str, today: date) -> bool:
    """True where some words of a text, which nobody read, may be a day before: 12/10, 12oct26, le 12.

    Fractions and other figures are no days: their day and month lie far from today.
    """
    lately = [today - timedelta(days) for days in range(1, _LATELY)]
    numbered = any(_is_nth(match["nth"], lately) for match in _NUMBERED.finditer(text))
    return numbered or any(_may_be_day(_bare(word), lately) for word in words)


def tells_night(text: str) -> bool:
    """True where the text tells of last night, which was in part today's."""
    return _NIGHT.search(text) is not None


def _bare(word: str) -> str:
    return word.lower().strip(",;:!?()").removesuffix("'s")


def _may_be_day(word: str, lately: list[date]) -> bool:
    match = _AMONG_WORDS.fullmatch(word) or _AMONG_WORDS.fullmatch(word.rstrip("."))
    if match is None or match["name"]:
        return match is not None
    if match["nth"]:
        return _is_nth(match["nth"], lately)
    if match["six"]:
        return any(f"{day:{form}}" == word for day in lately for form in _SIX_FIGURES)
    month = match["mon1"] or match["mon2"]
    one = int(match["d1"] or match["d2"] or match["d"] or match["a"])
    other = _MONTH_OF[month] if month else int(match["mo"] or match["b"])
    pairs = [(one, other)] if match["b"] is None else [(one, other), (other, one)]
    return any((day.day, day.month) in pairs for day in lately)


def _is_nth(number: str, lately: list[date]) -> bool:
    return int(number) in [day.day for day in lately[:_THESE_DAYS]]


def begins_day(number: str, word: str) -> bool:
    """True where a number and the word behind it are a day with its month: 12 Oct."""
    return number.isdigit() and word.lower().rstrip(".,") in _MONTH_OF.keys() - _PLAIN_WORDS


def _by_slash(a: int, b: int, year: str | None, raw: str) -> Day | Ask:
    """12/10 is told both ways round in the world; only a number over 12 says which is the day."""
    if a > 12 and b > 12:
        return Ask("read.time.impossible", {"raw": raw})
    if a <= 12 and b <= 12 and a != b:
        return Ask("read.time.day_month", {"raw": raw})
    day, month = (a, b) if a > 12 else (b, a)
    return Day(year=int(year) if year else None, month=month, day=day)
