"""The ways in which people write a time of day and its date: text in, stated parts out."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import time
from typing import NamedTuple

from .base import UNREAD, Ask, Unread, folded
from .day_forms import (
    DAY,
    DAY_BEFORE_CLOCK,
    DAY_BEHIND_CLOCK,
    DAY_WORDS,
    DOUBTFUL,
    SLASHED,
    SLASHED_AMONG_WORDS,
    Day,
    Told,
    any_of,
    day_of,
)

_CLOCK = (
    r"(?:(?P<h>[0-9]{1,2})[:.h](?P<m>[0-9]{2})(?::(?P<s>[0-9]{2})(?:[.,](?P<f>[0-9]{1,6}))?)?"
    r"(?: ?(?P<half>[ap])\.?m\.?)?"
    r"|(?P<bare>[0-9]{4})(?: ?(?P<bare_half>[ap])\.?m\.?)?"
    r"|(?P<h1>[0-9]{1,2}) ?(?P<h1_half>[ap])\.?m\.?)"
    r"(?: ?(?:hrs?|hours|h|local(?: time)?))?"
)
_OFFSET = (
    r"(?: ?(?P<zulu>z|utc|gmt))?"
    r"(?P<gap> ?)(?:(?P<sign>[+-])(?P<oh>[0-9]{1,2})(?:(?P<colon>:?)(?P<om>[0-9]{2}))?)?"
)
# Without one of these words, or these figures, no time among other words has a day.
_HINTS = DAY_WORDS | {"ago", "hace", "il", "há", "ha", "siden", "atrás"}
_HINTS |= {f"{word}." for word in _HINTS}
_FIGURES = re.compile(r"[0-9](?:/[0-9]|-?[^\W\d]{3})|[0-9]{4}(?:-|[0-9]{4}t)", re.IGNORECASE)
# Where clocks go back the first of two equal hours is summer time, everywhere.
_FOLDS = {
    **dict.fromkeys(("old", "summer", "antigua", "vieja", "ancienne", "antiga", "gammel"), 0),
    **dict.fromkeys(("new", "winter", "nueva", "nouvelle", "nova", "ny"), 1),
}
_WHICH = rf"(?:,? (?:hora |heure )?(?P<which>{any_of(_FOLDS)})(?: time| tid)?)?"
_DATE = rf"(?:{DAY}|{SLASHED})"
_ON = r"(?:on |el |le |den |em )?"
_AT = r"(?:at |a las |à |às |as |kl\.? ?)?"
_DATE_FIRST = re.compile(rf"(?:{_ON}{_DATE}(?P<sep>,? {_AT}|t))?{_AT}{_CLOCK}{_OFFSET}{_WHICH}")
_CLOCK_FIRST = re.compile(rf"{_AT}{_CLOCK}{_OFFSET},? {_ON}{_DATE}{_WHICH}")
# Among other words four digits are a clock's only where a clock has them.
_REAL = r"(?!(?:2[4-9]|[3-9][0-9])[:.h]?[0-9]{2}|[0-9]{2}[:.h]?[6-9][0-9])"
_ZONED = r"(?: ?(?:z|utc|gmt))?(?: ?[+-][0-9]{2}:?[0-9]{2})?"
_DATED_IN = tuple(
    re.compile(rf"(?<![\w/.+#=-]){form}(?![\w/]|[.,:][0-9])", re.IGNORECASE)
    for form in (
        rf"(?:{DAY_BEFORE_CLOCK}|{SLASHED_AMONG_WORDS})(?:,? {_AT}|t){_REAL}{_CLOCK}{_ZONED}",
        rf"{_REAL}{_CLOCK}{_ZONED},? {_ON}(?:{DAY_BEHIND_CLOCK}|{SLASHED_AMONG_WORDS})",
    )
)
_COUNTS = {**dict.fromkeys(("a", "an", "un", "una", "une", "um", "uma", "en", "et"), 1.0), "half an": 0.5}
_HOURS = "h|hrs?|hours?|horas?|heures?|timer?"
_UNITS = f"mins?|minut(?:es?|os?|t|ter)|{_HOURS}"
_COUNT = rf"(?P<n>{any_of(_COUNTS)}|[0-9]{{1,3}}) ?"
_AGO = tuple(
    re.compile(form, re.ASCII | re.IGNORECASE)
    for form in (
        rf"(?:about )?{_COUNT}(?P<unit>m|{_UNITS}) ago",
        rf"(?:hace|il y a|há|ha) {_COUNT}(?P<unit>{_UNITS})",
        rf"(?:for )?{_COUNT}(?P<unit>{_UNITS}) (?:siden|atrás)",
    )
)
_AGO_IN = tuple(re.compile(rf"(?<![\w.,/-]){form.pattern}\b", form.flags) for form in _AGO)
# Which time is meant is doubtful in a range, behind a denial, before a part of the day or more of a span.
_DOUBT_BEFORE = re.compile(
    r"(?:(?:\b(?:to|till?|until|since|from|between|before|after|than|last|next|this|previous|forrige|not|non?|não|nao|ikke"
    r"|antes(?: de)?|avant|de|and|or|y|et|e|og|desde|depuis|siden|fra)|[-+/~])\s*"
    rf"|\b[0-9]{{1,3}} ?(?:{_HOURS}) )\Z",
    re.IGNORECASE,
)
_DOUBT_BEHIND = re.compile(
    r"\s*(?:[-+/~]|(?:to|or|y|et|e|og|in the|de la|da|du|om|am|pm|utc|gmt|evening|night|afternoon|morning"
    r"|last|week|shift|crew|pasad[oa]|passad[oa]|derni[èe]re?|forrige"
    r"|soir|matin|noche|tarde|mañana|noite|manhã|kveld|natt|morgen)\b|[ap]\. ?m)",
    re.IGNORECASE,
)
_REST = re.compile(r"\s*[0-9]")
_YEAR_OR_CLOCK = re.compile(r"[^\W\d]+\.? ?[0-9]{1,2},? 20[0-9]{2}")
# The offsets in use run from UTC-12 to UTC+14 (IANA time zone data).
_LEAST_OFFSET, _MOST_OFFSET = -12 * 60, 14 * 60
_TOKEN = re.compile(
    r"(?:[0-9]{4}|[0-9]{1,2}[:h][0-9]{2}(?::[0-9]{2})?|(?:[01]?[0-9]|2[0-3])\.[0-5][0-9])"
    r"(?:h|hrs?|[ap]m|z|utc|[+-][0-9]{2}:?[0-9]{2})?|[0-9]{1,2}[ap]m|now",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Clock:
    """A stated time of day and what was stated beside it; None where nothing was.

    `fold` is which of two equal hours was meant. `bare` holds four digits written without a mark.
    """

    at: time
    offset_minutes: int | None
    fold: int | None
    day: Day | None
    bare: str | None


def looks_like_time(token: str) -> bool:
    """True for one word that may be a time of day: 1002, 10:02, 10.02, 10h02, 1002Z, 10:02pm, now."""
    return _TOKEN.fullmatch(token) is not None


def minutes_ago(words: str) -> float | Unread:
    """How far back "20 min ago" or "an hour ago" reaches."""
    match = next((match for form in _AGO if (match := form.fullmatch(words))), None)
    if match is None:
        return UNREAD
    count = _COUNTS.get(match["n"]) or float(match["n"])
    return count * (60 if match["unit"][0] == "h" or match["unit"].startswith("time") else 1)


class When(NamedTuple):
    """From where to where a time stands in a text; not `clear` where it may be meant otherwise."""

    begin: int
    end: int
    clear: bool


def whens_in(text: str) -> list[When]:
    """Where a time with its day, or one told back from now, may stand among other words."""
    plain = folded(text)
    if _HINTS.isdisjoint(plain.lower().replace(",", " ").split()) and _FIGURES.search(plain) is None:
        return []  # as with most texts: the forms themselves take ten times as long
    matches = [match for form in (*_DATED_IN, *_AGO_IN) if (match := form.search(plain))]
    spans = [match.span() for match in matches]
    found = [When(*match.span(), _is_clear(plain, match, spans)) for match in matches]
    return sorted(found, key=lambda when: (when.begin, -when.end))


def _is_clear(text: str, match: re.Match[str], spans: list[tuple[int, int]]) -> bool:
    (begin, end), said = match.span(), match.group().lower()
    crossed = any(a < begin < b < end or begin < a < end < b for a, b in spans)
    month = match.groupdict().get("mon1")
    return not (
        crossed
        or (month is not None and month.lower() in DOUBTFUL)
        or (match.re is _DATED_IN[1] and "," in said)
        or _YEAR_OR_CLOCK.fullmatch(said)
        or _DOUBT_BEFORE.search(text[:begin])
        or _DOUBT_BEHIND.match(text[end:])
        or (match.re in _AGO_IN and said[0].isalpha() and _REST.match(text[end:]))
    )


def read_clock(words: str, raw: str) -> Clock | Ask | Unread:
    """The stated parts of a time; `words` are squeezed, `raw` is what was typed."""
    match = _DATE_FIRST.fullmatch(words) or _CLOCK_FIRST.fullmatch(words)
    if match is None:
        return UNREAD
    told = match.groupdict()
    at, offset, day = _time_of_day(told, raw), _offset(told, raw), day_of(told, raw)
    if isinstance(at, Ask):
        return at
    if isinstance(offset, Ask):
        return offset
    if isinstance(day, Ask):
        return day
    return Clock(at, offset, _FOLDS.get(told["which"] or ""), day, told["bare"])


def _time_of_day(told: Told, raw: str) -> time | Ask:
    if told["bare"]:
        hour, minute = int(told["bare"][:2]), int(told["bare"][2:])
    else:
        hour, minute = int(told["h"] or told["h1"] or 0), int(told["m"] or 0)
    half = told["half"] or told["bare_half"] or told["h1_half"]
    if half:
        # With a.m. or p.m. there is no hour 0 and none past 12.
        hour = hour % 12 + 12 * (half == "p") if 1 <= hour <= 12 else 24
    second, micro = int(told["s"] or 0), int((told["f"] or "").ljust(6, "0"))
    if hour > 23 or minute > 59 or second > 59:
        return Ask("read.time.impossible", {"raw": raw})
    return time(hour, minute, second, micro)


def _offset(told: Told, raw: str) -> int | Ask | None:
    if told["sign"] is None:
        return 0 if told["zulu"] else None
    hours, minutes = int(told["oh"] or 0), int(told["om"] or 0)
    # "1000-1100" may be two times, and "1002+1" may be anything: neither states an offset.
    dash = told["sign"] == "-" and not (told["gap"] or told["colon"] or told.get("sep") == "t")
    if not told["zulu"] and (dash or len(told["oh"] or "") < 2):
        return Ask("read.time.unclear", {"raw": raw})
    offset = (hours * 60 + minutes) * (-1 if told["sign"] == "-" else 1)
    if minutes > 59 or not _LEAST_OFFSET <= offset <= _MOST_OFFSET:
        return Ask("read.time.impossible", {"raw": raw})
    return offset
