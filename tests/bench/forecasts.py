"""How long a forecast takes, in the process that makes it."""

from __future__ import annotations

import statistics
import time


def forecasts(smoke: bool) -> dict[str, float]:
    """Milliseconds of one forecast of 1,500 draws, with four readings, a top-up and openings."""
    from bot.rules.forecast.ensemble import forecast

    events: list[list[object]] = [[0.0, "ice", [5, 1]], [600.0, "in", [6, 22.0]], [9000.0, "ice", [2, 0]]]
    events += [[at, "read", 4.0] for at in (3600.0, 14_400.0, 28_800.0, 43_200.0)] + [[20_000.0, "opened", 3]]
    known = {
        "seed": 1, "walls": [0.8, 0.25], "outside": [24.0, 2.0], "start": 0.0, "now": 43_200.0, "span": 432_000.0,
        "limit": 6.0, "freezing": 0.0, "events": events,
    }  # fmt: skip
    forecast(known)
    took = []
    for _ in range(5 if smoke else 25):
        began = time.perf_counter()
        forecast(known)
        took.append((time.perf_counter() - began) * 1000)
    return {"ms": statistics.median(took), "worst ms": max(took)}
