"""A cooler's life as its entries make it: readings, ice, openings, jars in and out, forecasts.

Every entry that touches a cooler gives rows of (id, cooler key, instant, facts); a life is made of the rows
of one cooler in order of their instants. "m" and "M" are one cooler: the key is in capitals.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

from . import entries as said
from .base import JsonValue
from .entries import Draft, FactTold
from .times import offset_minutes

Row: TypeAlias = tuple[str, str, int, dict[str, Any]]
FOREVER_US = 2**62
STRUCK = "/struck"  # what the id of a row ends in that strikes the row before the stroke


def key_of(cooler: str) -> str:
    """The name under which all spellings of a cooler's name are one."""
    return cooler.upper()


def cold_rows(entry_id: str, draft: Draft) -> list[Row]:
    """What this entry says of coolers, empty for most."""
    match draft.body:
        case said.SampleTold() as body:  # first, for most are
            return _told_in(entry_id, body.sample, body.facts, draft)
        case said.CoolerRead() as body:
            return [(entry_id, key_of(body.cooler), body.at_us, _facts(draft))]
        case said.CoolerTold() | said.ForecastMade() as body:
            at_us = body.at_us if isinstance(body, said.CoolerTold) else body.made_us
            return [(entry_id, key_of(body.cooler), at_us, {"kind": draft.kind, **_facts(draft)})]
        case said.CoolerCorrected() as body:
            # Under what it strikes, so that one look tells whether a reading stands.
            id_ = entry_id if body.beside else f"{body.of}{STRUCK}"
            return [(id_, key_of(body.cooler), body.at_us, {"kind": draft.kind, **_facts(draft)})]
        case said.CoolerCorrectionExplained() as body:
            return [(entry_id, key_of(body.cooler), body.at_us, {"kind": draft.kind, **_facts(draft)})]
        case said.JarsMoved() as body:
            return _moved(entry_id, body, draft)
        case said.SampleCorrected() as body if body.field == "cooler":
            told: dict[str, Any] = {"cooler": body.old, "received_us": draft.received_us}
            row = {"kind": "never_in", "sample": body.sample, **told}
            rows = [(f"{entry_id}/0", key_of(body.old or ""), draft.said_us, row)]
            return [*rows, *_told_in(entry_id, body.sample, (body.fact,), draft)]
    return []


def is_reading(row: Row) -> bool:
    """True for what a check bottle read; every other row names its kind."""
    return "kind" not in row[3]


def standing(rows: Iterable[Row]) -> list[Row]:
    """The readings among these rows that no other row of them strikes."""
    rows = list(rows)
    struck = {row[0].removesuffix(STRUCK) for row in rows if row[0].endswith(STRUCK)}
    return [row for row in rows if is_reading(row) and row[0] not in struck]


def rows_of(drafts: Iterable[Draft], heads: Mapping[str, tuple[int, str]], cooler: str) -> list[Row]:
    """What entries that come next on their chains say of a cooler, under the ids that they will bear."""
    seqs = {chain: seq for chain, (seq, _) in heads.items()}
    found: list[Row] = []
    for draft in drafts:
        seqs[draft.chain] = seqs.get(draft.chain, 0) + 1
        found += [r for r in cold_rows(f"{draft.chain}#{seqs[draft.chain]}", draft) if r[1] == key_of(cooler)]
    return found


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
    for_sample: str | None = None
    unit_derived: bool = False
    id: str = ""


@dataclass(frozen=True)
class Corrected:
    """What was told of the cooler for an instant and taken back: `old` and `new` as typed, why, when.

    `of` is the entry that told it. `beside`: another than its author said so, and it stands nevertheless.
    """

    of: str
    at_us: int
    at: str
    old: str
    new: str | None
    by: str
    received_us: int
    why: str | None = None
    beside: bool = False


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
    corrected: tuple[Corrected, ...] = ()
    tellers: tuple[tuple[str, str], ...] = ()  # (entry, author) of each of `told`

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
    readings: dict[str, Reading] = field(default_factory=dict)
    told: dict[str, tuple[said.CoolerTold, str]] = field(default_factory=dict)
    corrected: dict[str, Corrected] = field(default_factory=dict)
    stays: dict[tuple[str, int], Stay] = field(default_factory=dict)
    last: dict[str, Stay] = field(default_factory=dict)  # of each jar
    forecasts: list[said.ForecastMade] = field(default_factory=list)

    def take(self, id_: str, at_us: int, facts: Mapping[str, Any]) -> None:
        """Take one row, later than those before."""
        match facts.get("kind", "reading"):
            case "reading":
                told = {name: facts[name] for name in _READ if name in facts}
                self.readings[id_] = Reading(**told, id=id_)
            case "CoolerTold":
                self.told[id_] = said.CoolerTold(**_without(facts)), facts["by"]
            case "CoolerCorrected":
                self._correct(id_, facts)
            case "CoolerCorrectionExplained":
                known = self.corrected.get(f"{facts['of']}{STRUCK}")
                if known is not None:
                    self.corrected[f"{facts['of']}{STRUCK}"] = replace(known, why=facts["why"])
            case "ForecastMade":
                self.forecasts.append(said.ForecastMade(**_without(facts)))
            case "in" | "out" | "never_in" as kind:
                self._move(kind, facts["sample"], at_us)

    def _correct(self, id_: str, facts: Mapping[str, Any]) -> None:
        self.corrected[id_] = Corrected(**{name: facts[name] for name in _CORRECTED})
        if not facts["beside"]:
            self.readings.pop(facts["of"], None)
            self.told.pop(facts["of"], None)

    def _move(self, kind: str, sample: str, at_us: int) -> None:
        if kind != "in":
            self._end(sample, at_us, never=kind == "never_in")
            return
        last = self.last.get(sample)
        if last is None or last.until_us <= at_us:
            self._stay(Stay(sample, at_us))

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
    "at_us", "celsius", "raw", "by", "received_us", "at", "ice_left", "thermometer", "second", "for_sample",
    "unit_derived",
)  # fmt: skip
_CORRECTED = ("of", "at_us", "at", "old", "new", "by", "received_us", "why", "beside")


def _without(facts: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in facts.items() if name not in ("kind", "by", "received_us")}


def life_of(name: str, rows: Iterable[Row]) -> Life:
    """The cooler's life; rows in any order. At one instant the first told is first."""
    making = _Making()
    for id_, _, at_us, facts in sorted(rows, key=lambda row: (row[2], row[3].get("received_us", 0))):
        making.take(id_, at_us, facts)
    return Life(
        name,
        tuple(making.readings.values()),
        tuple(told for told, _ in making.told.values()),
        tuple(making.stays.values()),
        tuple(making.forecasts),
        tuple(making.corrected.values()),
        tuple((id_, by) for id_, (_, by) in making.told.items()),
    )
