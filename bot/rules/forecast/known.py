"""What is known of a cooler, as the ensemble takes it; or why that is too little, and what would help."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, TypeAlias

from ...model.cold import FOREVER_US, Life
from ...model.entries import CoolerTold
from ...model.times import DAY_US, HOUR_US
from ..cold import AT_RISK, COOLING, FREEZING, OVER, bands, class_told, is_fridge
from ..limits import Limits

Event: TypeAlias = tuple[int, str, Any]

SPAN_S = 5 * 86_400
OLDEST_US = 6 * DAY_US
STALE_US = DAY_US
WALLS_SPREAD = 0.25  # of the logarithm: a guess, common practice, no source
JAR_LATER_C = 12.0  # a jar that came in before the ice is somewhere between outside and cold


@dataclass(frozen=True)
class Known:
    """Enough to go on: the ensemble's facts, from `start_us` on; `better` would make it surer."""

    facts: dict[str, Any]
    start_us: int
    better: tuple[str, ...]


@dataclass(frozen=True)
class Lacking:
    """No forecast: `why` names the reason, `better` what would help."""

    why: str
    better: tuple[str, ...] = ()


def known_of(life: Life, cooler_class: str | None, limits: Limits, now_us: int, seed: int) -> Known | Lacking:
    """What the ensemble needs; a reading always beats it, so there is none over the limit."""
    kind = class_told(life, cooler_class)
    if is_fridge(kind):
        return Lacking("fridge", ("reading",))
    refused = _read_as(life, limits)
    if refused is not None:
        return refused
    start_us = _start(life, now_us)
    outside = next((t for t in reversed(life.told) if t.outside_celsius is not None), None)
    missing = [("class", kind), ("ice", start_us), ("outside", outside)]
    lacks = tuple(name for name, value in missing if value is None)
    if lacks or kind is None or start_us is None or outside is None:
        return Lacking("too_little", lacks)
    if _no_ice(life, start_us):
        return Lacking("no_ice", ("ice",))
    if now_us - _last_word(life) > STALE_US:
        return Lacking("stale", ("reading",))
    facts = _facts(life, kind, limits, start_us, now_us, seed)
    return Known(facts, start_us, _better(life, start_us, now_us))


def conductance(kind: str, limits: Limits) -> float:
    """The walls' W/K of a class, by its words: a foam box, thick, basic or small, else ordinary."""
    words = kind.lower()
    if "foam" in words:
        return limits.cooler_foam_w_per_k
    if "thick" in words:
        return limits.cooler_thick_w_per_k
    return limits.cooler_basic_w_per_k if "basic" in words else limits.cooler_ordinary_w_per_k


def ice_gone_hours(kg: float, w_per_k: float, outside_c: float) -> float:
    """When ice is gone by the plain rule: 334 kJ/kg over conductance times what outside exceeds 2 C."""
    return 334_000 * kg / (w_per_k * (outside_c - 2) * 3600)


def _read_as(life: Life, limits: Limits) -> Lacking | None:
    judged = bands(life, limits)
    if not judged:
        return None
    if judged[-1] in (AT_RISK, OVER):
        return Lacking("over", ("reading",))
    if judged[-1] == FREEZING:
        return Lacking("freezing", ("reading",))
    return Lacking("cooling", ("reading",)) if judged[-1] == COOLING else None


def _start(life: Life, now_us: int) -> int | None:
    """When the ice that counts went in first; what lies too far back counts no more."""
    iced = [t for t in life.told if t.ice_kg and now_us - OLDEST_US <= t.at_us <= now_us]
    fresh = [t.at_us for t in iced if t.repacked]
    return fresh[-1] if fresh else min((t.at_us for t in iced), default=None)


def _no_ice(life: Life, start_us: int) -> bool:
    """The last word on ice is that none is left."""
    words = [(at, word) for at, word in _left_words(life) if at >= start_us]
    if not words or max(words)[1] != "none":
        return False
    return not any(t.ice_kg for t in life.told if t.at_us > max(words)[0])


def _left_words(life: Life) -> Iterator[tuple[int, str]]:
    yield from ((reading.at_us, reading.ice_left) for reading in life.readings if reading.ice_left)
    yield from ((told.at_us, told.ice_left) for told in life.told if told.ice_left)


def _last_word(life: Life) -> int:
    return max(_words(life), default=0)


def _words(life: Life) -> Iterator[int]:
    """When anything was told of the cooler."""
    yield from (reading.at_us for reading in life.readings)
    yield from (told.at_us for told in life.told)


def _better(life: Life, start_us: int, now_us: int) -> tuple[str, ...]:
    found = []
    if not any(r.at_us > max(start_us, now_us - 4 * HOUR_US) for r in life.readings):
        found.append("reading")
    if not any(at > max(start_us, now_us - 8 * HOUR_US) for at, _ in _left_words(life)):
        found.append("ice_left")
    if not any(t.shade for t in life.told):
        found.append("shade")
    return tuple(found)


def _facts(life: Life, kind: str, limits: Limits, start_us: int, now_us: int, seed: int) -> dict[str, Any]:
    def after(us: int) -> float:
        return max(0.0, (us - start_us) / 1_000_000)

    outside = _outside_at(life, limits, start_us)
    events = sorted(_events(life, limits, start_us, outside[0]), key=lambda event: event[0])
    return {
        "seed": seed,
        "walls": [conductance(kind, limits), WALLS_SPREAD],
        "outside": list(outside),
        "start": 0.0,
        "now": after(now_us),
        "span": SPAN_S,
        "limit": limits.cold_limit_c,
        "freezing": limits.cold_freezing_c,
        "events": [[after(us), what, value] for us, what, value in events if us <= now_us],
    }


def _events(life: Life, limits: Limits, start_us: int, outside_c: float) -> Iterator[Event]:
    for told in life.told:
        if told.at_us >= start_us:
            yield from _told_events(life, limits, told, start_us)
    yield from _jar_events(life, start_us, outside_c)
    yield from ((at_us, "left", word) for at_us, word in _left_words(life) if at_us > start_us)
    yield from ((r.at_us, "read", r.celsius) for r in life.readings if r.at_us >= start_us)


def _jar_events(life: Life, start_us: int, outside_c: float) -> Iterator[Event]:
    for stay in life.stays:
        if stay.until_us > start_us:
            yield stay.from_us, "in", [1, outside_c if stay.from_us >= start_us else JAR_LATER_C]
            if stay.until_us < FOREVER_US:
                yield stay.until_us, "out", 1


def _told_events(life: Life, limits: Limits, told: CoolerTold, start_us: int) -> Iterator[Event]:
    if told.at_us > start_us and (told.outside_celsius is not None or told.shade is not None):
        yield told.at_us, "outside", list(_outside_at(life, limits, told.at_us))
    if told.ice_kg:
        yield told.at_us, "ice", [told.ice_kg, int(told.repacked or told.at_us == start_us)]
    for nth in range(1, (told.opened or 0) + 1):  # they came on top since the last word on the cooler
        since_us = max((us for us in _words(life) if us < told.at_us), default=start_us)
        since_us = max(since_us, start_us)
        yield since_us + (told.at_us - since_us) * nth // (told.opened or 1), "opened", 1


def _outside_at(life: Life, limits: Limits, at_us: int) -> tuple[float, float]:
    """(C, spread): what the walls meet, as last told by then, else as told first after."""
    told = [t for t in life.told if t.outside_celsius is not None]
    celsius = next((t for t in reversed(told) if t.at_us <= at_us), told[0]).outside_celsius or 0.0
    shade = next((t.shade for t in reversed(life.told) if t.shade and t.at_us <= at_us), None)
    match shade:
        case "sun":
            return celsius + 0.6 * limits.sun_celsius, 0.3 * limits.sun_celsius
        case "vehicle":
            return celsius + 3.0, 4.0
        case "shade":
            return celsius, 2.0
    return celsius + 1.0, 3.0
