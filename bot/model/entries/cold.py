"""What is told of coolers and fridges, and what was worked out of it."""

from __future__ import annotations

from .base import Body, OfSamples

__all__ = [
    "CoolerCorrected",
    "CoolerCorrectionExplained",
    "CoolerRead",
    "CoolerTold",
    "ForecastMade",
    "JarsMoved",
]


class CoolerRead(Body):
    """A cooler's check bottle read this. `at` is ISO 8601 with offset; Celsius.

    `thermometer` as named; `second` where it was said to be a second one beside the first.
    """

    cooler: str
    celsius: float
    raw: str
    at: str
    at_us: int
    unit_derived: bool = False
    ice_left: str | None = None
    for_sample: str | None = None
    thermometer: str | None = None
    second: bool = False


class CoolerTold(Body):
    """What else was told of a cooler at a time; what is None was not stated. Ice in kg, outside in Celsius.

    Ice and openings are what came on top since they were last told; `repacked` where the old ice went out.
    """

    cooler: str
    at: str
    at_us: int
    words: str
    ice_kg: float | None = None
    ice_bags: float | None = None
    repacked: bool = False
    outside_celsius: float | None = None
    shade: str | None = None
    opened: int | None = None
    ice_left: str | None = None
    cooler_class: str | None = None
    flammables: bool | None = None


class CoolerCorrected(Body):
    """What the entry `of` told of a cooler at `at` was wrong: it stays on record, struck in place.

    `old` and `new` are as typed; what is said instead is an entry of its own, `new` None where nothing is.
    `beside`: another than its author says so; then it strikes nothing and stands beside as theirs.
    """

    cooler: str
    of: str
    at: str
    at_us: int
    old: str
    new: str | None = None
    why: str | None = None
    beside: bool = False


class CoolerCorrectionExplained(Body):
    """Why the author struck what the entry `of` told; None where they would not say."""

    cooler: str
    of: str
    at_us: int
    why: str | None


class JarsMoved(OfSamples):
    """Jars went into a cooler, out of one, or from one into another. `at` is ISO 8601 with offset."""

    into: str | None
    out_of: tuple[str, ...]
    at: str
    at_us: int
    words: str


class ForecastMade(Body):
    """Until when a cooler stays in range was worked out at `made_us`.

    The instants by which one draw in ten, half, and nine in ten were past `limit_c`, and the same for
    freezing; None: not before `until_us`. `off` names why there is none, `better` what would make it surer.
    `asked_by` is None where nobody asked.
    """

    cooler: str
    made_us: int
    limit_c: float
    p10_us: int | None = None
    p50_us: int | None = None
    p90_us: int | None = None
    freezing_p10_us: int | None = None
    freezing_p50_us: int | None = None
    freezing_p90_us: int | None = None
    until_us: int = 0
    draws: int = 0
    seed: int = 0
    off: str | None = None
    better: tuple[str, ...] = ()
    asked_by: str | None = None
    chart: str | None = None
