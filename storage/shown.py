"""What people read, held against what the entries say: a finding for each row that is otherwise."""

from __future__ import annotations

from typing import Any

from bot.model.case import Case
from bot.model.entries import UNIT_CHAIN
from bot.model.people import CHANGES, Unit
from bot.model.sample import Sample

from . import alerts, projections
from .database import Tx
from .ledger import Entry
from .projections import THINGS, Things
from .work import fold_unit_entries

UNIT_KINDS = frozenset(kind.__name__ for kind in CHANGES)
_SAMPLES = """SELECT id, case_name, number, jar_key, number_int, told_by, declared_us, event_us, has_position,
kind, open, seal, evidence, offered_to, reseal, box, doc FROM samples"""


async def against_case(tx: Tx, name: str, samples: dict[str, Sample], case: Case | None) -> list[str]:
    """Which samples of a chain, and whether its case, people read differently from its entries."""
    found = []
    rows = {row[0]: row for row in await tx.rows(f"{_SAMPLES} WHERE case_name = $1", name)}
    for sample_id, sample in samples.items():
        if rows.pop(sample_id, None) != projections.sample_row(sample):
            found.append(f"{name}: sample {sample.number} is shown differently from its entries")
    found.extend(f"{name}: sample {row[2]} is shown and no entry speaks of it" for row in rows.values())
    shown = await tx.rows("SELECT state, doc FROM cases WHERE name = $1", name)
    said = [(case.state, projections.doc_of(case))] if case is not None else []
    if shown != said and name != UNIT_CHAIN:
        found.append(f"{name}: the case is shown differently from its entries")
    return found


async def against_no_chain(tx: Tx, chains: list[str]) -> list[str]:
    """Which cases are shown, alone or by a sample, that have no entries at all."""
    rows = await tx.rows("SELECT name FROM cases UNION SELECT case_name FROM samples ORDER BY 1")
    return [f"{name}: it is shown and has no entries" for (name,) in rows if name not in chains]


async def against_heads(tx: Tx, ends: dict[str, tuple[int, str]]) -> list[str]:
    """Which chains end elsewhere than the table of heads says."""
    rows = await tx.rows("SELECT chain, seq, hash FROM heads")
    shown = {chain: (seq, hash_) for chain, seq, hash_ in rows}
    return [
        f"{chain}: the table of heads says another end than its entries"
        for chain in sorted(shown.keys() | ends.keys())
        if shown.get(chain) != ends.get(chain)
    ]


async def against_things(tx: Tx, things: Things) -> list[str]:
    """Which photos, alerts and readings people read differently from the entries."""
    assigned = dict(things.assigned)
    photos = [(*row[:4], assigned.get(row[0], row[4]), *row[5:]) for row in things.photos]
    found = []
    raised = [alerts.row_of(alert) for alert in things.alerts.values()]
    for table, said in (("photos", photos), ("alerts", raised), ("readings", things.readings)):
        rows = await tx.rows(f"SELECT {THINGS[table]} FROM {table}")  # noqa: S608 - names from the code
        found.extend(_differing(table, {row[0]: row for row in said}, {row[0]: row for row in rows}))
    return found


async def against_unit(tx: Tx, entries: list[Entry]) -> list[str]:
    """Which people, kits, coolers, settings and addresses people read differently from the unit's entries."""
    try:
        unit = await fold_unit_entries(tx, Unit(), entries)
    except KeyError as missing:
        return [f"{UNIT_CHAIN}: the side table has no value for the commitment {missing.args[0][:12]}"]
    items = await tx.rows("SELECT kind, name, doc FROM unit_items")
    addresses = await tx.rows("SELECT address, person, state FROM addresses")
    return [
        *_differing(
            UNIT_CHAIN,
            {_name(row): row for row in projections.unit_rows(unit)},
            {_name(row): row for row in items},
        ),
        *_differing(
            "addresses",
            {row[0]: row for row in projections.address_rows(unit)},
            {row[0]: row for row in addresses},
        ),
    ]


def _name(row: tuple[Any, ...]) -> str:
    return f"{row[0]} {row[1]}".strip()


def _differing(what: str, said: dict[str, tuple[Any, ...]], shown: dict[str, tuple[Any, ...]]) -> list[str]:
    found = []
    for key in sorted(said.keys() | shown.keys()):
        if key not in said:
            found.append(f"{what}: {key} is shown and no entry speaks of it")
        elif said[key] != shown.get(key):
            found.append(f"{what}: {key} is shown differently from its entries")
    return found
