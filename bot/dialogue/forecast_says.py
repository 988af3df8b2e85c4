"""A forecast in words that a cold person understands: until when, how sure, and what would make it surer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from ..model.entries import ForecastMade
from ..rules.forecast.grade import Grade
from .read_back import clock_at
from .turn import Trade

Fan: TypeAlias = Sequence[tuple[int, float, float, float]]  # instant, then C: one in ten under, half, over

POINTS = 5
FEW = 3  # forecasts put to the test, below which a grade says nothing


def forecast_text(made: ForecastMade, grade: Grade, trade: Trade) -> str:
    """One text: the half and the early bound as clock times, or why there is none and what would help."""
    if made.off is not None:
        parts = [_refusal(made, trade)]
    elif made.p50_us is None or made.p10_us is None:
        until = _clock(made.until_us, made, trade)
        parts = [trade.words.say("forecast.long", cooler=made.cooler, until=until)]
    else:
        half, early = _clock(made.p50_us, made, trade), _clock(made.p10_us, made, trade)
        parts = [trade.words.say("forecast.till", cooler=made.cooler, half=half, early=early)]
    if made.off is None and made.freezing_p10_us is not None:
        early = _clock(made.freezing_p10_us, made, trade)
        parts.append(trade.words.say("forecast.freezing", early=early))
    if made.better and made.off is None:
        parts.append(trade.words.say("forecast.better", better=_better(made, trade)))
    if grade.forecasts >= FEW and made.off is None:
        parts.append(trade.words.say("forecast.grade", held=grade.inside_80, count=grade.forecasts))
    return " ".join(parts)


def chart_text(made: ForecastMade, fan: Fan, trade: Trade) -> str:
    """The hours to come in figures: the half, and between which two one in ten lies under and over."""
    shown = fan[:: max(1, len(fan) // POINTS)][: POINTS + 1]
    points = [
        trade.words.say(
            "forecast.point", at=_clock(at, made, trade), half=f"{half:.1f}", span=f"{low:.1f}-{high:.1f}"
        )
        for at, low, half, high in shown
    ]
    return trade.words.say("forecast.chart", cooler=made.cooler, points=", ".join(points))


def _clock(us: int, made: ForecastMade, trade: Trade) -> str:
    """To ten minutes, downwards: nothing is known to the minute, and later than thought is worse."""
    ten = 600_000_000
    return clock_at(us // ten * ten, trade, made.made_us)


def _better(made: ForecastMade, trade: Trade) -> str:
    return ", ".join(trade.words.say(f"forecast.with.{name}") for name in made.better)


def _refusal(made: ForecastMade, trade: Trade) -> str:
    limit = f"{made.limit_c:.1f}"
    return trade.words.say(
        f"forecast.off.{made.off}", cooler=made.cooler, better=_better(made, trade), limit=limit
    )
