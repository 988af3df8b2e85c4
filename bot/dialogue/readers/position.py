"""Where people say that they are: WGS84 degrees, a question, or nothing of the sort."""

from __future__ import annotations

import re
from dataclasses import dataclass

from mgrs import MGRS
from mgrs.core import MGRSError

from . import position_forms as forms
from .base import UNREAD, Ask, Unread, folded
from .position_forms import Half, halves

_GRID = MGRS()
_LONGEST = 60  # characters; no position alone is longer
_DECIMALS = 5  # of a degree: about a metre
_NORTH_SOUTH = frozenset("NS")
_EAST_WEST = frozenset("EW")
_NEGATIVE = frozenset("SW")


@dataclass(frozen=True, slots=True)
class PositionTold:
    """A position as stated, WGS84 degrees to five decimals, north and east positive."""

    lat: float
    lon: float
    raw: str
    source: str = "typed"


@dataclass(frozen=True, slots=True)
class Found:
    """A position inside a longer text, at text[start:end]."""

    start: int
    end: int
    told: PositionTold


def read_position(text: str) -> PositionTold | Ask | Unread:
    """The position that the whole text states.

    Asks, under "read.position.": hemisphere (no letter and no sign), order (lat lon does not fit,
    lon lat would), impossible (with a short "why"), unclear.
    """
    raw = text.strip()
    whole = folded(raw).strip(" ()[].,;")
    if not 3 <= len(whole) <= _LONGEST:
        return UNREAD
    for pattern in forms.WHOLE:
        match = pattern.fullmatch(whole)
        if match:
            return _decide(match, raw)
    return _on_the_grid(whole, raw) if forms.MGRS_WHOLE.fullmatch(whole) else UNREAD


def find_position(text: str) -> Found | Ask | Unread:
    """The first position inside a longer line; an Ask holds its own words in `values["raw"]`.

    Counts only with letters, names, degree marks or three decimals twice: a line has other numbers too.
    """
    line = folded(text)
    match = _named_or_lettered(line)
    if match is None and forms.HAS_DEGREES.search(line):
        match = _first(forms.FEW_LETTERS, line)
    if match is None:
        return _found_on_the_grid(line, text)
    if isinstance(match, Ask):
        return match
    return _found(match, _decide(match, text[match.start() : match.end()]))


def _named_or_lettered(line: str) -> re.Match[str] | Ask | None:
    """The first of both in the line."""
    named = _first(forms.NAMED, line) if forms.HAS_NAME.search(line) else None
    before = line if named is None else line[: named.start()]
    lettered = _lettered(before) if forms.HAS_LETTER.search(before) else None
    return named if lettered is None else lettered


def _found(match: re.Match[str], told: PositionTold | Ask | Unread) -> Found | Ask | Unread:
    return Found(match.start(), match.end(), told) if isinstance(told, PositionTold) else told


def _found_on_the_grid(line: str, text: str) -> Found | Ask | Unread:
    match = forms.MGRS_IN_LINE.search(line)
    if match is None:
        return UNREAD
    return _found(match, _on_the_grid(match[0], text[match.start() : match.end()]))


def _first(patterns: tuple[re.Pattern[str], ...], line: str, start: int = 0) -> re.Match[str] | None:
    return next((match for pattern in patterns if (match := pattern.search(line, start))), None)


def _lettered(line: str) -> re.Match[str] | Ask | None:
    """A position with a letter to each number; an Ask where two of them share a part of the line."""
    after = _first(forms.LETTERS_AFTER, line)
    if after is not None and not line[after.start("t1") - 1].isspace():
        return after
    match = after or _first(forms.LETTERS_BEFORE, line)
    rival = _first(forms.LETTERS_BEFORE, line, match.start() + 1) if match else None
    if match is None or rival is None or not match.start() < rival.start() < match.end() < rival.end():
        return match
    # "W 4.4 C" is a letter and a temperature, and "W19.9510 E107" are no latitude.
    if forms.UNIT.match(line, rival.end()) or {rival["l1"].upper(), rival["l2"].upper()} <= _EAST_WEST:
        return match
    return Ask("read.position.unclear", {"raw": line[match.start() : rival.end()]})


def _decide(match: re.Match[str], raw: str) -> PositionTold | Ask | Unread:
    a, b = halves(match)
    lettered = [half for half in (a, b) if half.letters]
    if len(lettered) < 2 and not (a.fraction or b.fraction or "°" in match[0] or "deg" in match[0].lower()):
        return UNREAD  # "03 04" are two jars
    why = _impossible(a, b)
    if why:
        return Ask("read.position.impossible", {"raw": raw, "why": why})
    what = _doubt(a, b, match["between"])
    if what:
        return Ask(f"read.position.{what}", {"raw": raw})
    lat, lon = (b, a) if a.letters in _EAST_WEST or b.letters in _NORTH_SOUTH else (a, b)
    return PositionTold(_rounded(lat), _rounded(lon), raw)


def _impossible(a: Half, b: Half) -> str:
    """What no place on Earth has, in a few words; empty where all is possible."""
    if not (a.sixtieths_fit and b.sixtieths_fit):
        return "minutes and seconds end at 59"
    for half in (a, b):
        if half.letters in _NORTH_SOUTH and half.degrees > 90:
            return "latitude ends at 90"
    if max(a.degrees, b.degrees) > 180:
        return "longitude ends at 180"
    if min(a.degrees, b.degrees) > 90:
        return "latitude ends at 90"
    both = (a.letters, b.letters)
    if set(both) <= _NORTH_SOUTH or set(both) <= _EAST_WEST:
        return "two of one axis"
    return ""


def _doubt(a: Half, b: Half, between: str) -> str:
    """The question that is left; empty where none is."""
    if max(len(a.letters), len(b.letters)) > 1 or _commas_clash(a, b, between):
        return "unclear"
    stated = [bool(half.letters or half.sign) for half in (a, b)]
    lettered = bool(a.letters or b.letters)
    if _at_odds(a) or _at_odds(b) or not (all(stated) if lettered else any(stated)):
        return "hemisphere"
    return "order" if not lettered and a.degrees > 90 else ""


def _commas_clash(a: Half, b: Half, between: str) -> bool:
    """True where a comma may be a decimal mark or stand between the numbers: "47,28,19"."""
    return between == "," and "," in (a.fraction, b.fraction) and a.fraction != b.fraction


def _at_odds(half: Half) -> bool:
    """True where sign and letter say it twice, so that two readers may read two places."""
    return bool(half.letters and half.sign) and not (half.sign == "+" and half.letters in "NE")


def _rounded(half: Half) -> float:
    negative = half.sign == "-" or half.letters in _NEGATIVE
    # Adding zero turns a minus zero into a plain one.
    return round(-half.degrees if negative else half.degrees, _DECIMALS) + 0.0


def _on_the_grid(square: str, raw: str) -> PositionTold | Ask:
    """The centre of a square of the Military Grid Reference System."""
    try:
        lat, lon = _GRID.toLatLon(square.replace(" ", "").upper())
    except MGRSError:
        return Ask("read.position.impossible", {"raw": raw, "why": "no such grid square"})
    return PositionTold(round(lat, _DECIMALS), round(lon, _DECIMALS), raw)
