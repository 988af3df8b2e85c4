"""Standing work under its unique key: a row waits, is done, or is parked where nobody does its kind.

Errands stand in the same table in states of their own and are not touched here.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from bot.model.due import Due
from bot.model.entries import UNIT_CHAIN

from .database import Tx


async def wait(tx: Tx, things: Iterable[Due]) -> None:
    """These are due; the key refuses the second copy of one, done or not."""
    sql = """INSERT INTO due (kind, subject, due_us, state) VALUES ($1, $2, $3, 'waiting')
    ON CONFLICT DO NOTHING"""
    await tx.run_many(sql, [(one.kind, one.subject, one.due_us) for one in things])


async def ripe(tx: Tx, now_us: int, most: int) -> list[Due]:
    """What is due by now and waits, oldest first."""
    sql = """SELECT due_us, kind, subject FROM due WHERE state = 'waiting' AND due_us <= $1
    ORDER BY due_us, kind, subject LIMIT $2"""
    return [Due(int(due_us), kind, subject) for due_us, kind, subject in await tx.rows(sql, now_us, most)]


async def next_us(tx: Tx) -> int | None:
    """When the next waiting row is due, None where none waits."""
    rows = await tx.rows("SELECT MIN(due_us) FROM due WHERE state = 'waiting'")
    return None if rows[0][0] is None else int(rows[0][0])


async def settle(tx: Tx, things: Iterable[tuple[Due, str]], now_us: int) -> None:
    """Each of these is done, or parked."""
    sql = "UPDATE due SET state = $4, done_us = $5 WHERE kind = $1 AND subject = $2 AND due_us = $3"
    await tx.run_many(sql, [(one.kind, one.subject, one.due_us, state, now_us) for one, state in things])


async def unpark(tx: Tx, kinds: Iterable[str]) -> int:
    """Parked rows of kinds that somebody does now wait again; how many."""
    ours = tx.among("kind", "$1")
    sql = f"UPDATE due SET state = 'waiting', done_us = NULL WHERE state = 'parked' AND {ours}"  # noqa: S608 - no values
    return await tx.run(sql, json.dumps(sorted(kinds)))


async def file(tx: Tx, kind: str, subject: str, due_us: int, now_us: int) -> bool:
    """True where this is the first time: the key refuses the second copy."""
    sql = """INSERT INTO due (kind, subject, due_us, state, done_us) VALUES ($1, $2, $3, 'done', $4)
    ON CONFLICT DO NOTHING"""
    return await tx.run(sql, kind, subject, due_us, now_us) == 1


async def last_done(tx: Tx, kind: str) -> int | None:
    """When the last work of this kind was due, by subjects that sort by time; None before the first."""
    sql = "SELECT due_us FROM due WHERE kind = $1 ORDER BY subject DESC, due_us DESC LIMIT 1"
    rows = await tx.rows(sql, kind)
    return None if not rows else int(rows[0][0])


async def since(tx: Tx, kind: str) -> int | None:
    """After when this kind of work, which comes again each day, is due; None before anything was told."""
    last_us = await last_done(tx, kind)
    return await first_entry_us(tx) if last_us is None else last_us


async def last_of(tx: Tx, kind: str, subject: str) -> int | None:
    """When the last work of this kind for this subject was due, None before the first."""
    sql = "SELECT due_us FROM due WHERE kind = $1 AND subject = $2 ORDER BY due_us DESC LIMIT 1"
    rows = await tx.rows(sql, kind, subject)
    return None if not rows else int(rows[0][0])


async def first_entry_us(tx: Tx) -> int | None:
    """When the first entry of the unit or the first message was received, None before both.

    Replay may begin earlier than the setup that it speaks to.
    """
    entries = await tx.rows("SELECT received_us FROM entries WHERE chain = $1 AND seq = 1", UNIT_CHAIN)
    messages = await tx.rows("SELECT received_us FROM raw_messages ORDER BY row LIMIT 1")
    return min((int(us) for (us,) in (*entries, *messages)), default=None)
