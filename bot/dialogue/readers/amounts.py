"""Temperatures, fills, lengths and volumes as people type them.

A stated unit is never asked back. A bare number is asked, but for one that a cooler may have.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from .base import UNREAD, Ask, Unread, decimal, squeezed
from .wind import WindTold, read_wind

__all__ = [
    "FillTold",
    "LengthTold",
    "TemperatureTold",
    "VolumeTold",
    "WindTold",
    "read_fill",
    "read_length",
    "read_temperature",
    "read_volume",
    "read_wind",
]

_COLDEST_C, _HOTTEST_C = -60.0, 300.0
_BARE_FROM_C, _BARE_TO_C = -5.0, 25.0
_DEEPEST_M = 50.0

# The groups of each pattern after `n` are named like the unit that they stand for.
_METRES = {"m": 1.0, "cm": 0.01, "ft": 0.3048}  # the international foot, exact
_MILLILITRES = {"ml": 1.0, "cl": 10.0, "l": 1000.0, "oz": 29.5735295625}  # US fluid ounce: 231 in3 / 128
_PERCENT_WORDS = {"empty": 0.0, "quarter": 25.0, "half": 50.0, "three quarters": 75.0, "full": 100.0}

_NUMBER = r"(?P<n>[0-9]{1,5}(?:[.,][0-9]{1,4})?)"
_TEMPERATURE = re.compile(
    r"(?P<sign>minus|[+-])? ?(?P<n>[0-9]{1,3}(?:[.,][0-9]{1,4})?) ?(?:°|deg(?:ree)?s?\.?)? ?"
    r"(?:(?P<c>c(?:elsius|entigrade)?)|(?P<f>f(?:ahrenheit)?))?"
)
_SHARE = re.compile(r"(?P<n>[0-9]{1,2}) ?(?:/ ?(?P<of>[0-9]{1,2})|eighths?)(?: full)?")
_PERCENT = re.compile(rf"{_NUMBER} ?(?P<percent>%|pct|per ?cent)?(?: full)?")
_LENGTH = re.compile(rf"{_NUMBER} ?(?:(?P<m>m|met(?:re|er)s?)|(?P<cm>cm)|(?P<ft>ft|feet|foot|'))?")
_VOLUME = re.compile(
    rf"{_NUMBER} ?(?:(?P<ml>ml|millilit(?:re|er)s?)|(?P<cl>cl)|(?P<l>l|lit(?:re|er)s?)"
    r"|(?P<oz>(?:fl\.? ?)?oz|(?:fluid )?ounces?))?"
)


@dataclass(frozen=True, slots=True)
class TemperatureTold:
    """Degrees Celsius, from Fahrenheit to two decimals; `unit_derived` where no unit was stated."""

    celsius: float
    raw: str
    unit_derived: bool


@dataclass(frozen=True, slots=True)
class FillTold:
    """How full a jar is, in percent of its volume."""

    percent: float
    raw: str


@dataclass(frozen=True, slots=True)
class LengthTold:
    """A length or depth in metres."""

    metres: float
    raw: str


@dataclass(frozen=True, slots=True)
class VolumeTold:
    """A volume in millilitres; ounces are US fluid ounces."""

    millilitres: float
    raw: str


def read_temperature(text: str) -> TemperatureTold | Ask | Unread:
    """The temperature that the whole text states. Asks: read.temperature.unit and .impossible."""
    match = _TEMPERATURE.fullmatch(squeezed(text))
    if match is None:
        return UNREAD
    raw, number = text.strip(), decimal(match["n"])
    stated = -number if match["sign"] in ("minus", "-") else number
    # Adding zero turns a minus zero into a plain one.
    celsius = (round((stated - 32) / 1.8, 2) if match["f"] else stated) + 0.0
    bare = not (match["c"] or match["f"])
    coldest, hottest = (_COLDEST_C, _HOTTEST_C * 1.8 + 32) if bare else (_COLDEST_C, _HOTTEST_C)
    if not coldest <= celsius <= hottest:
        return Ask("read.temperature.impossible", {"raw": raw})
    if bare and not _BARE_FROM_C <= celsius <= _BARE_TO_C:
        return Ask("read.temperature.unit", {"value": raw})
    return TemperatureTold(celsius, raw, unit_derived=bare)


def read_fill(text: str) -> FillTold | Ask | Unread:
    """The fill that the whole text states. Asks: read.fill.unit and .impossible."""
    raw, words = text.strip(), squeezed(text)
    share, percent = _SHARE.fullmatch(words), _PERCENT.fullmatch(words)
    worded = _PERCENT_WORDS.get(words.removesuffix(" full").strip())
    if share:
        of = int(share["of"] or 8)
        told = round(100 * int(share["n"]) / of, 2) if of else 101.0
    elif percent and percent["percent"]:
        told = decimal(percent["n"])
    elif worded is not None:
        told = worded
    else:
        return Ask("read.fill.unit", {"value": raw}) if percent else UNREAD
    return FillTold(told, raw) if told <= 100 else Ask("read.fill.impossible", {"raw": raw})


def read_length(text: str, *, least_m: float = 0.0, most_m: float = _DEEPEST_M) -> LengthTold | Ask | Unread:
    """The length that the whole text states. Asks: read.length.unit and .impossible (outside the limits)."""
    raw = text.strip()
    metres = _scaled(_LENGTH.fullmatch(squeezed(text)), _METRES, "read.length.unit", raw)
    if not isinstance(metres, float):
        return metres
    if least_m <= metres <= most_m:
        return LengthTold(round(metres, 3), raw)
    return Ask("read.length.impossible", {"raw": raw, "least": f"{least_m:g}", "most": f"{most_m:g}"})


def read_volume(text: str) -> VolumeTold | Ask | Unread:
    """The volume that the whole text states. Asks: read.volume.unit."""
    raw = text.strip()
    volume = _scaled(_VOLUME.fullmatch(squeezed(text)), _MILLILITRES, "read.volume.unit", raw)
    return VolumeTold(round(volume, 1), raw) if isinstance(volume, float) else volume


def _scaled(
    match: re.Match[str] | None, factors: dict[str, float], question: str, raw: str
) -> float | Ask | Unread:
    """The number in the base unit, by the group that matched; the question where none did."""
    if match is None:
        return UNREAD
    if match.lastgroup not in factors:
        return Ask(question, {"value": raw})
    return decimal(match["n"]) * factors[match.lastgroup]
