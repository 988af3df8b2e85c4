"""How oil looks from above, by the five classes of the Bonn Agreement's appearance code.

A. Lewis, Current Status of the BAOAC, January 2007, table 1: thickness by class. The code is made for
aircraft; from a quay or a boat no volume follows from it. Above about 3 um looks tell little of thickness
(Fingas, J. Mar. Sci. Eng. 9(1) 97, 2021), so classes 3 to 5 are weak. The older seven classes are others.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

LITRES_PER_UM_KM2 = 1000.0  # 1 um over 1 km2 is 1 m3


class SeenFrom(StrEnum):
    """Where the observer stood."""

    AIR = "air"
    BOAT = "boat"
    QUAY = "quay"


@dataclass(frozen=True, slots=True)
class Look:
    """A class of the code: thickness in micrometres; `most_um` is None where the class has no upper end."""

    code: int
    name: str
    least_um: float
    most_um: float | None


@dataclass(frozen=True, slots=True)
class NoVolume:
    """The refusal: from there no litres follow from looks."""

    seen_from: SeenFrom


LOOKS = {
    look.code: look
    for look in (
        Look(1, "sheen (silvery/grey)", 0.04, 0.30),
        Look(2, "rainbow", 0.30, 5.0),
        Look(3, "metallic", 5.0, 50.0),
        Look(4, "discontinuous true oil colour", 50.0, 200.0),
        Look(5, "continuous true oil colour", 200.0, None),
    )
}
_WORDS = (
    (1, re.compile(r"silver\w*|grey sheen|gray sheen|sheen \(silvery/grey\)")),
    (2, re.compile(r"rainbow\w*")),
    (3, re.compile(r"metallic")),
    (4, re.compile(r"(?:discontinuous|broken)(?: true)?(?: oil)?(?: colou?r)?")),
    (5, re.compile(r"(?:continuous|unbroken)(?: true)?(?: oil)?(?: colou?r)?")),
)
_CODE = re.compile(r"(?:bonn |appearance )?code ([1-5])")


def code_of(words: str) -> int | None:
    """The class that an observer names by its code or name, and by nothing else; None for other words."""
    said = " ".join(words.lower().rstrip(".").split())
    named = _CODE.fullmatch(said)
    if named is not None:
        return int(named[1])
    return next((code for code, pattern in _WORDS if pattern.fullmatch(said)), None)


def litres(code: int, area_km2: float, seen_from: SeenFrom) -> tuple[float, float | None] | NoVolume:
    """(least, most) litres over an oiled area seen from the air; no most where the class has none.

    Raises KeyError for a code that is none, ValueError for an area below 0.
    """
    if seen_from is not SeenFrom.AIR:
        return NoVolume(seen_from)
    if area_km2 < 0:
        raise ValueError("an area is not below 0")
    look = LOOKS[code]
    most = None if look.most_um is None else look.most_um * area_km2 * LITRES_PER_UM_KM2
    return look.least_um * area_km2 * LITRES_PER_UM_KM2, most
