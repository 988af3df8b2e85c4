"""How the store is, in a few cheap look-ups: what waits, what is on record, when it last took something."""

from __future__ import annotations

from bot.model.vitals import StoreVitals

from .database import Tx


async def vitals(tx: Tx) -> StoreVitals:
    """The store as of now; the cost does not grow with what is stored."""
    heads = await tx.rows("SELECT COUNT(*), COALESCE(SUM(seq), 0) FROM heads")
    waiting = await tx.rows(
        "SELECT COUNT(*), MIN(queued_us) FROM outbox WHERE state IN ('waiting', 'leased')"
    )
    last = await tx.rows("SELECT row, received_us FROM raw_messages ORDER BY row DESC LIMIT 1")
    return StoreVitals(
        chains=int(heads[0][0]),
        entries=int(heads[0][1]),
        texts_waiting=int(waiting[0][0]),
        oldest_text_us=waiting[0][1],
        messages=int(last[0][0]) if last else 0,
        last_message_us=int(last[0][1]) if last else None,
    )


async def given_up_since(tx: Tx, since_us: int) -> int:
    """How many texts were given up since then."""
    rows = await tx.rows("SELECT COUNT(*) FROM outbox WHERE state = 'given_up' AND done_us >= $1", since_us)
    return int(rows[0][0])
