"""How forecasts turned out, against the readings that followed. Bounds only: between readings nobody saw."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

from ...model.cold import Life
from ...model.entries import ForecastMade
from ...model.times import MINUTE_US
from ..limits import Limits


@dataclass(frozen=True)
class Grade:
    """How many forecasts were put to the test, how many held, how far off their middle lay."""

    forecasts: int
    inside_80: int
    median_error_minutes: int | None


@dataclass(frozen=True)
class _Outcome:
    """The limit was passed after `after_us`; and by `by_us`, where that was seen."""

    after_us: int
    by_us: int | None


def grade(life: Life, limits: Limits) -> Grade:
    """The cooler's grade; a forecast whose cooler was iced, repacked or never read since is not graded."""
    tested = [(one, end) for one in life.forecasts if (end := _ended(life, one, limits)) is not None]
    held = sum(_held(one, end) for one, end in tested)
    errors = [_error(one, end) for one, end in tested]
    return Grade(len(tested), held, round(median(errors) / MINUTE_US) if errors else None)


def _ended(life: Life, one: ForecastMade, limits: Limits) -> _Outcome | None:
    """How it ended, None where it was never put to the test."""
    if one.off is not None or one.p10_us is None or one.p50_us is None:
        return None
    iced = (t.at_us for t in life.told if t.at_us > one.made_us and (t.ice_kg or t.ice_bags or t.repacked))
    until_us = min(iced, default=2**62)
    good_us = one.made_us
    for reading in life.readings:
        if not one.made_us < reading.at_us <= until_us:
            continue
        if reading.celsius > limits.cold_limit_c:
            return _Outcome(good_us, reading.at_us)
        good_us = reading.at_us
    latest = one.p90_us or one.until_us
    return _Outcome(good_us, None) if good_us > latest else None


def _held(one: ForecastMade, end: _Outcome) -> bool:
    """What was seen leaves room for a truth between the early and the late bound."""
    early, late = one.p10_us or 0, one.p90_us or 2**62
    return end.after_us <= late and (end.by_us is None or end.by_us >= early)


def _error(one: ForecastMade, end: _Outcome) -> int:
    """How far the middle lies outside what was seen, in microseconds."""
    middle = one.p50_us or 0
    over = 0 if end.by_us is None else middle - end.by_us
    return max(0, end.after_us - middle, over)


def early_bound_us(life: Life, now_us: int) -> int | None:
    """When one draw in ten is past the limit, by the last forecast; None where the last gave none.

    Older than a day, or before ice that was put in or a reading that was taken since, it says nothing.
    """
    if not life.forecasts or life.forecasts[-1].off is not None:
        return None
    last = life.forecasts[-1]
    if any(reading.at_us > last.made_us for reading in life.readings):
        return None
    iced = any(t.at_us > last.made_us and (t.ice_kg or t.ice_bags) for t in life.told)
    stale = now_us - last.made_us > 24 * 60 * MINUTE_US
    return None if iced or stale else last.p10_us
