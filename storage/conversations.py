"""Raw messages, where each conversation stands, and the side table of what a disclosure copy masks."""

from __future__ import annotations

import json
from collections.abc import Iterable

from bot.model.board import CONVERSATION, Conversation
from bot.model.message import Incoming, MessageState

from .database import Tx


async def put_raws(tx: Tx, raws: Iterable[tuple[Incoming, MessageState, str, str]]) -> None:
    """These messages are kept for ever: (message, state, its hash, its canonical text)."""
    sql = """INSERT INTO raw_messages (key, address, received_us, sent_us, state, sha256, text)
    VALUES ($1, $2, $3, $4, $5, $6, $7)"""
    rows = [
        (message.key, message.address, message.received_us, message.sent_us, str(state), sha256, text)
        for message, state, sha256, text in raws
    ]
    await tx.run_many(sql, rows)


async def put_conversations(tx: Tx, changed: Iterable[tuple[Conversation, int]]) -> None:
    """These conversations stand like this, touched at these microseconds."""
    sql = """INSERT INTO conversations (address, doc, touched_us) VALUES ($1, $2, $3)
    ON CONFLICT (address) DO UPDATE SET doc = excluded.doc, touched_us = excluded.touched_us"""
    await tx.run_many(
        sql,
        [
            (one.address, CONVERSATION.dump_json(one, exclude_defaults=True).decode(), us)
            for one, us in changed
        ],
    )


async def commitments(tx: Tx, values: list[str]) -> dict[str, str]:
    """What stands in the record for those of these values that have stood in it before."""
    sql = f"SELECT value, commitment FROM salts WHERE {tx.among('value', '$1')}"  # noqa: S608 - no values in it
    return dict(await tx.rows(sql, json.dumps(values)))


async def values_of(tx: Tx, named: Iterable[str]) -> tuple[str, ...]:
    """The values behind these commitments, in their order. Raises KeyError for an unknown one."""
    wanted = list(named)
    sql = f"SELECT commitment, value FROM salts WHERE {tx.among('commitment', '$1')}"  # noqa: S608 - as above
    known: dict[str, str] = dict(await tx.rows(sql, json.dumps(wanted)))
    return tuple(known[commitment] for commitment in wanted)
