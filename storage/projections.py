"""The tables that people read: what follows from entries, and nothing else.

The desk writes these rows in the entries' own transaction; `rebuild` writes them again from the
entries alone, bit for bit the same.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cache
from typing import Any, TypeAlias

from pydantic import BaseModel

from bot.model import entries as said
from bot.model.alert import Alert, alert_of, fold_alert
from bot.model.case import Case
from bot.model.cold import cold_rows
from bot.model.people import Unit
from bot.model.sample import Sample

from . import alerts
from .database import Tx
from .ledger import Entry

TABLES = ("heads", "unit_items", "addresses", "cases", "samples", "photos", "alerts", "readings")

Columns: TypeAlias = tuple[Any, ...]
SAMPLE_COLUMNS = (
    "id", "case_name", "number", "jar_key", "number_int", "told_by", "declared_us", "event_us",
    "has_position", "kind", "open", "seal", "evidence", "offered_to", "reseal", "box",
)  # fmt: skip


def doc_of(value: BaseModel, **what: Any) -> str:
    """A value as its table holds it: keys sorted, so that working on and rebuilding give the same bytes."""
    return _doc(value.model_dump(mode="json", **what))


def _doc(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def sample_row(sample: Sample) -> tuple[Any, ...]:
    """The sample's whole row."""
    return (*sample_columns(sample), sample.model_dump_json())


def sample_columns(sample: Sample) -> Columns:
    """What a sample is looked up by; a struck one counts under no kind."""
    number = int(sample.number_key) if sample.number_key.isdigit() else None
    seal, custody = sample.seal, sample.custody
    return (
        sample.id,
        sample.case,
        sample.number,
        f"{sample.case}/{sample.number_key}",
        number,
        sample.declared_by,
        sample.received_us,
        sample.event_us,
        int(sample.place is not None),
        sample.text("kind") if sample.struck is None else None,
        int(sample.is_open),
        seal.upper() if seal else None,
        sample.evidence_number.upper() if sample.evidence_number else None,
        custody.offer.to if custody and custody.offer else None,
        custody.reseal if custody else None,
        f"{sample.case}/{custody.box.key}" if custody and custody.box else None,
    )


async def put_samples(tx: Tx, samples: Iterable[Sample], standing: dict[str, Columns]) -> None:
    """These samples stand in their table as they are now, and `standing` holds with which columns.

    Of those that stood there already only the columns that changed are written, and their indexes.
    """
    fresh: list[tuple[Any, ...]] = []
    changed: dict[tuple[str, ...], list[tuple[Any, ...]]] = {}
    for sample in samples:
        columns, doc = sample_columns(sample), sample.model_dump_json()
        before, standing[sample.id] = standing.get(sample.id), columns
        if before is None:
            fresh.append((*columns, doc))
            continue
        both = zip(SAMPLE_COLUMNS, columns, before, strict=True)
        now = {name: new for name, new, old in both if new != old}
        changed.setdefault(tuple(now), []).append((sample.id, doc, *now.values()))
    await tx.run_many(_SAMPLE_PUT, fresh)
    for names, rows in sorted(changed.items()):
        await tx.run_many(_sample_change(names), rows)


_SAMPLE_PUT = f"""INSERT INTO samples ({", ".join(SAMPLE_COLUMNS)}, doc)
VALUES ({", ".join(f"${place}" for place in range(1, len(SAMPLE_COLUMNS) + 2))})"""  # noqa: S608 - names in the code


@cache
def _sample_change(names: tuple[str, ...]) -> str:
    put = "".join(f", {name} = ${place}" for place, name in enumerate(names, 3))
    return f"UPDATE samples SET doc = $2{put} WHERE id = $1"  # noqa: S608 - names in the code


async def put_cases(tx: Tx, cases: Iterable[Case]) -> None:
    """These cases stand in their table as they are now."""
    sql = """INSERT INTO cases (name, state, doc) VALUES ($1, $2, $3)
    ON CONFLICT (name) DO UPDATE SET state = excluded.state, doc = excluded.doc"""
    await tx.run_many(sql, [(case.name, case.state, doc_of(case)) for case in cases])


async def put_heads(tx: Tx, heads: dict[str, tuple[int, str]], chains: Iterable[str]) -> None:
    """These chains end where `heads` says."""
    sql = """INSERT INTO heads (chain, seq, hash) VALUES ($1, $2, $3)
    ON CONFLICT (chain) DO UPDATE SET seq = excluded.seq, hash = excluded.hash"""
    await tx.run_many(sql, [(chain, *heads[chain]) for chain in sorted(set(chains))])


# What of the unit has a name: kind of row to the unit's field, and how its document is written.
UNIT_PARTS: dict[str, tuple[str, Callable[[Any], str]]] = {
    "person": ("people", doc_of),
    "kit": ("kits", doc_of),
    "cooler": ("coolers", doc_of),
    "stock": ("stock", lambda one: doc_of(one, exclude_defaults=True)),
    "whereabouts": ("whereabouts", doc_of),
    "limit": ("limits", _doc),
}


NO_PARTS: dict[str, dict[str, Any]] = {part: {} for part, _ in UNIT_PARTS.values()}


def unit_rows(unit: Unit) -> list[tuple[str, str, str]]:
    """The unit and everything in it but addresses, as its table holds them: (kind, name, doc)."""
    return [
        (
            "unit",
            "",
            doc_of(unit, exclude={"people", "kits", "coolers", "stock", "whereabouts", "watch", "limits"}),
        ),
        ("watch", "", doc_of(unit.watch)),
        *(
            (kind, name, doc(one))
            for kind, (part, doc) in UNIT_PARTS.items()
            for name, one in sorted(getattr(unit, part).items())
        ),
    ]


def address_rows(unit: Unit) -> list[tuple[str, str, str]]:
    """Who is enrolled under which address: (address, person, state); an address is one person's."""
    return [(address, name, state) for address, (name, state) in unit.owners().items()]


async def put_unit(tx: Tx, unit: Unit) -> None:
    """The unit and everything in it stand in their tables, and nothing else does."""
    await tx.run("DELETE FROM unit_items WHERE kind <> $1", "")
    await tx.run("DELETE FROM addresses WHERE state <> $1", "")
    await tx.run_many("INSERT INTO unit_items (kind, name, doc) VALUES ($1, $2, $3)", unit_rows(unit))
    sql = "INSERT INTO addresses (address, person, state) VALUES ($1, $2, $3)"
    await tx.run_many(sql, address_rows(unit))


async def put_unit_changes(tx: Tx, before: Unit, after: Unit) -> None:
    """The unit's table goes from one state to the other; what stayed the same object is not even written out.

    So that a count of a kit costs one row, however many people the unit has.
    """
    gone, new = [], unit_rows(after.model_copy(update=NO_PARTS))
    for kind, (part, doc) in UNIT_PARTS.items():
        old, now = getattr(before, part), getattr(after, part)
        gone += [(kind, name) for name in old.keys() - now.keys()]
        if old is not now:
            new += [(kind, name, doc(one)) for name, one in now.items() if old.get(name) is not one]
    await tx.run_many("DELETE FROM unit_items WHERE kind = $1 AND name = $2", sorted(gone))
    sql = """INSERT INTO unit_items (kind, name, doc) VALUES ($1, $2, $3)
    ON CONFLICT (kind, name) DO UPDATE SET doc = excluded.doc"""
    await tx.run_many(sql, sorted(new))


async def put_address_changes(tx: Tx, before: Unit, after: Unit) -> None:
    """The table of addresses goes from one state to the other; rows that stay alike are not touched."""
    known, wanted = address_rows(before), address_rows(after)
    left = {row[0] for row in known} - {row[0] for row in wanted}
    await tx.run_many("DELETE FROM addresses WHERE address = $1", [(address,) for address in sorted(left)])
    sql = """INSERT INTO addresses (address, person, state) VALUES ($1, $2, $3)
    ON CONFLICT (address) DO UPDATE SET person = excluded.person, state = excluded.state"""
    await tx.run_many(sql, sorted(set(wanted) - set(known)))


@dataclass
class Things:
    """Photos, alerts and readings as their tables hold them; `assigned` photos found their jar later."""

    photos: list[tuple[Any, ...]] = field(default_factory=list)
    assigned: list[tuple[str, str]] = field(default_factory=list)
    alerts: dict[str, Alert] = field(default_factory=dict)
    readings: list[tuple[Any, ...]] = field(default_factory=list)

    def take(self, entry: Entry) -> None:
        """What this entry speaks of is among them."""
        draft, body = entry.draft, entry.draft.body
        self.readings.extend((*row[:3], _doc(row[3])) for row in cold_rows(entry.id, draft))
        match body:
            case said.PhotoKept():
                kept = (entry.id, body.photo.sha256, draft.author, entry.chain, body.sample)
                self.photos.append((*kept, draft.received_us, doc_of(body)))
            case said.PaperKept():
                kept = (entry.id, body.photo.sha256, draft.author, entry.chain, body.samples[0])
                self.photos.append((*kept, draft.received_us, doc_of(body)))
            case said.ResultAttached() if body.file is not None:
                kept = (entry.id, body.file.sha256, draft.author, entry.chain, body.samples[0])
                self.photos.append((*kept, draft.received_us, doc_of(body)))
            case said.PhotoAssigned():
                self.assigned.append((body.photo_id, body.sample))
            case _ if (id_ := alert_of(body)) is not None:
                alert = fold_alert(self.alerts.get(id_), draft)
                if alert is not None:
                    self.alerts[id_] = alert


THINGS = {
    "photos": "id, sha256, person, chain, sample_id, received_us, doc",
    "alerts": alerts.COLUMNS,
    "readings": "id, cooler, at_us, doc",
}


async def put_things(tx: Tx, entries: Iterable[Entry]) -> None:
    """Photos and readings that these entries speak of stand in their tables; alerts are folded by others."""
    things = Things()
    for entry in entries:
        things.take(entry)
    for table, rows in (("photos", things.photos), ("readings", things.readings)):
        columns = THINGS[table]
        places = ", ".join(f"${place}" for place, _ in enumerate(columns.split(", "), 1))
        sql = f"INSERT INTO {table} ({columns}) VALUES ({places})"  # noqa: S608 - names from the code
        await tx.run_many(sql, rows)
    await tx.run_many("UPDATE photos SET sample_id = $2 WHERE id = $1", things.assigned)
