"""What a case bundle takes from the store: texts exactly as they were hashed, a page at a time."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Iterable
from typing import Any

from .database import Tx
from .ledger import canonical, sha256_of
from .rebuild import PAGE
from .six_words import six_words


async def entry_texts(tx: Tx, chain: str) -> AsyncIterator[tuple[str, str]]:
    """(hash, text) of each entry of a chain, in order."""
    sql = "SELECT seq, hash, text FROM entries WHERE chain = $1 AND seq > $2 ORDER BY seq LIMIT $3"
    after = 0
    while rows := await tx.rows(sql, chain, after, PAGE):
        after = rows[-1][0]
        for _, hash_, text in rows:
            yield hash_, text


async def message_texts(tx: Tx, cited: set[str]) -> AsyncIterator[tuple[str, str]]:
    """(sha256, text) of each of these raw messages, in the order they were stored."""
    sql = "SELECT row, sha256, text FROM raw_messages WHERE row > $1 ORDER BY row LIMIT $2"
    after = -1
    while rows := await tx.rows(sql, after, PAGE):
        after = rows[-1][0]
        for _, sha256, text in rows:
            if sha256 in cited:
                yield sha256, text


async def head(tx: Tx, chain: str) -> tuple[int, str]:
    """(sequence, hash) of a chain's last entry. Raises KeyError where it has none."""
    rows = await tx.rows("SELECT seq, hash FROM heads WHERE chain = $1", chain)
    if not rows:
        raise KeyError(chain)
    return int(rows[0][0]), str(rows[0][1])


async def values_behind(tx: Tx, commitments: Iterable[str]) -> list[dict[str, str]]:
    """Commitment, value and salt of each of these that the side table holds."""
    sql = (
        f"SELECT commitment, value, salt FROM salts WHERE {tx.among('commitment', '$1')} ORDER BY commitment"  # noqa: S608 - no values in it
    )
    rows = await tx.rows(sql, json.dumps(sorted(set(commitments))))
    return [dict(zip(("commitment", "value", "salt"), row, strict=True)) for row in rows]


async def days_of(tx: Tx, words: str) -> list[dict[str, Any]]:
    """The midnights whose heads give these six words; the words are made anew from the heads."""
    return [one for one in await midnights(tx) if six_words(sha256_of(canonical(one["heads"]))) == words]


async def midnights(tx: Tx) -> list[dict[str, Any]]:
    """Each midnight's day, words and heads, with its place in the unit's chain, oldest first."""
    rows = await tx.rows("SELECT seq, hash, text FROM entries WHERE kind = 'HeadsSealed' ORDER BY seq")
    return [{"seq": seq, "hash": hash_, **json.loads(text)["body"]} for seq, hash_, text in rows]
