"""Slow work in the table of due things: filed once under its key, leased, tried again, given up.

An errand's row stands in one of its own states, so that standing work in the same table is not touched:
asked, taken (leased), done, given_up, or parked (nobody here does that kind).
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from bot.model.errand import Errand

from .database import Tx

LEASE_US = 900_000_000  # longer than any errand may take
# Spelled as the partial index spells it, so that cost follows what waits and not what was ever asked.
PENDING = "state IN ('asked', 'taken')"
READY = f"{PENDING} AND (state = 'asked' AND try_us <= $1 OR state = 'taken' AND leased_until_us <= $1)"


async def file(tx: Tx, errands: Iterable[Errand]) -> None:
    """These errands are asked for; the key refuses the second copy of one."""
    sql = """INSERT INTO due (kind, subject, due_us, state, try_us, doc) VALUES ($1, $2, $3, 'asked', $3, $4)
    ON CONFLICT DO NOTHING"""
    rows = [(e.kind, e.subject, e.due_us, json.dumps(e.doc, sort_keys=True)) for e in errands]
    await tx.run_many(sql, rows)


async def next_us(tx: Tx) -> int | None:
    """When an errand may be done next, None where none waits."""
    rows = await tx.rows(f"SELECT MIN(try_us) FROM due WHERE {PENDING} AND state = 'asked'")  # noqa: S608 - no values
    return None if rows[0][0] is None else int(rows[0][0])


async def lease(tx: Tx, by: str, now_us: int, most: int) -> list[tuple[Errand, int]]:
    """Errands that may be done now, oldest first, marked as taken, each with its count of tries."""
    sql = f"""SELECT kind, subject, due_us, doc, attempts FROM due WHERE {READY}
    ORDER BY try_us, kind, subject, due_us LIMIT $2"""  # noqa: S608 - no values in it
    rows = await tx.rows(sql, now_us, most)
    await tx.run_many(
        """UPDATE due SET state = 'taken', leased_by = $4, leased_until_us = $5, attempts = attempts + 1
        WHERE kind = $1 AND subject = $2 AND due_us = $3""",
        [(kind, subject, due_us, by, now_us + LEASE_US) for kind, subject, due_us, *_ in rows],
    )
    return [
        (Errand(kind=kind, subject=subject, due_us=due_us, doc=json.loads(doc)), attempts + 1)
        for kind, subject, due_us, doc, attempts in rows
    ]


async def settle(
    tx: Tx, errand: Errand, state: str, now_us: int, problem: str | None = None, try_us: int | None = None
) -> None:
    """What became of an errand is on record: done, given_up, parked, or asked again at `try_us`."""
    sql = """UPDATE due SET state = $4, problem = $6, leased_by = NULL, leased_until_us = NULL,
    done_us = CASE WHEN $4 = 'asked' THEN NULL ELSE CAST($5 AS BIGINT) END,
    try_us = COALESCE(CAST($7 AS BIGINT), try_us) WHERE kind = $1 AND subject = $2 AND due_us = $3"""
    await tx.run(sql, errand.kind, errand.subject, errand.due_us, state, now_us, problem, try_us)


async def undone_since(tx: Tx, since_us: int) -> int:
    """How many errands were given up since then, or are of a kind that nobody does."""
    sql = "SELECT COUNT(*) FROM due WHERE state = 'parked' OR (state = 'given_up' AND done_us >= $1)"
    return int((await tx.rows(sql, since_us))[0][0])


async def orphan_leases(tx: Tx) -> int:
    """What a process that is gone was doing may be done again now; how many errands that are."""
    sql = f"UPDATE due SET state = 'asked', leased_by = NULL WHERE {PENDING} AND state = 'taken'"  # noqa: S608 - no values
    return await tx.run(sql)


async def unpark(tx: Tx, kinds: Iterable[str]) -> int:
    """Parked errands of kinds that somebody does now are asked for again; how many."""
    sql = (
        f"UPDATE due SET state = 'asked', done_us = NULL WHERE state = 'parked' AND {tx.among('kind', '$1')}"  # noqa: S608 - no values
    )
    return await tx.run(sql, json.dumps(sorted(kinds)))
