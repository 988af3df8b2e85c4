"""What was told against which rule. A finding states the difference and never a right value.

Limits are the unit's settings (`limits.py`); the rules themselves: common practice, no source,
except where a function names one.
"""

from __future__ import annotations

from collections.abc import Iterable

from ..model.base import Frozen
from ..model.people import Kit
from ..model.sample import Sample
from ..model.times import MINUTE_US
from .area import Area, Outside, outside
from .geodesy import at_most_m, distance_m, speed_knots
from .limits import Limits


class Finding(Frozen):
    """One difference: the field, the rule's name (and its wording `query.<rule>`), and the facts."""

    field: str
    rule: str
    values: dict[str, str] = {}


def number_block(number_key: str, kits: Iterable[Kit]) -> tuple[Finding, ...]:
    """The number lies in no block of the case's kits; nothing where no kit has a block."""
    blocks = [kit.numbers for kit in kits if kit.numbers is not None]
    if not blocks or (number_key.isdigit() and any(low <= int(number_key) <= high for low, high in blocks)):
        return ()
    return (Finding(field="number", rule="number_block"),)


def seal_range(seal: str, kits: Iterable[Kit]) -> tuple[Finding, ...]:
    """The seal lies in no range of the case's kits; nothing where no kit has a range."""
    ranges = [kit.seals for kit in kits if kit.seals is not None]
    if not ranges or any(_between(seal, low, high) for low, high in ranges):
        return ()
    return (Finding(field="seal", rule="seal_range"),)


def _between(seal: str, low: str, high: str) -> bool:
    """Same letters in front, number between the ends; a seal without digits lies in no range."""
    (prefix, number), (low_prefix, first), (_, last) = map(_parts, (seal, low, high))
    if number is None or first is None or last is None:
        return False
    return prefix == low_prefix and first <= number <= last


def _parts(seal: str) -> tuple[str, int | None]:
    digits = seal[len(seal.rstrip("0123456789")) :]
    prefix = seal[: len(seal) - len(digits)].upper()
    return prefix, int(digits) if digits else None


def time_order(sample: Sample, opened_us: int, before: Sample | None, limits: Limits) -> tuple[Finding, ...]:
    """The time lies ahead of its text, before the case was opened, or before that person's last jar."""
    at = sample.event_us
    if at is None:
        return ()
    fact = sample.facts["time"]
    if at > fact.said_us + limits.time_future_minutes * MINUTE_US:
        minutes = round((at - fact.said_us) / MINUTE_US)
        return (Finding(field="time", rule="time_future", values={"minutes": str(minutes)}),)
    if at < opened_us:
        minutes = round((opened_us - at) / MINUTE_US)
        return (Finding(field="time", rule="time_before_case", values={"minutes": str(minutes)}),)
    if before is not None and before.event_us is not None and _told_later(sample, before, at):
        minutes = round((before.event_us - at) / MINUTE_US)
        values = {"minutes": str(minutes), "other": before.number}
        return (Finding(field="time", rule="time_order", values=values),)
    return ()


def _told_later(sample: Sample, before: Sample, at: int) -> bool:
    """Texts that only arrive out of order are no finding: what was said first must be taken first."""
    return before.event_us is not None and before.event_us > at and before.said_us < sample.said_us


def place_in_area(place: tuple[float, float], area: Area | None) -> tuple[Finding, ...]:
    """The place lies outside the unit's operating area."""
    if area is None:
        return ()
    where = outside(area, *place)
    if not isinstance(where, Outside):
        return ()
    values = {"distance": distance_words(where.metres), "direction": where.direction}
    return (Finding(field="position", rule="area", values=values),)


def speed_between(sample: Sample, before: Sample | None, limits: Limits) -> tuple[Finding, ...]:
    """The way from that person's last place was faster than the limit. Times as told, else as said."""
    if before is None or sample.place is None or before.place is None:
        return ()
    elapsed_s = abs(_when(sample) - _when(before)) / 1_000_000
    if _is_slow(at_most_m(before.place, sample.place), elapsed_s, limits):
        return ()
    metres = distance_m(before.place, sample.place)
    if _is_slow(metres, elapsed_s, limits):
        return ()
    values = {
        "distance": distance_words(metres),
        "other": before.number,
        "minutes": str(round(elapsed_s / 60)),
    }
    return (Finding(field="position", rule="speed", values=values),)


def _is_slow(metres: float, elapsed_s: float, limits: Limits) -> bool:
    return metres < 200 or (elapsed_s > 0 and speed_knots(metres, elapsed_s) <= limits.speed_knots)


def _when(sample: Sample) -> int:
    return sample.said_us if sample.event_us is None else sample.event_us


def distance_words(metres: float) -> str:
    """Metres under a kilometre, one decimal under ten, whole kilometres beyond."""
    if metres < 1000:
        return f"{metres:.0f} m"
    kilometres = metres / 1000
    return f"{kilometres:.1f} km" if kilometres < 10 else f"{kilometres:.0f} km"


def hot_oil(sample: Sample, limits: Limits) -> tuple[Finding, ...]:
    """The oil was told hotter than what burns hands and cracks cold glass."""
    celsius = sample.told("oil_temp").get("celsius")
    if not isinstance(celsius, (int, float)) or celsius <= limits.hot_oil_c:
        return ()
    return (Finding(field="oil_temp", rule="hot_oil", values={"limit": f"{limits.hot_oil_c:g}"}),)


def came_late(said_us: int, received_us: int, limits: Limits) -> bool:
    """The text was this old when it arrived."""
    return received_us - said_us > limits.late_minutes * MINUTE_US
