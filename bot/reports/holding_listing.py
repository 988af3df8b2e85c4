"""A jar's holding times as programs read them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ..model.times import iso_utc
from ..rules.holding import Running


def holding_lines(running: Iterable[Running]) -> list[dict[str, Any]]:
    """Each leg with its rule, how that figure stands, what started it, and until when it runs."""
    return [
        {
            "rule": one.clock.rule,
            "analysis": one.clock.analysis,
            "leg": one.leg.name,
            "days": one.leg.days,
            "start_event": one.start_event,
            "started_at": _iso(one.start_us),
            "due_at": _iso(one.due_us),
            "done_at": _iso(one.done_us),
            "state": one.state,
            "seen": one.clock.seen,
            "source": one.clock.source,
        }
        for one in running
    ]


def _iso(us: int | None) -> str | None:
    return None if us is None else iso_utc(us)
