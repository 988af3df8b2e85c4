"""What people read, held against what the entries say: a finding for each row that is otherwise.

A row that an older release wrote may lack what a later one added. It is read as this release reads it, and is
a finding only where it then says something else: nobody is woken at midnight because the program was renewed.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from bot.model.alert import Alert
from bot.model.case import Case
from bot.model.entries import UNIT_CHAIN
from bot.model.people import CHANGES, Unit
from bot.model.sample import Sample

from . import alerts, projections
from .database import Tx
from .ledger import Entry
from .projections import THINGS, Things
from .views import read_unit
from .work import fold_unit_entries

UNIT_KINDS = frozenset(kind.__name__ for kind in CHANGES)
_SAMPLES = """SELECT id, case_name, number, jar_key, number_int, told_by, declared_us, event_us, has_position,
kind, open, seal, evidence, offered_to, reseal, box, doc FROM samples"""


async def against_case(tx: Tx, name: str, samples: dict[str, Sample], case: Case | None) -> list[str]:
    """Which samples of a chain, and whether its case, people read differently from its entries."""
    found = []
    rows = {row[0]: row for row in await tx.rows(f"{_SAMPLES} WHERE case_name = $1", name)}
    for sample_id, sample in samples.items():
        if not _says(rows.pop(sample_id, None), projections.sample_row(sample), _sample_doc):
            found.append(f"{name}: sample {sample.number} is shown differently from its entries")
    found.extend(f"{name}: sample {row[2]} is shown and no entry speaks of it" for row in rows.values())
    shown = await tx.rows("SELECT state, doc FROM cases WHERE name = $1", name)
    said = [(case.state, projections.doc_of(case))] if case is not None else []
    same = len(shown) == len(said) and all(
        _says(one, other, _case_doc) for one, other in zip(shown, said, strict=True)
    )
    if not same and name != UNIT_CHAIN:
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
        read = _alert_doc if table == "alerts" else None
        found.extend(_differing(table, {row[0]: row for row in said}, {row[0]: row for row in rows}, read))
    return found


async def against_unit(tx: Tx, entries: list[Entry]) -> list[str]:
    """Which people, kits, coolers, settings and addresses people read differently from the unit's entries."""
    try:
        unit = await fold_unit_entries(tx, Unit(), entries)
    except KeyError as missing:
        return [f"{UNIT_CHAIN}: the side table has no value for the commitment {missing.args[0][:12]}"]
    items = await _unit_items(tx, projections.unit_rows(unit))
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


async def _unit_items(tx: Tx, said: list[tuple[str, str, str]]) -> list[tuple[Any, ...]]:
    """The rows as they are shown; where any is otherwise, as this release reads them."""
    items = await tx.rows("SELECT kind, name, doc FROM unit_items")
    if sorted(items) == sorted(said):
        return items
    try:
        read = projections.unit_rows(await read_unit(tx))
    except (ValueError, KeyError, TypeError):
        return items  # nothing that reads as a unit
    known = {row[:2] for row in items}
    return [row for row in read if row[:2] in known]


def _says(shown: tuple[Any, ...] | None, said: tuple[Any, ...], read: Callable[[str], str] | None) -> bool:
    """Whether a row, its document last, says what the entries say, `read` as this release reads it."""
    if shown == said:
        return True
    if shown is None or read is None or shown[:-1] != said[:-1]:
        return False
    try:
        return bool(json.loads(read(shown[-1])) == json.loads(said[-1]))
    except ValueError:
        return False


def _sample_doc(doc: str) -> str:
    return Sample.model_validate_json(doc).model_dump_json()


def _case_doc(doc: str) -> str:
    return projections.doc_of(Case.model_validate_json(doc))


def _alert_doc(doc: str) -> str:
    return str(alerts.row_of(Alert.model_validate_json(doc))[-1])


def _name(row: tuple[Any, ...]) -> str:
    return f"{row[0]} {row[1]}".strip()


def _differing(
    what: str,
    said: dict[str, tuple[Any, ...]],
    shown: dict[str, tuple[Any, ...]],
    read: Callable[[str], str] | None = None,
) -> list[str]:
    found = []
    for key in sorted(said.keys() | shown.keys()):
        if key not in said:
            found.append(f"{what}: {key} is shown and no entry speaks of it")
        elif not _says(shown.get(key), said[key], read):
            found.append(f"{what}: {key} is shown differently from its entries")
    return found
