"""Texts that wait to be sent: leased, settled, tried again; in order within each address."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from bot.model.message import Outgoing

from .database import Tx

LEASE_US = 60_000_000
# Spelled as the partial indexes spell it, so that cost follows what waits and not what was ever sent.
PENDING = "state IN ('waiting', 'leased')"


class Settled(NamedTuple):
    """What became of one text: "sent", "given_up", or "waiting" until `due_us`.

    `tried` is False where it waited behind another and was not sent at all; `again` is True where it may
    have gone all the same.
    """

    row: int
    state: str
    due_us: int = 0
    problem: str | None = None
    tried: bool = True
    again: bool = False


async def queue(tx: Tx, texts: list[Outgoing], by: str, now_us: int, later: set[str]) -> list[Outgoing]:
    """These texts, numbered, are in the outbox; those returned are leased and may go once it is committed.

    Texts to an address in `later` wait behind the earlier ones to it.
    """
    sql = """INSERT INTO outbox (row, address, doc, queued_us, due_us, state, attempts, again, leased_by,
    leased_until_us) VALUES ($1, $2, $3, $4, $4, $5, $6, 0, $7, $8)"""
    rows: list[tuple[object, ...]] = []
    for text in texts:
        address, apart = text.address, {"row", "again"} if text.drawing else {"row", "again", "drawing"}
        head = (text.row, address, text.model_dump_json(exclude=apart), text.queued_us)
        if address in later:
            rows.append((*head, "waiting", 0, None, None))
        else:
            rows.append((*head, "leased", 1, by, now_us + LEASE_US))
    await tx.run_many(sql, rows)
    return [text for text in texts if text.address not in later] if later else texts


async def last_row(tx: Tx) -> int:
    """The number of the last text ever queued, 0 before the first."""
    return int((await tx.rows("SELECT COALESCE(MAX(row), 0) FROM outbox"))[0][0])


async def waiting_addresses(tx: Tx) -> set[str]:
    """The addresses to which a text waits."""
    sql = f"SELECT DISTINCT address FROM outbox WHERE {PENDING} AND state = 'waiting'"  # noqa: S608 - no values
    return {address for (address,) in await tx.rows(sql)}


async def lease(tx: Tx, by: str, now_us: int, most: int) -> list[tuple[Outgoing, int]]:
    """Texts that may go now, marked as being sent, each with its count of tries.

    Of one address only what no earlier text blocks; another's lease that ran out is taken over and its
    text marked as possibly sent twice.
    """
    rows = await tx.rows(
        """SELECT row, doc, attempts, state = 'leased' OR again = 1 FROM outbox AS one
        WHERE state IN ('waiting', 'leased')
          AND (state = 'waiting' AND due_us <= $1 OR state = 'leased' AND leased_until_us <= $1
            AND leased_by <> $3)
          AND NOT EXISTS (SELECT 1 FROM outbox AS earlier
            WHERE earlier.state IN ('waiting', 'leased')
              AND earlier.address = one.address AND earlier.row < one.row
              AND (earlier.state = 'waiting' AND earlier.due_us > $1
                OR earlier.state = 'leased' AND earlier.leased_until_us > $1))
        ORDER BY +row LIMIT $2""",  # the sign keeps SQLite from walking the whole table by its row
        now_us,
        most,
        by,
    )
    await tx.run_many(
        """UPDATE outbox SET again = CASE WHEN state = 'leased' THEN 1 ELSE again END, state = 'leased',
        leased_by = $2, leased_until_us = $3, attempts = attempts + 1 WHERE row = $1""",
        [(row, by, now_us + LEASE_US) for row, *_ in rows],
    )
    return [
        (
            Outgoing.model_validate_json(doc).model_copy(update={"row": row, "again": bool(again)}),
            attempts + 1,
        )
        for row, doc, attempts, again in rows
    ]


async def settle(tx: Tx, results: Iterable[Settled], now_us: int) -> None:
    """What became of each text is on record."""
    rows = [
        (r.row, r.state, r.due_us or now_us, now_us, r.problem, int(not r.tried), int(r.again))
        for r in results
    ]
    sql = """UPDATE outbox SET state = $2, due_us = $3, problem = $5, leased_by = NULL,
    leased_until_us = NULL, attempts = attempts - $6, again = CASE WHEN $7 = 1 THEN 1 ELSE again END,
    done_us = CASE WHEN $2 = 'waiting' THEN NULL ELSE CAST($4 AS BIGINT) END WHERE row = $1"""
    await tx.run_many(sql, rows)


async def report(tx: Tx, reports: Iterable[tuple[int, str, int]]) -> None:
    """What its network said of each text stands with it: (row, state, received in microseconds UTC).

    Reports come in any order and more than once: what the phone said outweighs what the network said.
    """
    sql = """UPDATE outbox SET report = $2, report_us = $3 WHERE row = $1
    AND (report IS NULL OR report IN ('accepted', 'refused') OR $2 IN ('delivered', 'undelivered'))"""
    await tx.run_many(sql, list(reports))


async def bring_forward(tx: Tx, now_us: int) -> None:
    """What waited for an instant by a clock that was set back since may go now, and leases end in time."""
    await tx.run("UPDATE outbox SET due_us = $1 WHERE state = 'waiting' AND due_us > $1", now_us)
    most = now_us + LEASE_US
    await tx.run(
        "UPDATE outbox SET leased_until_us = $1 WHERE state = 'leased' AND leased_until_us > $1", most
    )


async def withdraw(tx: Tx, addresses: Iterable[str]) -> None:
    """What waits to go to these addresses never goes; it stays to be read."""
    sql = "UPDATE outbox SET state = 'given_up', problem = 'revoked' WHERE address = $1 AND state = 'waiting'"
    await tx.run_many(sql, [(address,) for address in addresses])


async def orphan_leases(tx: Tx) -> int:
    """What a process that is gone was sending may go again now; how many texts that are."""
    sql = f"UPDATE outbox SET leased_until_us = 0, leased_by = '' WHERE {PENDING} AND state = 'leased'"  # noqa: S608 - as above
    return await tx.run(sql)


async def next_due_us(tx: Tx) -> int | None:
    """When the next waiting text may go, None where none waits."""
    sql = f"SELECT MIN(due_us) FROM outbox WHERE {PENDING} AND state = 'waiting'"  # noqa: S608 - no values
    rows = await tx.rows(sql)
    return None if rows[0][0] is None else int(rows[0][0])
