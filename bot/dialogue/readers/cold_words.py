"""What a line says of a cooler, its parts in any order: ice, outside, sun or shade, openings, a reading.

Each part is taken out of the line as it is read; what is left over was not understood.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ..keywords import NOW
from .amounts import TemperatureTold, read_temperature
from .base import Ask, decimal, folded
from .day_forms import any_of

_NOW = any_of(NOW)
_KG_PER_LB = 0.45359237  # exact, the international pound
_DEGREES = r"(?:minus |[-+])?\d{1,3}(?:[.,]\d{1,4})? ?(?:°|deg(?:ree)?s?\.?)? ?(?:[cf]\b)?"
_MASS = r"(?P<n>\d{1,3}(?:[.,]\d{1,3})?) ?(?P<unit>kgs?|kilos?|lbs?|pounds?)\b"
_ICE = r"(?:(?: of)? ice\b)?"
_THERMOMETER = re.compile(
    r"\b(?:(?P<second>second|2nd|other|another) )?therm(?:ometer|o)?\b(?: (?P<name>[a-z]\w{0,7}\b))?"
)
_SECOND = re.compile(r"\b(?:second|2nd) (?:reading|one)\b")
_BAGS_OF = re.compile(rf"\b(?P<bags>\d{{1,2}}) ?(?:bags?(?: of| x)?|x) ?{_MASS}{_ICE}")
_KG = re.compile(rf"(?:\bice )?\b{_MASS}{_ICE}")
_BAGS = re.compile(rf"\b(?P<bags>\d{{1,2}}) bags?\b{_ICE}")
_LEFT = re.compile(
    r"\bice(?: left| is| still)*:? (?P<after>plenty|lots|full|some|little|half|none|gone|no)\b"
    r"|\b(?P<before>plenty|lots|some|little|no)(?: of)? ice\b(?: left)?"
    r"|\b(?P<melted>half|all|nearly all) melted\b"
)
_LEFT_WORDS = {
    **dict.fromkeys(("plenty", "lots", "full"), "plenty"),
    **dict.fromkeys(("some", "little", "half", "nearly all"), "some"),
    **dict.fromkeys(("none", "gone", "no", "all"), "none"),
}
_FRESH = re.compile(r"\b(?:repacked|refilled|fresh|new) ?(?:with )?(?=ice\b|\d|$)|\brepacked\b")
_ICE_ALONE = re.compile(r"\bice\b")
_TOP_UP = re.compile(r"\b(?:topped up|top up|top-up|added|plus|with|and)\b")
_OUTSIDE = re.compile(rf"\b(?:outside|ambient|air)(?: is| at)? (?P<degrees>{_DEGREES})")
_SHADE = re.compile(r"\b(?:in |in the |full )*(?P<where>sun|shade|vehicle|van|car|truck)\b")
_SHADE_WORDS = {"sun": "sun", "shade": "shade"}
_OPENED = re.compile(
    r"\b(?:lid |door )?opened(?: (?P<n>\d{1,2})\b| (?P<word>once|twice))?(?: ?(?:x|times?)\b)?"
    r"|\b(?P<ajar>(?:lid|door) left open)\b"
)
_CLASS = re.compile(
    r"\b(?:size )?(?P<litres>\d{2,3}) ?(?:l|litres?|liters?)\b(?: (?P<wall>thick|ordinary|basic))?"
    r"|\b(?P<foam>foam(?: box)?)\b|\bsize (?P<size>s|m|l)\b|\b(?P<word>small|medium|large|thick)\b"
)
_APPROVED = re.compile(r"\b(?P<no>not |un)?approved\b(?: for)?(?: flammables?)?(?: (?P<answer>yes|no)\b)?")
_AT = re.compile(
    rf"\bat (?P<time>\d{{1,2}}[:.h]\d{{2}}|\d{{3,4}}|{_NOW})\b(?: ?(?P<half>am|pm|a\.m\.|p\.m\.))?"
)
_TIME = re.compile(rf"(?<![\d.,-])\b(?P<time>\d{{1,2}}[:h]\d{{2}}|\d{{4}}|{_NOW})\b(?![.,]\d)")
_READING = re.compile(rf"(?<![\w.,]){_DEGREES}(?=\s|$)")
_FILLER = re.compile(r"\b(?:reads?|is|was|temp(?:erature)?|reading|bottle|check bottle|the|in)\b|[,;]")

_SIZES = {
    **dict.fromkeys(("s", "small"), "25 L basic"),
    **dict.fromkeys(("m", "medium", "l", "large"), "50 L ordinary"),
    "thick": "50 L thick",
}


_GLUED = re.compile(r"([A-Za-z]+)([-+]?\d+(?:[.,]\d+[cf]?|[cf]))", re.IGNORECASE)


def parted_reading(word: str) -> tuple[str, ...]:
    """A cooler's name and the reading typed against it ("M4.2C"); "M4" may be a name."""
    glued = _GLUED.fullmatch(word)
    return (word,) if glued is None else (glued[1], glued[2])


@dataclass
class ColdWords:
    """What one line says; None is not stated. Ice in kg, temperatures in Celsius; `time` as typed."""

    reading: TemperatureTold | None = None
    asks: list[Ask] = field(default_factory=list)
    reading_raw: str = ""
    time: str | None = None
    ice_kg: float | None = None
    ice_bags: float | None = None
    ice_unsaid: bool = False
    repacked: bool = False
    ice_left: str | None = None
    outside_celsius: float | None = None
    shade: str | None = None
    opened: int | None = None
    cooler_class: str | None = None
    flammables: bool | None = None
    thermometer: str | None = None
    second: bool = False
    left: str = ""

    @property
    def more(self) -> bool:
        """Something besides a reading was told."""
        told = (self.ice_kg, self.ice_bags, self.outside_celsius, self.shade, self.opened)
        left = self.ice_left if self.reading is None else None  # with a reading it stands there
        named = (self.cooler_class, self.flammables, left)
        return self.repacked or any(one is not None for one in (*told, *named))


class _Line:
    """The line with what was read taken out."""

    def __init__(self, text: str) -> None:
        self.text = " ".join(folded(text).lower().split())

    def take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        found = pattern.search(self.text)
        if found is not None:
            kept = f"{self.text[: found.start()]} {self.text[found.end() :]}"
            self.text = " ".join(kept.split())
        return found


def read_cold(text: str) -> ColdWords:
    """Everything that the line says of a cooler; the words after its name."""
    line, told = _Line(text), ColdWords()
    for part in (_thermometer, _ice, _around, _what, _when, _reading):
        part(line, told)
    line.take(_TOP_UP)
    told.left = " ".join(_FILLER.sub(" ", line.text).split()).strip(" .")
    if told.left and not told.reading_raw.endswith(("c", "f")):
        _no_reading(told)
    elif told.reading_raw:
        at = text.lower().find(told.reading_raw)
        told.reading_raw = text[at : at + len(told.reading_raw)] if at >= 0 else told.reading_raw
    return told


def _no_reading(told: ColdWords) -> None:
    """A bare figure among words that were not understood counts something else ("9 jars")."""
    told.left = f"{told.reading_raw} {told.left}".strip()
    told.asks = [ask for ask in told.asks if ask.values.get("value", "") != told.reading_raw]
    told.reading, told.reading_raw = None, ""


def _thermometer(line: _Line, told: ColdWords) -> None:
    found = line.take(_THERMOMETER)
    if found is not None:
        told.second, told.thermometer = found["second"] is not None, (found["name"] or "").upper() or None
    told.second = line.take(_SECOND) is not None or told.second


def _ice(line: _Line, told: ColdWords) -> None:
    told.repacked = line.take(_FRESH) is not None
    if (found := line.take(_BAGS_OF)) is not None:
        told.ice_bags = float(found["bags"])
        told.ice_kg = round(told.ice_bags * _kg(found), 3)
    elif (found := line.take(_KG)) is not None:
        told.ice_kg = _kg(found)
    elif (found := line.take(_BAGS)) is not None:
        told.ice_bags = float(found["bags"])
    if (found := line.take(_LEFT)) is not None:
        told.ice_left = _LEFT_WORDS[next(word for word in found.groups() if word)]
    if line.take(_ICE_ALONE) is not None:
        told.ice_unsaid = told.ice_kg is None and told.ice_bags is None and told.ice_left is None


def _kg(found: re.Match[str]) -> float:
    mass = decimal(found["n"])
    return round(mass * _KG_PER_LB, 3) if found["unit"].startswith(("lb", "pound")) else mass


def _around(line: _Line, told: ColdWords) -> None:
    if (found := line.take(_OUTSIDE)) is not None:
        outside = read_temperature(found["degrees"])
        if isinstance(outside, TemperatureTold):
            told.outside_celsius = outside.celsius
        elif isinstance(outside, Ask):
            told.asks.append(outside)
    if (found := line.take(_SHADE)) is not None:
        told.shade = _SHADE_WORDS.get(found["where"], "vehicle")
    if (found := line.take(_OPENED)) is not None:
        told.opened = int(found["n"]) if found["n"] else 2 if found["word"] == "twice" else 1


def _what(line: _Line, told: ColdWords) -> None:
    if (found := line.take(_APPROVED)) is not None:
        told.flammables = found["no"] is None and found["answer"] != "no"
    if (found := line.take(_CLASS)) is not None:
        told.cooler_class = _class(found)


def _class(found: re.Match[str]) -> str:
    if found["foam"]:
        return "foam box"
    if found["litres"]:
        litres, wall = int(found["litres"]), found["wall"]
        return f"{litres} L {wall or ('basic' if litres < 40 else 'ordinary')}"
    return _SIZES[found["size"] or found["word"]]


def _when(line: _Line, told: ColdWords) -> None:
    found = line.take(_AT)
    if found is not None:
        told.time = found["time"] + (f" {found['half']}" if found["half"] else "")
    elif (found := line.take(_TIME)) is not None:
        told.time = found["time"]


def _reading(line: _Line, told: ColdWords) -> None:
    found = line.take(_READING)
    if found is None:
        return
    told.reading_raw = found.group().strip()
    reading = read_temperature(told.reading_raw)
    if isinstance(reading, TemperatureTold):
        told.reading = reading
    elif isinstance(reading, Ask):
        told.asks.insert(0, reading)
