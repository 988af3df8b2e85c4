"""What the register reads: few rows however many are stored, each look-up by an index."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from bot.model.case import Case
from bot.model.cold import key_of
from bot.model.sample import Sample

from .database import Tx
from .lookups import READ

MOST = 500  # lines of one sheet; a case of more jars says so


async def writes(tx: Tx) -> int:
    """How often the store was written to: while it stands still, so does every sheet."""
    return int((await tx.rows("SELECT writes FROM store_state WHERE id = 1"))[0][0])


async def case(tx: Tx, name: str) -> Case | None:
    """The case of this name, None where there is none."""
    rows = await tx.rows("SELECT doc FROM cases WHERE name = $1", name)
    return Case.model_validate_json(rows[0][0]) if rows else None


async def cases(tx: Tx, state: str, most: int) -> list[Case]:
    """The cases in this state, the newest first."""
    sql = "SELECT doc FROM cases WHERE state = $1 ORDER BY name DESC LIMIT $2"
    return [Case.model_validate_json(doc) for (doc,) in await tx.rows(sql, state, most)]


async def counts(tx: Tx, names: Iterable[str]) -> dict[str, tuple[int, int]]:
    """(jars, jars that wait for an answer) of each of these cases that has any."""
    named = tx.among("case_name", "$1")
    sql = f"SELECT case_name, COUNT(*), SUM(open) FROM samples WHERE {named} GROUP BY case_name"  # noqa: S608 - no values in it
    rows = await tx.rows(sql, json.dumps(sorted(set(names))))
    return {name: (int(jars), int(waiting)) for name, jars, waiting in rows}


async def jars(tx: Tx, case: str) -> list[Sample]:
    """The jars of a case in the order they were told of, up to MOST."""
    sql = "SELECT doc FROM samples WHERE case_name = $1 ORDER BY declared_us, LENGTH(id), id LIMIT $2"
    return [Sample.model_validate_json(doc) for (doc,) in await tx.rows(sql, case, MOST)]


async def is_any_offered(tx: Tx, case: str, person: str) -> bool:
    """Whether a hand-over of some jar of this case to this person is open."""
    sql = "SELECT 1 FROM samples WHERE case_name = $1 AND offered_to = $2 LIMIT 1"
    return bool(await tx.rows(sql, case, person))


async def jar(tx: Tx, id_: str) -> Sample | None:
    """The jar of this id, None where there is none."""
    rows = await tx.rows("SELECT doc FROM samples WHERE id = $1", id_)
    return Sample.model_validate_json(rows[0][0]) if rows else None


async def waiting_jars(tx: Tx) -> list[Sample]:
    """Jars with a query or without their author's OK, the newest first, up to MOST."""
    sql = "SELECT doc FROM samples WHERE open = 1 ORDER BY declared_us DESC LIMIT $1"
    return [Sample.model_validate_json(doc) for (doc,) in await tx.rows(sql, MOST)]


async def last_readings(tx: Tx, coolers: Iterable[str]) -> dict[str, dict[str, Any]]:
    """The last reading of each of these coolers that has one."""
    sql = f"SELECT doc FROM readings WHERE cooler = $1 AND {READ} ORDER BY at_us DESC, id DESC LIMIT 1"  # noqa: S608 - no values
    found = {name: await tx.rows(sql, key_of(name)) for name in coolers}
    return {name: json.loads(rows[0][0]) for name, rows in found.items() if rows}


async def coolers_of(tx: Tx, case: str) -> list[str]:
    """The keys of the coolers that a jar of this case was in, or more: one whose name is like it."""
    sql = "SELECT DISTINCT cooler FROM readings WHERE doc LIKE $1 ORDER BY cooler"
    return [cooler for (cooler,) in await tx.rows(sql, f'%"sample":"{case}#%')]


async def photos_of(tx: Tx, jar: str) -> list[tuple[str, str]]:
    """(SHA-256, media type) of each file that shows this jar."""
    rows = await tx.rows("SELECT sha256, doc FROM photos WHERE sample_id = $1 ORDER BY received_us, id", jar)
    return [(sha256, json.loads(doc)["photo"]["media_type"]) for sha256, doc in rows]


async def photo(tx: Tx, sha256: str) -> tuple[str, str] | None:
    """(case, media type) of a file that an entry names, None where none does."""
    rows = await tx.rows("SELECT chain, doc FROM photos WHERE sha256 = $1 LIMIT 1", sha256)
    return (rows[0][0], json.loads(rows[0][1])["photo"]["media_type"]) if rows else None
