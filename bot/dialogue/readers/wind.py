"""The wind as people type it: where it comes from, how strong it is, either or both."""

from __future__ import annotations

import re
from dataclasses import dataclass

from .base import UNREAD, Ask, Unread, decimal, squeezed

_STRONGEST_KN = 80.0
# One knot is 1852 m an hour, one statute mile 1609.344 m; the groups below have these names.
_KNOTS = {"kn": 1.0, "ms": 3.6 / 1.852, "kmh": 1 / 1.852, "mph": 1.609344 / 1.852}

_NUMBER = r"[0-9]{1,3}(?:[.,][0-9]{1,2})?"
_SPEED = re.compile(
    rf"(?<![0-9.,])(?P<n>{_NUMBER}) ?"
    r"(?:(?P<kn>knots?|kts?|kn)|(?P<ms>m/s|mps)|(?P<kmh>km/?h|kph)|(?P<mph>mph))(?![a-z])"
)
_BARE_SPEED = re.compile(rf"(?P<before>\D*?) ?(?P<n>{_NUMBER}) ?(?P<after>\D*)")
_FILLERS = re.compile(r"\b(?:wind|from|at|the)\b|[/,]")
_DEGREES = re.compile(r"(?P<plain>[0-9]{3})|(?P<marked>[0-9]{1,3}) ?(?:°|deg(?:rees?)?)")
_POINTS = frozenset(
    ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
)
_WORDS = (("north", "N"), ("south", "S"), ("east", "E"), ("west", "W"), ("-", ""), (" ", ""))


@dataclass(frozen=True, slots=True)
class WindTold:
    """Knots, to one decimal, and where the wind comes from: a compass point or degrees. None: not stated."""

    knots: float | None
    direction: str | None
    raw: str


def read_wind(text: str) -> WindTold | Ask | Unread:
    """The wind that the whole text states. Asks: read.wind.unit and .impossible."""
    raw, words = text.strip(), squeezed(text)
    speed = _SPEED.search(words)
    if speed is None:
        return _without_unit(words, raw)
    rest = _unfilled(f"{words[: speed.start()]} {words[speed.end() :]}")
    direction = _direction(rest) if rest else None
    if isinstance(direction, Unread):
        return direction
    knots = round(decimal(speed["n"]) * _KNOTS[speed.lastgroup or "kn"], 1)
    return _within(WindTold(knots, direction, raw))


def _without_unit(words: str, raw: str) -> WindTold | Ask | Unread:
    """A direction alone, or a speed that lacks its unit; three bare digits may be either."""
    rest = _unfilled(words)
    direction = _direction(rest)
    if isinstance(direction, str) and ("from" in words or not rest.isdigit()):
        return _within(WindTold(None, direction, raw))
    bare = _BARE_SPEED.fullmatch(rest)
    if bare is None:
        return UNREAD
    around = f"{bare['before']} {bare['after']}".strip()
    if around and isinstance(_direction(around), Unread):
        return UNREAD
    return Ask("read.wind.unit", {"value": bare["n"]})


def _within(told: WindTold) -> WindTold | Ask:
    degrees = int(told.direction) if told.direction and told.direction.isdigit() else 0
    if degrees > 360 or (told.knots or 0.0) > _STRONGEST_KN:
        return Ask("read.wind.impossible", {"raw": told.raw})
    return told


def _unfilled(words: str) -> str:
    return " ".join(_FILLERS.sub(" ", words).split())


def _direction(words: str) -> str | Unread:
    """The compass point, as letters, or the degrees that the words name."""
    match = _DEGREES.fullmatch(words)
    if match:
        return match["plain"] or match["marked"]
    point = words
    for word, letter in _WORDS:
        point = point.replace(word, letter)
    return point.upper() if point.upper() in _POINTS else UNREAD
