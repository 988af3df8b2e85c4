"""What `show` and the web chat read: plain lists, no working copies."""

from __future__ import annotations

import json
from typing import Any

from bot.model.case import Case
from bot.model.cold import Row
from bot.model.entries import Draft, OfCustody, PhotoKept
from bot.model.message import Outgoing
from bot.model.sample import Sample

from .database import Tx
from .ledger import draft_of


async def samples(tx: Tx, case: str | None) -> list[Sample]:
    """All jars, of one case where named, in the order they were declared."""
    where = "" if case is None else " WHERE case_name = $1"
    values = () if case is None else (case,)
    sql = f"SELECT doc FROM samples{where} ORDER BY case_name, declared_us, LENGTH(id), id"  # noqa: S608 - no values in it
    return [Sample.model_validate_json(doc) for (doc,) in await tx.rows(sql, *values)]


async def cases(tx: Tx) -> dict[str, Case]:
    """All cases by name."""
    rows = await tx.rows("SELECT name, doc FROM cases ORDER BY name")
    return {name: Case.model_validate_json(doc) for name, doc in rows}


async def messages(tx: Tx) -> list[dict[str, Any]]:
    """All raw messages in the order they were stored."""
    rows = await tx.rows(
        """SELECT r.row, r.key, r.address, r.received_us, r.sent_us, r.state, r.sha256, r.text, a.person
        FROM raw_messages AS r LEFT JOIN addresses AS a ON a.address = r.address AND r.state <> 'quarantined'
        ORDER BY r.row"""
    )
    names = ("row", "key", "address", "received_us", "sent_us", "state", "sha256", "text", "person")
    return [dict(zip(names, row, strict=True)) for row in rows]


async def entries(tx: Tx, chain: str | None) -> list[dict[str, Any]]:
    """The chains as stored: each entry's own text, with its hash."""
    where = "" if chain is None else " WHERE chain = $1"
    values = () if chain is None else (chain,)
    sql = f"SELECT hash, text FROM entries{where} ORDER BY chain, seq"  # noqa: S608 - no values in it
    return [{**json.loads(text), "hash": hash_} for hash_, text in await tx.rows(sql, *values)]


async def custody(tx: Tx, chain: str | None) -> list[Draft]:
    """The entries on custody, of one chain where named, in their order."""
    kinds = sorted(kind.__name__ for kind in OfCustody.__subclasses__())
    where = "" if chain is None else " AND chain = $2"
    values = () if chain is None else (chain,)
    sql = f"SELECT text FROM entries WHERE {tx.among('kind', '$1')}{where} ORDER BY chain, seq"  # noqa: S608 - no values in it
    return [draft_of(text) for (text,) in await tx.rows(sql, json.dumps(kinds), *values)]


async def cold(tx: Tx) -> list[Row]:
    """All that was told of coolers, by cooler and time."""
    rows = await tx.rows("SELECT id, cooler, at_us, doc FROM readings ORDER BY cooler, at_us, id")
    return [(id_, cooler, at_us, json.loads(doc)) for id_, cooler, at_us, doc in rows]


async def texts(tx: Tx) -> list[dict[str, Any]]:
    """Every text ever queued, oldest first, with what became of it and what its network reported."""
    names = ("row", "doc", "queued_us", "state", "attempts", "again", "problem", "report", "report_us")
    rows = await tx.rows(f"SELECT {', '.join(names)} FROM outbox ORDER BY row")  # noqa: S608 - no values
    return [dict(zip(names, row, strict=True)) for row in rows]


async def files(tx: Tx) -> list[dict[str, Any]]:
    """All files on record in the order they came.

    `sample_id` is None where no jar has it yet; `to_be_typed` as `PhotoKept` says, of papers and results no.
    """
    rows = await tx.rows(
        "SELECT id, sha256, person, chain, sample_id, received_us, doc FROM photos ORDER BY received_us, id"
    )
    names = ("id", "sha256", "person", "chain", "sample_id", "received_us", "to_be_typed")
    return [dict(zip(names, (*row, _to_be_typed(json.loads(doc))), strict=True)) for *row, doc in rows]


def _to_be_typed(doc: dict[str, Any]) -> bool:
    return "samples" not in doc and PhotoKept.model_validate(doc).to_be_typed


async def named_files(tx: Tx) -> set[str]:
    """Every file that an entry or a message names, a stranger's too."""
    named = {sha256 for (sha256,) in await tx.rows("SELECT DISTINCT sha256 FROM photos")}
    for (text,) in await tx.rows("SELECT text FROM raw_messages WHERE text LIKE '%\"attachments\":[{%'"):
        named.update(file["sha256"] for file in json.loads(text)["attachments"])
    return named


async def used_by_kit(tx: Tx, blocks: dict[str, tuple[int, int] | None]) -> dict[str, set[int]]:
    """Of each kit's block of numbers those that any jar bears; all kits in one look."""
    found = {number for (number,) in await tx.rows("SELECT DISTINCT number_int FROM samples")}
    ranges = {kit: range(block[0], block[1] + 1) if block else range(0) for kit, block in blocks.items()}
    return {kit: {number for number in block if number in found} for kit, block in ranges.items()}


async def conversation(tx: Tx, address: str, limit: int) -> tuple[list[tuple[Any, ...]], list[Outgoing]]:
    """The last lines of a conversation: raw messages as (key, received_us, text), and texts sent."""
    raws = await tx.rows(
        "SELECT key, received_us, text FROM raw_messages WHERE address = $1 ORDER BY row DESC LIMIT $2",
        address,
        limit,
    )
    rows = await tx.rows(
        """SELECT row, doc FROM outbox WHERE address = $1 AND state <> 'merged'
        ORDER BY row DESC LIMIT $2""",
        address,
        limit,
    )
    sent = [Outgoing.model_validate_json(doc).model_copy(update={"row": row}) for row, doc in reversed(rows)]
    return list(reversed(raws)), sent


async def sent_after(tx: Tx, address: str, after: int) -> list[Outgoing]:
    """What was queued for an address after that row, oldest first."""
    sql = """SELECT row, doc FROM outbox WHERE address = $1 AND row > $2 AND state <> 'merged'
    ORDER BY row LIMIT 500"""
    rows = await tx.rows(sql, address, after)
    return [Outgoing.model_validate_json(doc).model_copy(update={"row": row}) for row, doc in rows]


async def sent(tx: Tx, address: str, row: int) -> Outgoing | None:
    """The text of that row, None where it is none of this address."""
    rows = await tx.rows("SELECT doc FROM outbox WHERE row = $1 AND address = $2", row, address)
    return Outgoing.model_validate_json(rows[0][0]).model_copy(update={"row": row}) if rows else None
