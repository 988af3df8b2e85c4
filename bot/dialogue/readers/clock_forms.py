"""The ways in which people write a time of day and its date: text in, stated parts out."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import time

from .base import UNREAD, Ask, Unread

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = (
    "jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|"
    "aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?"
)
_DATE = (
    r"(?:(?P<y>[0-9]{4})[-/](?P<mo>[0-9]{1,2})[-/](?P<d>[0-9]{1,2})"
    r"|(?P<iso_y>[0-9]{4})(?P<iso_mo>[0-9]{2})(?P<iso_d>[0-9]{2})(?=t)"
    rf"|(?P<d1>[0-9]{{1,2}})(?:st|nd|rd|th)? ?(?P<mon1>{_MONTH})\.?(?:,? (?P<y1>[0-9]{{4}}))?"
    rf"|(?P<mon2>{_MONTH})\.? ?(?P<d2>[0-9]{{1,2}})(?:st|nd|rd|th)?(?:,? (?P<y2>[0-9]{{4}}))?"
    r"|(?P<a>[0-9]{1,2})/(?P<b>[0-9]{1,2})(?:/(?P<ab_y>[0-9]{4}))?"
    r"|(?P<near>yesterday|today))"
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
_WHICH = r"(?:,? (?P<which>old|new|summer|winter)(?: time)?)?"
_DATE_FIRST = re.compile(rf"(?:{_DATE}(?P<sep>,? (?:at )?|t))?(?:at )?{_CLOCK}{_OFFSET}{_WHICH}")
_CLOCK_FIRST = re.compile(rf"(?:at )?{_CLOCK}{_OFFSET},? (?:on )?{_DATE}{_WHICH}")
_AGO = re.compile(
    r"(?:about )?(?P<n>an?|half an|[0-9]{1,3}) ?(?P<unit>m|mins?|minutes?|h|hrs?|hours?) ago", re.ASCII
)
_COUNTS = {"a": 1.0, "an": 1.0, "half an": 0.5}
# Where clocks go back the first of two equal hours is summer time, everywhere.
_FOLDS = {"old": 0, "summer": 0, "new": 1, "winter": 1}
# The offsets in use run from UTC-12 to UTC+14 (IANA time zone data).
_LEAST_OFFSET, _MOST_OFFSET = -12 * 60, 14 * 60
_Told = dict[str, str | None]
_TOKEN = re.compile(
    r"(?:[0-9]{4}|[0-9]{1,2}[:h][0-9]{2}(?::[0-9]{2})?|(?:[01]?[0-9]|2[0-3])\.[0-5][0-9])"
    r"(?:h|hrs?|[ap]m|z|utc|[+-][0-9]{2}:?[0-9]{2})?|[0-9]{1,2}[ap]m|now",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Day:
    """A stated date: days back from the day of sending, or month and day with the year if stated."""

    back: int = 0
    year: int | None = None
    month: int | None = None
    day: int = 0


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
    match = _AGO.fullmatch(words) if words.endswith(" ago") else None
    if match is None:
        return UNREAD
    count = _COUNTS.get(match["n"]) or float(match["n"])
    return count * (60 if match["unit"].startswith("h") else 1)


def read_clock(words: str, raw: str) -> Clock | Ask | Unread:
    """The stated parts of a time; `words` are squeezed, `raw` is what was typed."""
    match = _DATE_FIRST.fullmatch(words) or _CLOCK_FIRST.fullmatch(words)
    if match is None:
        return UNREAD
    told = match.groupdict()
    at, offset, day = _time_of_day(told, raw), _offset(told, raw), _day(told, raw)
    if isinstance(at, Ask):
        return at
    if isinstance(offset, Ask):
        return offset
    if isinstance(day, Ask):
        return day
    return Clock(at, offset, _FOLDS.get(told["which"] or ""), day, told["bare"])


def _time_of_day(told: _Told, raw: str) -> time | Ask:
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


def _offset(told: _Told, raw: str) -> int | Ask | None:
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


def _day(told: _Told, raw: str) -> Day | Ask | None:
    if told["near"]:
        return Day(back=1 if told["near"] == "yesterday" else 0)
    if told["a"] and told["b"]:
        return _by_slash(int(told["a"]), int(told["b"]), told["ab_y"], raw)
    month = told["mon1"] or told["mon2"]
    if month:
        year, day = told["y1"] or told["y2"], told["d1"] or told["d2"]
        return Day(year=int(year) if year else None, month=_MONTHS.index(month[:3]) + 1, day=int(day or 0))
    year = told["y"] or told.get("iso_y")
    if year:
        return Day(
            year=int(year),
            month=int(told["mo"] or told.get("iso_mo") or 0),
            day=int(told["d"] or told.get("iso_d") or 0),
        )
    return None


def _by_slash(a: int, b: int, year: str | None, raw: str) -> Day | Ask:
    """12/10 is told both ways round in the world; only a number over 12 says which is the day."""
    if a > 12 and b > 12:
        return Ask("read.time.impossible", {"raw": raw})
    if a <= 12 and b <= 12 and a != b:
        return Ask("read.time.day_month", {"raw": raw})
    day, month = (a, b) if a > 12 else (b, a)
    return Day(year=int(year) if year else None, month=month, day=day)
