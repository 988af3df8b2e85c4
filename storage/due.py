"""Due work under its unique key, and the midnight entry of all heads."""

from __future__ import annotations

from bot.model.entries import UNIT_CHAIN, Draft, HeadsSealed

from .database import Tx
from .ledger import canonical, sha256_of
from .six_words import six_words
from .work import Work


async def file(tx: Tx, kind: str, subject: str, due_us: int, now_us: int) -> bool:
    """True where this is the first time: the key refuses the second copy."""
    sql = """INSERT INTO due (kind, subject, due_us, state, done_us) VALUES ($1, $2, $3, 'done', $4)
    ON CONFLICT DO NOTHING"""
    return await tx.run(sql, kind, subject, due_us, now_us) == 1


async def last_done(tx: Tx, kind: str) -> int | None:
    """When the last work of this kind was due, None before the first."""
    rows = await tx.rows("SELECT MAX(due_us) FROM due WHERE kind = $1", kind)
    return None if rows[0][0] is None else int(rows[0][0])


async def first_entry_us(tx: Tx) -> int | None:
    """When the first entry of the unit or the first message was received, None before both.

    Replay may begin earlier than the setup that it speaks to.
    """
    entries = await tx.rows("SELECT received_us FROM entries WHERE chain = $1 AND seq = 1", UNIT_CHAIN)
    messages = await tx.rows("SELECT received_us FROM raw_messages ORDER BY row LIMIT 1")
    return min((int(us) for (us,) in (*entries, *messages)), default=None)


async def seal_heads(work: Work, day: str, at_us: int, now_us: int) -> None:
    """The unit's chain holds all chain heads with their counts as they stood, and the day's words."""
    heads = dict(sorted(work.snapshot.heads.items()))
    words = six_words(sha256_of(canonical({chain: list(head) for chain, head in heads.items()})))
    body = HeadsSealed(day=day, heads=heads, words=words)
    draft = Draft(chain=UNIT_CHAIN, body=body, author="", channel="", said_us=at_us, received_us=now_us)
    await work.append([draft])
