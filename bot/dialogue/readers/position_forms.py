"""The ways in which people write a latitude and a longitude: patterns, and one half read from them.

Three forms (degrees; degrees and minutes; degrees, minutes and seconds), each with letters after
its numbers, letters before them, at most one letter, or "lat" and "long" before them. Both halves must
have the same form, so that a sample number before a position is not taken for its degrees.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from .base import decimal

_FRACTION = r"(?:[.,][0-9]{1,9})"
_MARK = r"\s?(?:°|deg\.?)"
_TO_MINUTES = rf"(?:{_MARK}\s*|-|\s+)"
_TO_SECONDS = r"(?:\s?'\s*|-|\s+)"
_DEGREES = r"(?P<d#>[0-9]{1,3})"
_MINUTES = rf"(?P<m#>[0-9]{{1,2}}{_FRACTION}?)(?:\s?')?"
_SECONDS = rf"(?P<m#>[0-9]{{1,2}}){_TO_SECONDS}(?P<s#>[0-9]{{1,2}}{_FRACTION}?)(?:\s?(?:\"|''))?"

_ALONE = (
    rf"{_DEGREES}{_TO_MINUTES}{_SECONDS}",
    rf"{_DEGREES}{_TO_MINUTES}{_MINUTES}",
    rf"(?P<d#>[0-9]{{1,3}}{_FRACTION}?)(?:{_MARK})?",
)
# In a longer line a number needs a fraction or a degree mark beside its letter: tanks are named 2P, 3S.
_IN_LINE = (
    _ALONE[0],
    rf"(?=[0-9]{{1,3}}(?:{_MARK}|{_TO_MINUTES}[0-9]{{1,2}}[.,][0-9])){_ALONE[1]}",
    rf"(?=[0-9]{{1,3}}(?:[.,][0-9]|{_MARK})){_ALONE[2]}",
)
# Without letters it needs a degree mark or three decimals: two temperatures have fewer.
_IN_LINE_BARE = (
    rf"{_DEGREES}{_MARK}\s*{_SECONDS}",
    rf"{_DEGREES}{_MARK}\s*{_MINUTES}",
    rf"(?P<d#>[0-9]{{1,3}}[.,][0-9]{{3,9}})(?:{_MARK})?",
)

_FLAGS = re.ASCII | re.IGNORECASE
_START = r"(?<![A-Za-z0-9_+-])(?<![0-9]\.)"
_END = r"(?![A-Za-z0-9_]|\.[0-9])"
_SIGN = r"(?P<g#>[+-]?)"
_AFTER = rf"{_SIGN}%s\s?(?P<t#>[NSEW])"
_BEFORE = rf"(?P<l#>[NSEW])\s?{_SIGN}%s"
_EITHER = rf"(?:(?P<l#>[NSEW])\s?)?{_SIGN}%s(?:\s?(?P<t#>[NSEW]))?"
_BETWEEN_LETTERS = r"(?P<between>[\s,;/]*)"
_BETWEEN_NUMBERS = r"(?P<between>\s*[,;/]\s*|\s+)"


def _pairs(half: str, between: str, forms: tuple[str, ...]) -> tuple[re.Pattern[str], ...]:
    halves = [half % form for form in forms]
    return tuple(
        re.compile(_START + each.replace("#", "1") + between + each.replace("#", "2") + _END, _FLAGS)
        for each in halves
    )


def _named(forms: tuple[str, ...]) -> tuple[re.Pattern[str], ...]:
    """Each half behind its name and with no letter of the other axis."""
    lat, lon = _EITHER.replace("NSEW", "NS"), _EITHER.replace("NSEW", "EW")
    return tuple(
        re.compile(
            _START
            + r"lat(?:itude)?\s?[.:=]?\s?" + (lat % form).replace("#", "1") + _BETWEEN_NUMBERS
            + r"(?:and\s+)?lo?ng?(?:itude)?\s?[.:=]?\s?" + (lon % form).replace("#", "2") + _END,
            _FLAGS,
        )
        for form in forms
    )  # fmt: skip


LETTERS_AFTER = _pairs(_AFTER, _BETWEEN_LETTERS, _IN_LINE)
LETTERS_BEFORE = _pairs(_BEFORE, _BETWEEN_LETTERS, _IN_LINE)
NAMED = _named(_IN_LINE)
FEW_LETTERS = _pairs(_EITHER, _BETWEEN_NUMBERS, _IN_LINE_BARE)
WHOLE = (
    *_pairs(_AFTER, _BETWEEN_LETTERS, _ALONE),
    *_pairs(_BEFORE, _BETWEEN_LETTERS, _ALONE),
    *_pairs(_EITHER, _BETWEEN_NUMBERS, _ALONE),
    *_named(_ALONE),
)

# Cheap looks before the patterns: a letter beside a number, and what stands for letters.
HAS_LETTER = re.compile(r"[0-9]['\"°]{0,2}\s?[NSEW](?![A-Z])|(?<![A-Z])[NSEW]\s?[0-9]", _FLAGS)
HAS_NAME = re.compile(r"(?<![A-Za-z])lat", _FLAGS)
HAS_DEGREES = re.compile(r"[0-9][.,][0-9]{3}|°|deg", _FLAGS)
UNIT = re.compile(r"\s(?:deg\.? ?)?(?:c|f|m|ft|kn|kg)(?![a-z])", _FLAGS)

# Military Grid Reference System: zone and band, square, equally long easting and northing.
_SQUARE = r"[0-9]{1,2}[C-HJ-NP-X] ?[A-HJ-NP-Z][A-HJ-NP-V] ?"
MGRS_WHOLE = re.compile(
    _SQUARE
    + r"(?:(?:[0-9]{2}){2,5}|[0-9]{2} [0-9]{2}|[0-9]{3} [0-9]{3}|[0-9]{4} [0-9]{4}|[0-9]{5} [0-9]{5})",
    _FLAGS,
)
# In a longer line only the long ones: "03pad 1002" is a jar, a pad and a time.
MGRS_IN_LINE = re.compile(_START + _SQUARE + r"(?:(?:[0-9]{2}){3,5}|[0-9]{5} [0-9]{5})" + _END, _FLAGS)


@dataclass(frozen=True, slots=True)
class Half:
    """One of the two numbers of a position as stated; `letters` holds N, S, E, W as typed, or none."""

    degrees: float
    sign: str
    letters: str
    fraction: str
    sixtieths_fit: bool


def halves(match: re.Match[str]) -> tuple[Half, Half]:
    """The two numbers that a pattern above found, in the order of the text."""
    return _half(match, "1"), _half(match, "2")


def _half(match: re.Match[str], n: str) -> Half:
    told = match.groupdict()
    degrees, minutes, seconds = told["d" + n], told.get("m" + n) or "0", told.get("s" + n) or "0"
    value = decimal(degrees) + decimal(minutes) / 60 + decimal(seconds) / 3600
    written = f"{degrees}{minutes}{seconds}"
    return Half(
        degrees=value,
        sign=told["g" + n] or "",
        letters=((told.get("l" + n) or "") + (told.get("t" + n) or "")).upper(),
        fraction="," if "," in written else "." if "." in written else "",
        sixtieths_fit=decimal(minutes) < 60 and decimal(seconds) < 60,
    )
