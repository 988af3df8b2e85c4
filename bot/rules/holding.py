"""Holding times: which clocks run on a jar, from which event, until when, to the minute.

Counted from the collection to the minute, not to midnight (a laboratory's example: collected Tue 15 Oct 2024
08:30, 7 d, good until Tue 22 Oct 08:30); by another reading from the arrival at the laboratory (EPA
safe-water FAQ), so the start is a setting that is stored with the answer. A figure that was passed is said
(PAH in sediment outlast it fourfold, EPA/600/R-05/124); no jar is ever written off for it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from ..model.base import Frozen
from ..model.sample import Sample
from ..model.times import DAY_US, HOUR_US
from .limits import Limits

EVENTS = ("leaching", "extraction", "analysis")
Event = Literal["leaching", "extraction", "analysis"]


class Leg(Frozen):
    """From the event before until this one, at most so many days."""

    name: Event
    days: float


class Clock(Frozen):
    """One rule's figures for an analysis; `runs` are the matrices for which it runs unasked."""

    id: str
    analysis: str
    rule: str
    matrices: tuple[str, ...] = ()
    runs: tuple[str, ...] = ()
    legs: tuple[Leg, ...]
    start: Literal["collection", "receipt"] | None = None
    seen: Literal["seen in the source", "seen second-hand", "from memory", "set by the laboratory"]
    source: str

    @property
    def total_days(self) -> float:
        """All legs together, the longest that the analysis may take."""
        return sum(leg.days for leg in self.legs)


class HoldingTable(Frozen):
    """All clocks that are known."""

    clock: tuple[Clock, ...]

    def named(self, analysis: str, matrix: str | None) -> Clock | None:
        """The clock of this analysis for this matrix, else the only one of that name; None where none is."""
        words = " ".join(analysis.lower().replace("_", " ").split())
        found = [one for one in self.clock if words in (one.analysis, one.id.replace("_", " "))]
        fitting = [one for one in found if matrix in one.matrices]
        best = fitting or found
        return best[0] if len(best) == 1 or fitting else None

    def unasked(self, matrix: str | None) -> tuple[Clock, ...]:
        """The clocks that run on this matrix though nobody asked for one."""
        return tuple(one for one in self.clock if matrix in one.runs)


def parse_holding_table(text: str) -> HoldingTable:
    """The table of a TOML text. Raises ValidationError where it is not one."""
    return HoldingTable.model_validate(tomllib.loads(text))


@dataclass(frozen=True)
class Running:
    """One leg of a clock on one jar. Waiting: its start was not told yet; then nothing is due.

    `state` is waiting, running, met or past; `done_us` when its end was told to have been.
    """

    clock: Clock
    leg: Leg
    start_event: str
    start_us: int | None
    due_us: int | None
    done_us: int | None
    state: str


def clocks_of(sample: Sample, table: HoldingTable) -> tuple[Clock, ...]:
    """The clocks that run on a jar: those that were set, else those that run unasked; none once struck."""
    if sample.struck is not None:
        return ()
    told = sample.value("holding")
    if isinstance(told, dict):
        kept = told.get("clocks")
        return tuple(Clock.model_validate(one) for one in kept) if isinstance(kept, list) else ()
    return table.unasked(sample.text("matrix"))


def holding(sample: Sample, table: HoldingTable, limits: Limits, now_us: int) -> tuple[Running, ...]:
    """Every leg of every clock on a jar, as things stand at `now_us`."""
    return tuple(leg for clock in clocks_of(sample, table) for leg in _legs(sample, clock, limits, now_us))


def _legs(sample: Sample, clock: Clock, limits: Limits, now_us: int) -> Iterator[Running]:
    event: str = clock.start or limits.holding_starts
    start_us = sample.event_us if event == "collection" else _instant(sample, "arrived_at")
    for leg in clock.legs:
        done_us = _instant(sample, FIELD_OF[leg.name])
        due_us = None if start_us is None else start_us + round(leg.days * DAY_US)
        yield Running(clock, leg, event, start_us, due_us, done_us, _state(due_us, done_us, now_us))
        event, start_us = leg.name, done_us


FIELD_OF = {"leaching": "leached_at", "extraction": "extracted_at", "analysis": "analysed_at"}


def _instant(sample: Sample, field: str) -> int | None:
    told = sample.instant(field)
    return None if told is None else told[0]


def _state(due_us: int | None, done_us: int | None, now_us: int) -> str:
    """On the minute itself is still within: the figure is a maximum."""
    if due_us is None:
        return "waiting" if done_us is None else "met"
    if done_us is not None:
        return "met" if done_us <= due_us else "past"
    return "running" if now_us <= due_us else "past"


@dataclass(frozen=True)
class Notice:
    """When somebody should hear of a leg that runs out: `sort` is half, day, hours or past."""

    sort: str
    at_us: int
    running: Running


def warnings_of(sample: Sample, running: Iterable[Running], limits: Limits) -> tuple[Notice, ...]:
    """All warnings of the legs that run, in order; each early by the shipping lead until it has arrived."""
    lead_us = 0 if sample.instant("arrived_at") else round(limits.shipping_lead_hours * HOUR_US)
    found = []
    for leg in running:
        if leg.start_us is None or leg.due_us is None or leg.done_us is not None:
            continue
        half_us = leg.start_us + (leg.due_us - leg.start_us) // 2
        for sort, at_us in (
            ("half", half_us - lead_us),
            ("day", leg.due_us - DAY_US - lead_us),
            ("hours", leg.due_us - round(limits.holding_last_hours * HOUR_US) - lead_us),
            ("past", leg.due_us),
        ):
            found.append(Notice(sort, max(at_us, leg.start_us), leg))
    return tuple(sorted(found, key=lambda one: one.at_us))


def next_warning(sample: Sample, table: HoldingTable, limits: Limits, after_us: int) -> Notice | None:
    """The first warning of a jar after an instant, None where nothing runs out any more."""
    coming = warnings_of(sample, holding(sample, table, limits, after_us), limits)
    return next((one for one in coming if one.at_us > after_us), None)


def days_text(days: float) -> str:
    """`7 d`, `0.5 d`."""
    return f"{days:g} d"
