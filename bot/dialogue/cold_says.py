"""What is answered to those who tell of coolers: on record, its band, what to do and when to read again."""

from __future__ import annotations

from ..model.base import JsonValue
from ..model.cold import Life
from ..model.entries import CoolerRead, CoolerTold
from ..model.sample import Sample
from ..rules.approach import under_at_us
from ..rules.cold import COOLING, FREEZING, OK, bands, next_reading_due_us, water_in
from .read_back import as_typed, clock_text
from .turn import Turn


def instant_text(turn: Turn, at_us: int) -> str:
    """HH:MM in the unit's zone, with its date where that is not today's."""
    offset = turn.trade.offset_minutes(at_us)
    value: dict[str, JsonValue] = {"at_us": at_us, "offset_minutes": offset}
    return clock_text(value, turn.trade, turn.message.received_us)


def told_text(turn: Turn, body: CoolerTold) -> str:
    """What was told of the cooler, in a few words, on record."""
    parts = [body.cooler_class or "", _ice(turn, body)]
    if body.outside_celsius is not None:
        parts.append(turn.word("cooler.part.outside", celsius=f"{body.outside_celsius:g}"))
    if body.shade is not None:
        parts.append(turn.word(f"cooler.where.{body.shade}"))
    if body.opened is not None:
        parts.append(turn.word("cooler.part.opened", count=body.opened))
    if body.flammables is not None:
        parts.append(turn.word("cooler.part.approved" if body.flammables else "cooler.part.not_approved"))
    return turn.word("cooler.told", cooler=body.cooler, parts=", ".join(part for part in parts if part))


def _ice(turn: Turn, body: CoolerTold) -> str:
    parts: list[str] = [turn.word("cooler.part.repacked")] if body.repacked else []
    if body.ice_kg is not None:
        parts.append(turn.word("cooler.part.kg", kg=f"{body.ice_kg:g}"))
    elif body.ice_bags is not None:
        parts.append(turn.word("cooler.part.bags", bags=f"{body.ice_bags:g}"))
    if body.ice_left is not None:
        parts.append(turn.word("cooler.part.left", left=turn.word(f"cooler.left.{body.ice_left}")))
    return ", ".join(parts)


def reading_text(turn: Turn, life: Life, body: CoolerRead, when: dict[str, object] | None) -> str:
    """The reading on record; out of range, which limit it passes, what to do, and when to read again."""
    limits = turn.trade.limits
    value = as_typed(body.raw)
    if when is not None:
        at = clock_text(when, turn.trade, turn.message.received_us)
        value = turn.word("cooler.at", value=value, at=at)
    if body.ice_left is not None:
        left = turn.word(f"cooler.left.{body.ice_left}")
        value = f"{value}, {turn.word('cooler.part.left', left=left)}"
    shown = {"cooler": body.cooler, "value": value}
    place = max(n for n, r in enumerate(life.readings) if r.at_us == body.at_us)
    judged = bands(life, limits, water_in(life, _jars(turn, life)))[place]
    if judged == OK:
        return turn.word("cooler.read", **shown)
    due_us = next_reading_due_us(life, limits) or turn.message.received_us
    again = instant_text(turn, max(due_us, turn.message.received_us))
    if judged == COOLING:
        under_us = under_at_us(life, limits)
        under = {"limit": f"{limits.cold_limit_c:.1f}", "under": instant_text(turn, under_us or 0)}
        if under_us is not None:
            return turn.word("cooler.cooling_till", again=again, **under, **shown)
        return turn.word("cooler.cooling", again=again, **shown)
    first = "" if body.second else turn.word("cooler.second") + " "
    if judged == FREEZING:
        limit = f"{limits.cold_freezing_c:.1f}"
        return turn.word("cooler.freezing", limit=limit, first=first, again=again, **shown)
    limit = f"{limits.cold_limit_c:.1f}"
    return turn.word("cooler.warm", limit=limit, first=first, again=again, **shown)


def _jars(turn: Turn, life: Life) -> dict[str, Sample]:
    """The jars that were in it when it was freezing, where it ever was; else none is read."""
    coldest = min((reading.celsius for reading in life.readings), default=0.0)
    if coldest > turn.trade.limits.cold_freezing_c:
        return {}
    ids = {
        id_
        for r in life.readings
        if r.celsius <= turn.trade.limits.cold_freezing_c
        for id_ in life.inside(r.at_us)
    }
    return {id_: turn.sample(id_) for id_ in sorted(ids)}
