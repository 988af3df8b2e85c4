"""A cooler's life as its entries make it: readings, ice, openings, jars in and out, forecasts.

Every entry that touches a cooler gives rows of (id, cooler key, instant, facts); a life is made of the rows
of one cooler in order of their instants. "m" and "M" are one cooler: the key is in capitals.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from . import entries as said
from .base import JsonValue
from .entries import Draft, FactTold
from .times import offset_minutes

Row: TypeAlias = tuple[str, str, int, dict[str, Any]]
FOREVER_US = 2**62


def key_of(cooler: str) -> str:
    """The name under which all spellings of a cooler's name are one."""
    return cooler.upper()


def cold_rows(entry_id: str, draft: Draft) -> list[Row]:
    """What this entry says of coolers, empty for most."""
    match draft.body:
        case said.CoolerRead() as body:
            return [(entry_id, key_of(body.cooler), body.at_us, _facts(draft))]
        case said.CoolerTold() | said.ForecastMade() as body:
            at_us = body.at_us if isinstance(body, said.CoolerTold) else body.made_us
            return [(entry_id, key_of(body.cooler), at_us, {"kind": draft.kind, **_facts(draft)})]
        case said.JarsMoved() as body:
            return _moved(entry_id, body, draft)
        case said.SampleTold() as body:
            return _told_in(entry_id, body.sample, body.facts, draft)
        case said.SampleCorrected() as body if body.field == "cooler":
            told: dict[str, Any] = {"cooler": body.old, "received_us": draft.received_us}
            row = {"kind": "never_in", "sample": body.sample, **told}
            rows = [(f"{entry_id}/0", key_of(body.old or ""), draft.said_us, row)]
            return [*rows, *_told_in(entry_id, body.sample, (body.fact,), draft)]
    return []


def is_reading(row: Row) -> bool:
    """True for what a check bottle read; every other row names its kind."""
    return "kind" not in row[3]


def _facts(draft: Draft) -> dict[str, Any]:
    body = draft.body.model_dump(mode="json", exclude={"sample"})
    return {**body, "by": draft.author, "received_us": draft.received_us}


def _moved(entry_id: str, body: said.JarsMoved, draft: Draft) -> list[Row]:
    ends = [("out", name) for name in body.out_of] + ([("in", body.into)] if body.into else [])
    rows: list[dict[str, Any]] = [
        {"kind": kind, "cooler": name, "sample": sample, "received_us": draft.received_us}
        for kind, name in ends
        for sample in body.samples
    ]
    return [(f"{entry_id}/{n}", key_of(row["cooler"]), body.at_us, row) for n, row in enumerate(rows)]


OF_COOLER = ("cooler", "cooler_celsius", "in_cold_at")  # what a jar no longer is told to be when it moves


def facts_of_move(body: said.JarsMoved) -> tuple[FactTold, ...]:
    """What a move tells of each of its jars: where it is since then, nothing where it only came out."""
    if body.into is None:
        return ()
    since: JsonValue = {"at": body.at, "at_us": body.at_us, "offset_minutes": offset_minutes(body.at)}
    return (
        FactTold(field="cooler", value=body.into, raw=body.into),
        FactTold(field="in_cold_at", value=since, raw=body.at),
    )


def _told_in(entry_id: str, sample: str, facts: tuple[FactTold, ...], draft: Draft) -> list[Row]:
    told = {fact.field: fact.value for fact in facts}
    name, since = told.get("cooler"), told.get("in_cold_at")
    if not isinstance(name, str):
        return []
    at_us = since["at_us"] if isinstance(since, dict) else draft.said_us
    row = {"kind": "in", "cooler": name, "sample": sample, "received_us": draft.received_us}
    return [(f"{entry_id}/in", key_of(name), int(at_us), row)]  # type: ignore[arg-type] # a time's own field


@dataclass(frozen=True)
class Reading:
    """What a check bottle read, Celsius, at an instant; `raw` as typed."""

    at_us: int
    celsius: float
    raw: str
    by: str
    received_us: int
    at: str
    ice_left: str | None = None
    thermometer: str | None = None
    second: bool = False


@dataclass(frozen=True)
class Stay:
    """A jar was in the cooler from one instant until another."""

    sample: str
    from_us: int
    until_us: int = FOREVER_US


@dataclass(frozen=True)
class Life:
    """Everything told of one cooler, each part in order of its instants."""

    name: str
    readings: tuple[Reading, ...] = ()
    told: tuple[said.CoolerTold, ...] = ()
    stays: tuple[Stay, ...] = ()
    forecasts: tuple[said.ForecastMade, ...] = ()

    def inside(self, at_us: int) -> tuple[str, ...]:
        """The ids of the jars in it at an instant."""
        return tuple(stay.sample for stay in self.stays if stay.from_us <= at_us < stay.until_us)

    def during(self, from_us: int, until_us: int) -> tuple[str, ...]:
        """The ids of the jars that were in it at any time between two instants, both included."""
        return tuple(
            dict.fromkeys(s.sample for s in self.stays if s.from_us <= until_us and s.until_us > from_us)
        )


@dataclass
class _Making:
    readings: list[Reading] = field(default_factory=list)
    told: list[said.CoolerTold] = field(default_factory=list)
    stays: dict[tuple[str, int], Stay] = field(default_factory=dict)
    last: dict[str, Stay] = field(default_factory=dict)  # of each jar
    forecasts: list[said.ForecastMade] = field(default_factory=list)

    def take(self, at_us: int, facts: Mapping[str, Any]) -> None:
        """Take one row, later than those before."""
        match facts.get("kind", "reading"):
            case "reading":
                self.readings.append(Reading(**{name: facts[name] for name in _READ if name in facts}))
            case "CoolerTold":
                self.told.append(said.CoolerTold(**_without(facts)))
            case "ForecastMade":
                self.forecasts.append(said.ForecastMade(**_without(facts)))
            case "in":
                last = self.last.get(facts["sample"])
                if last is None or last.until_us <= at_us:
                    self._stay(Stay(facts["sample"], at_us))
            case "out" | "never_in" as kind:
                self._end(facts["sample"], at_us, never=kind == "never_in")

    def _stay(self, stay: Stay) -> None:
        self.last[stay.sample] = self.stays[stay.sample, stay.from_us] = stay

    def _end(self, sample: str, at_us: int, never: bool) -> None:
        stay = self.last.get(sample)
        if stay is None:
            return
        if not never:
            self._stay(Stay(sample, stay.from_us, min(stay.until_us, at_us)))
            return
        del self.stays[sample, stay.from_us]
        before = [one for one in self.stays.values() if one.sample == sample]
        self.last.pop(sample)
        if before:
            self.last[sample] = before[-1]


_READ = (
    "at_us", "celsius", "raw", "by", "received_us", "at", "ice_left", "thermometer", "second",
)  # fmt: skip


def _without(facts: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in facts.items() if name not in ("kind", "by", "received_us")}


def life_of(name: str, rows: Iterable[tuple[int, Mapping[str, Any]]]) -> Life:
    """The cooler's life; rows as (instant, facts) in any order. At one instant the first told is first."""
    making = _Making()
    for at_us, facts in sorted(rows, key=lambda row: (row[0], row[1].get("received_us", 0))):
        making.take(at_us, facts)
    stays = tuple(making.stays.values())
    return Life(name, tuple(making.readings), tuple(making.told), stays, tuple(making.forecasts))
