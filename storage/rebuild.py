"""The tables that people read, made again from the entries alone."""

from __future__ import annotations

from collections.abc import AsyncIterator

from bot.model.case import Case, fold_case
from bot.model.entries import UNIT_CHAIN
from bot.model.fold_sample import fold
from bot.model.people import Unit
from bot.model.sample import Sample

from . import alerts, projections
from .database import Tx
from .ledger import Entry, draft_of
from .work import fold_unit_entries

PAGE = 2000


async def chains(tx: Tx) -> list[str]:
    """All chains by name, the unit's first: cases cite what stands in it."""
    rows = await tx.rows("SELECT DISTINCT chain FROM entries ORDER BY chain")
    return sorted((chain for (chain,) in rows), key=lambda chain: (chain != UNIT_CHAIN, chain))


async def entries_of(tx: Tx, chain: str) -> AsyncIterator[list[Entry]]:
    """A chain's entries in order, a page at a time. Raises ValueError for what this release cannot read."""
    after = 0
    while True:
        sql = "SELECT seq, hash, text FROM entries WHERE chain = $1 AND seq > $2 ORDER BY seq LIMIT $3"
        rows = await tx.rows(sql, chain, after, PAGE)
        if not rows:
            return
        after = rows[-1][0]
        yield [Entry(chain, seq, hash_, text, draft_of(text)) for seq, hash_, text in rows]


async def rebuild(tx: Tx) -> dict[str, int]:
    """Every projection stands as the entries say; how many rows each table holds."""
    for table in projections.TABLES:
        await tx.run(f"DELETE FROM {table}")  # noqa: S608 - names from the code
    unit = Unit()
    for chain in await chains(tx):
        unit = await _rebuild_chain(tx, chain, unit)
    await projections.put_unit(tx, unit)
    return {table: await _count(tx, table) for table in projections.TABLES}


async def _rebuild_chain(tx: Tx, chain: str, unit: Unit) -> Unit:
    samples: dict[str, Sample] = {}
    case: Case | None = None
    head: dict[str, tuple[int, str]] = {}
    things = projections.Things()
    async for page in entries_of(tx, chain):
        for entry in page:
            case = fold_entry(entry, samples, case)
            if chain == UNIT_CHAIN:
                things.take(entry)
        unit = await fold_unit_entries(tx, unit, page)
        await projections.put_things(tx, page)
        head = {chain: (page[-1].seq, page[-1].hash)}
    await alerts.put(tx, things.alerts.values())
    await projections.put_samples(tx, samples.values(), {})
    await projections.put_cases(tx, [case] if case is not None else [])
    await projections.put_heads(tx, head, head)
    return unit


def fold_entry(entry: Entry, samples: dict[str, Sample], case: Case | None) -> Case | None:
    """The chain's samples and case after this entry."""
    body = entry.draft.body
    for id_ in body.about:
        samples[id_] = fold(samples.get(id_), entry.draft)
    return case if body.about or entry.chain == UNIT_CHAIN else fold_case(case, entry.draft)


async def _count(tx: Tx, table: str) -> int:
    return int((await tx.rows(f"SELECT COUNT(*) FROM {table}"))[0][0])  # noqa: S608 - names from the code


async def contents(tx: Tx) -> dict[str, list[tuple[object, ...]]]:
    """All rows of all projections, in the order of their keys: for comparing bit for bit."""
    found = {}
    for table in projections.TABLES:
        rows = await tx.rows(f"SELECT * FROM {table}")  # noqa: S608 - names from the code
        found[table] = sorted(rows, key=repr)
    return found
