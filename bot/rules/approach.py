"""How something cools towards what is around it, fitted to readings: a rate, or a refusal to name one.

The curve is y = b1 (1 - exp(-b2 x)): b1 how far it will have come in the end, b2 the rate. It is found by
damped least squares (Levenberg 1944, Marquardt 1963). Where readings do not settle both, none is reported.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from ..model.cold import Life
from ..model.times import HOUR_US
from .cold import COOLING, bands
from .limits import Limits

Points: TypeAlias = Sequence[tuple[float, float]]

MOST_STEPS = 500
LEAST_READINGS = 4
LEAST_GAIN = 1e-14  # of the sum of squares, below which a step changes nothing
WORST_SD = 0.5  # of the rate itself; beyond it, it is not known


@dataclass(frozen=True)
class Approach:
    """Both parameters with their standard deviations, and the sum of squares left over."""

    b1: float
    b2: float
    sd1: float
    sd2: float
    rss: float

    @property
    def settled(self) -> bool:
        """The rate is known well enough to speak of."""
        return self.b1 > 0 and self.b2 > 0 and self.sd2 < WORST_SD * self.b2


@dataclass(frozen=True)
class Undetermined:
    """The readings, or the start, give no one curve; `why` says what was met."""

    why: str


def fit_approach(points: Points, start: tuple[float, float]) -> Approach | Undetermined:
    """The curve through these (x, y), from a start of (b1, b2)."""
    if len({x for x, _ in points}) < 3:
        return Undetermined("fewer than three instants")
    b1, b2 = start
    rss, damping = _rss(points, b1, b2), 1e-3
    for _ in range(MOST_STEPS):
        step = _step(points, b1, b2, damping)
        if step is None:
            return Undetermined("the curve is flat here: the rate changes nothing")
        tried = _rss(points, b1 + step[0], b2 + step[1])
        if tried <= rss:
            done = rss - tried <= LEAST_GAIN * rss
            b1, b2, rss, damping = b1 + step[0], b2 + step[1], tried, max(damping / 10, 1e-12)
            if done:
                return _settled(points, b1, b2, rss)
        else:
            damping *= 10
            if damping > 1e12:
                return _settled(points, b1, b2, rss)
    return Undetermined("no end after many steps")


def _settled(points: Points, b1: float, b2: float, rss: float) -> Approach | Undetermined:
    """The deviations from the curvature; none where that is flat."""
    a11, a12, a22 = _normal(points, b1, b2)[0]
    whole = a11 * a22 - a12 * a12
    if not whole > 1e-10 * a11 * a22:
        return Undetermined("the readings settle one parameter only")
    variance = rss / max(1, len(points) - 2)
    found = Approach(b1, b2, math.sqrt(variance * a22 / whole), math.sqrt(variance * a11 / whole), rss)
    return found if found.settled else Undetermined("the rate is less sure than half of itself")


def _rss(points: Points, b1: float, b2: float) -> float:
    try:
        return sum((y - b1 * (1 - math.exp(-b2 * x))) ** 2 for x, y in points)
    except OverflowError:
        return math.inf


def _normal(points: Points, b1: float, b2: float) -> tuple[tuple[float, float, float], tuple[float, float]]:
    """The normal equations at this place: (the matrix's three numbers, the right side)."""
    a11 = a12 = a22 = r1 = r2 = 0.0
    for x, y in points:
        decay = math.exp(-b2 * x)
        d1, d2, left = 1 - decay, b1 * x * decay, y - b1 * (1 - decay)
        a11, a12, a22 = a11 + d1 * d1, a12 + d1 * d2, a22 + d2 * d2
        r1, r2 = r1 + d1 * left, r2 + d2 * left
    return (a11, a12, a22), (r1, r2)


def _step(points: Points, b1: float, b2: float, damping: float) -> tuple[float, float] | None:
    (a11, a12, a22), (r1, r2) = _normal(points, b1, b2)
    if not (a11 > 0 and a22 > 1e-18 * a11):
        return None
    c11, c22 = a11 * (1 + damping), a22 * (1 + damping)
    whole = c11 * c22 - a12 * a12
    return ((c22 * r1 - a12 * r2) / whole, (c11 * r2 - a12 * r1) / whole) if whole > 0 else None


def newton_rate(first: float, later: float, around: float, hours: float) -> float:
    """The rate per hour with which something went from `first` to `later`, C or F alike."""
    return math.log((first - around) / (later - around)) / hours


def newton_hours(first: float, later: float, around: float, rate: float) -> float:
    """How many hours it takes from `first` to `later` at a rate per hour."""
    return math.log((first - around) / (later - around)) / rate


def under_at_us(life: Life, limits: Limits) -> int | None:
    """When jars that cool down will be in range at the fitted rate, None where that is not known."""
    judged = bands(life, limits)
    count = next((n for n, one in enumerate(reversed(judged)) if one != COOLING), len(judged))
    cooling = life.readings[len(judged) - count :]
    if len(cooling) < LEAST_READINGS:
        return None
    first, last = cooling[0], cooling[-1]
    points = [((r.at_us - first.at_us) / HOUR_US, first.celsius - r.celsius) for r in cooling]
    fitted = fit_approach(points, (max(y for _, y in points) * 1.5, 1.0))
    if not isinstance(fitted, Approach):
        return None
    around = first.celsius - fitted.b1
    if around >= limits.cold_limit_c or last.celsius <= limits.cold_limit_c:
        return None
    hours = newton_hours(last.celsius, limits.cold_limit_c, around, fitted.b2)
    return last.at_us + round(hours * HOUR_US)
