"""The ensemble: many coolers that fit what was said, each weighed by how well it fits what was read.

All figures of a draw are guesses with a spread (common practice, no source), made narrower by each reading.
Pure: the same facts and the same seed give the same answer. Needs numpy, as `heat` does.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .heat import LEAST_KG, Draws, State, Walls, add_ice, put_in, step, take_out, warm

DRAWS = 1500
STEP_S = 900.0
JAR_J_PER_K = 380.0  # 120 mL of water and oil, and the glass
BOTTLE_J_PER_K = 1500.0  # the check bottle and the air
OPENING_J = 10_000.0
CONTACT_W_PER_K, CONTACT_SPREAD = 2.0, 0.45
SHARE = (0.12, 0.38)
ICE_SPREAD = 0.08
READ_C = 0.5  # how far a bottle's reading may lie from the contents' mean
LEFT = {"plenty": (0.40, 1.1), "some": (0.06, 0.62), "none": (-0.1, 0.04)}  # parts of the ice put in
LEFT_SOFT = 0.07
LEAST_DRAWS = 60.0  # that count; fewer, and the readings are believed less
PLACES = (0.1, 0.5, 0.9)
FAN = 240  # points of a chart: two an hour
OFF_PLACES = (0.005, 0.995)


@dataclass
class _Run:
    """All draws on their way, with their weights."""

    state: State
    walls: Walls
    outside: Draws
    put: Draws
    rng: np.random.Generator
    log_weight: Draws
    misses: list[bool] = field(default_factory=list)


def forecast(known: dict[str, Any]) -> dict[str, Any]:
    """Times by which a tenth, half and nine tenths of the weight are past the limits, in s as `known` counts.

    `known` is as `known.py` makes it. "off" stands for `disagree` where the last two readings lie outside
    nearly all draws. None for a time: not before "until".
    """
    run = _begin(known)
    at = float(known["start"])
    for when, what, value in sorted(known["events"], key=lambda event: event[0]):
        _go(run, at, min(when, known["now"]))
        at = min(when, known["now"])
        EVENTS[what](run, value)
    _go(run, at, known["now"])
    weight = _weights(run.log_weight)
    if run.misses[-2:] == [True, True]:
        return {"off": "disagree", "draws": int(weight.size)}
    return _ahead(run, weight, known)


def _begin(known: dict[str, Any]) -> _Run:
    size = int(known.get("draws", DRAWS))
    rng = np.random.default_rng(known["seed"])
    median, spread = known["walls"]
    walls = Walls(
        conductance=median * np.exp(spread * rng.standard_normal(size)),
        share=rng.uniform(*SHARE, size),
        contact=CONTACT_W_PER_K * np.exp(CONTACT_SPREAD * rng.standard_normal(size)),
    )
    celsius, sd = known["outside"]
    outside = celsius + sd * rng.standard_normal(size)
    first = np.clip(rng.uniform(0.0, 1.0, size) * np.maximum(outside, 3.0), 2.0, 30.0)
    zeros = np.zeros(size)
    state = State(zeros, np.full(size, LEAST_KG), zeros.copy(), first, np.full(size, BOTTLE_J_PER_K))
    return _Run(state, walls, outside, zeros.copy(), rng, zeros.copy())


def _go(run: _Run, since: float, until: float) -> None:
    span = until - since
    steps = max(1, math.ceil(span / STEP_S)) if span > 0 else 0
    for _ in range(steps):
        step(run.state, run.walls, run.outside, span / steps)


def _ice(run: _Run, value: list[float]) -> None:
    kg, fresh = value
    put = kg * np.maximum(0.2, 1 + ICE_SPREAD * run.rng.standard_normal(run.put.size))
    run.put = put + (0.0 if fresh else run.state.ice)
    add_ice(run.state, put, bool(fresh))


def _jars_in(run: _Run, value: list[float]) -> None:
    count, celsius = value
    put_in(run.state, JAR_J_PER_K * count, celsius + 2 * run.rng.standard_normal(run.put.size))


def _jars_out(run: _Run, count: float) -> None:
    take_out(run.state, JAR_J_PER_K * count, BOTTLE_J_PER_K)


def _opened(run: _Run, count: float) -> None:
    warm(run.state, count * OPENING_J * np.exp(0.5 * run.rng.standard_normal(run.put.size)))


def _outside(run: _Run, value: list[float]) -> None:
    celsius, sd = value
    run.outside = celsius + sd * run.rng.standard_normal(run.put.size)


def _read(run: _Run, celsius: float) -> None:
    """Before it is believed, a reading is held against what the draws expect."""
    weight = _weights(run.log_weight)
    noisy = run.state.inside + READ_C * run.rng.standard_normal(weight.size)
    low, high = _places(noisy, weight, OFF_PLACES)
    run.misses.append(not low - READ_C <= celsius <= high + READ_C)
    run.log_weight = run.log_weight - 0.5 * ((run.state.inside - celsius) / READ_C) ** 2


def _left(run: _Run, word: str) -> None:
    low, high = LEFT[word]
    part = run.state.ice / np.maximum(run.put, 0.01)
    over = 1 / (1 + np.exp(-(part - low) / LEFT_SOFT * 2))
    under = 1 / (1 + np.exp((part - high) / LEFT_SOFT * 2))
    run.log_weight = run.log_weight + np.log(over * under + 1e-6)


EVENTS: dict[str, Callable[[_Run, Any], None]] = {
    "ice": _ice, "in": _jars_in, "out": _jars_out, "opened": _opened, "outside": _outside,
    "read": _read, "left": _left,
}  # fmt: skip


def _weights(log_weight: Draws) -> Draws:
    """Weights that sum to one; where too few draws would count, all readings are believed less."""
    shifted = log_weight - log_weight.max()
    power = 1.0
    while True:
        weight: Draws = np.exp(power * shifted)
        weight /= weight.sum()
        if 1 / np.square(weight).sum() >= min(LEAST_DRAWS, weight.size / 2) or power < 1e-3:
            return weight
        power *= 0.7


def _places(values: Draws, weight: Draws, places: tuple[float, ...]) -> list[float]:
    """The weighted quantiles; values may be infinite."""
    order = np.argsort(values)
    sums = np.cumsum(weight[order])
    found = np.searchsorted(sums, np.array(places) * sums[-1])
    return [float(values[order][min(int(place), values.size - 1)]) for place in found]


def _ahead(run: _Run, weight: Draws, known: dict[str, Any]) -> dict[str, Any]:
    now, span = float(known["now"]), float(known["span"])
    warm_at, cold_at = _Passing(weight.size), _Passing(weight.size)
    limit, freezing = float(known["limit"]), float(known["freezing"])
    fan: list[list[float]] = []
    every = max(1, int(span / STEP_S / FAN))
    at, count = now, 0
    warm_at.look(run.state.inside > limit, run.state.inside, run.state.inside, limit, now)
    cold_at.look(run.state.inside <= freezing, run.state.inside, run.state.inside, freezing, now)
    while at < now + span:
        before = run.state.inside
        if count % every == 0:
            fan.append([at, *_places(before, weight, PLACES)])
        step(run.state, run.walls, run.outside, STEP_S)
        at, count = at + STEP_S, count + 1
        inside = run.state.inside
        warm_at.look(inside > limit, before, inside, limit, at)
        cold_at.look(inside <= freezing, before, inside, freezing, at)
        if count % 4 == 0 and weight[~warm_at.yet].sum() > 0.97:
            break
    return {
        "off": None,
        "warm": [_finite(one) for one in _places(warm_at.at, weight, PLACES)],
        "freezing": [_finite(one) for one in _places(cold_at.at, weight, PLACES)],
        "until": at,
        "fan": fan,
        "draws": int(weight.size),
    }


class _Passing:
    """When each draw first passed a limit; `yet` are those that have not."""

    def __init__(self, size: int) -> None:
        self.at = np.full(size, np.inf)
        self.yet = np.ones(size, dtype=bool)

    def look(self, past: NDArray[np.bool_], before: Draws, after: Draws, limit: float, at: float) -> None:
        """Draws that are past it at the end of a step passed it within, in proportion."""
        fresh = past & self.yet
        if not fresh.any():
            return
        moved = after[fresh] - before[fresh]
        part = np.where(moved == 0, 1.0, (limit - before[fresh]) / np.where(moved == 0, 1.0, moved))
        self.at[fresh] = at - STEP_S * (1 - np.clip(part, 0.0, 1.0))
        self.yet &= ~fresh


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
