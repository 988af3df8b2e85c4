"""What the desk reads for a gulp: the unit's snapshot, conversations, the jars named by a board's keys."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from bot.model.base import Frozen
from bot.model.board import CONVERSATION, Board, LoosePhoto
from bot.model.case import Case
from bot.model.cold import STRUCK, Row
from bot.model.entries import PhotoKept, WatchSet
from bot.model.keys import Key
from bot.model.kit import Stock
from bot.model.message import Incoming, MessageState
from bot.model.people import Cooler, Kit, Person, Unit, Whereabouts
from bot.model.sample import Sample
from bot.model.shelf import OPEN_MOST, Shelf

from . import alerts, outbox
from .database import Tx
from .engine import Look
from .projections import Columns, sample_columns


@dataclass(frozen=True)
class Snapshot:
    """What changes seldom, as of one count of writes."""

    writes: int
    last_text: int
    unit: Unit
    cases: dict[str, Case]
    heads: dict[str, tuple[int, str]]
    people_by_address: dict[str, str]
    case_names: frozenset[str]

    def board(self, shelf: Shelf) -> Board:
        """A working copy for one gulp."""
        cases, heads, people = dict(self.cases), dict(self.heads), dict(self.people_by_address)
        return Board(self.unit, cases, heads, people, self.case_names, shelf)


async def count_write(tx: Tx) -> int:
    """Which transaction this is, counted over all processes that ever wrote here."""
    rows = await tx.rows("UPDATE store_state SET writes = writes + 1 WHERE id = 1 RETURNING writes")
    return int(rows[0][0])


async def read_snapshot(tx: Tx) -> Snapshot:
    """The unit, the open cases, all heads and who is enrolled under which address."""
    cases = await tx.rows("SELECT name, state, doc FROM cases ORDER BY name")
    heads = await tx.rows("SELECT chain, seq, hash FROM heads ORDER BY chain")
    addresses = await tx.rows(
        "SELECT address, person FROM addresses WHERE state = 'enrolled' ORDER BY address"
    )
    return Snapshot(
        writes=0,
        last_text=await outbox.last_row(tx),
        unit=await read_unit(tx),
        cases={name: Case.model_validate_json(doc) for name, state, doc in cases if state == "open"},
        heads={chain: (seq, hash_) for chain, seq, hash_ in heads},
        people_by_address=dict(addresses),
        case_names=frozenset(name for name, _, _ in cases),
    )


# What of the unit has a name: kind of row to the unit's field and the model of its document.
NAMED: dict[str, tuple[str, type[Frozen]]] = {
    "person": ("people", Person),
    "kit": ("kits", Kit),
    "cooler": ("coolers", Cooler),
    "stock": ("stock", Stock),
    "whereabouts": ("whereabouts", Whereabouts),
}


async def read_unit(tx: Tx) -> Unit:
    """The unit as its table holds it."""
    known: dict[str, Any] = {"limits": {}, **{field: {} for field, _ in NAMED.values()}}
    for kind, name, doc in await tx.rows("SELECT kind, name, doc FROM unit_items ORDER BY kind, name"):
        match kind:
            case "unit":
                known |= json.loads(doc)
            case "watch":
                known["watch"] = WatchSet.model_validate_json(doc)
            case "limit":
                known["limits"][name] = json.loads(doc)
            case _:
                field, model = NAMED[kind]
                known[field][name] = model.model_validate_json(doc)
    return Unit(**known)


async def supply_conversations(tx: Tx, board: Board, addresses: Iterable[str]) -> None:
    """The conversations of these addresses are on the board."""
    sql = f"SELECT doc FROM conversations WHERE {tx.among('address', '$1')}"  # noqa: S608 - no values in it
    for (doc,) in await tx.rows(sql, json.dumps(sorted(set(addresses)))):
        conversation = CONVERSATION.validate_json(doc)
        board.conversations[conversation.address] = conversation


LOOKUPS = {
    "id": "id",
    "number": "jar_key",
    "seal": "seal",
    "evidence": "evidence",
    "offered": "offered_to",
    "reseal": "reseal",
    "box": "box",
}


async def supply(tx: Tx, board: Board, keys: Iterable[Key], columns: dict[str, Columns]) -> None:
    """Everything that the store holds under these keys is on the board, and its jars' `columns` are known."""
    by_sort: dict[str, list[Key]] = {}
    for key in sorted(set(keys)):
        by_sort.setdefault(key[0], []).append(key)
    at_once = [(sort, named) for sort, named in by_sort.items() if sort not in SUPPLIERS]
    found = await tx.rows_of([_look(tx, sort, named) for sort, named in at_once])
    known = board.shelf.samples
    for (sort, named), rows in zip(at_once, found, strict=True):
        if sort == "message":
            board.seen.update((key, MessageState(state)) for key, state in rows)
        else:
            fresh = [Sample.model_validate_json(doc) for id_, doc in rows if id_ not in known]
            board.shelf.supply(named, fresh)
            columns.update((sample.id, sample_columns(sample)) for sample in fresh)
    for sort, named in by_sort.items():
        if sort in SUPPLIERS:
            await SUPPLIERS[sort](tx, board, named)


def _look(tx: Tx, sort: str, keys: list[Key]) -> Look:
    """The one SELECT for all these keys of a sort: (id, document) of jars, (key, state) of messages."""
    if sort == "message":
        sql = f"SELECT key, state FROM raw_messages WHERE {tx.among('key', '$1')}"  # noqa: S608 - no values in it
        return sql, (json.dumps([key for _, key in keys]),)
    if sort not in LOOKUPS:
        return _union(sort, len(keys), len(keys[0]) - 1), tuple(value for key in keys for value in key[1:])
    sql = f"SELECT id, doc FROM samples WHERE {tx.among(LOOKUPS[sort], '$1')}"  # noqa: S608 - a name from LOOKUPS
    return sql, (json.dumps(["/".join(key[1:]) for key in keys]),)


# Two each: one may be the jar that is being told. The engines would sort a jar without time differently.
_LAST = "SELECT * FROM (SELECT id, doc FROM samples WHERE told_by = {0} ORDER BY declared_us DESC LIMIT 2)"
_LAST_PLACED = """SELECT * FROM (SELECT id, doc FROM samples WHERE told_by = {0} AND has_position = 1
AND event_us IS NOT NULL ORDER BY event_us DESC LIMIT 2)"""
_OPEN = f"""SELECT * FROM (SELECT id, doc FROM samples WHERE told_by = {{0}} AND open = 1
ORDER BY declared_us DESC LIMIT {OPEN_MOST})"""  # noqa: S608 - a number of the program
_KIND = "SELECT * FROM (SELECT id, doc FROM samples WHERE case_name = {0} AND kind = {1} LIMIT 1)"
_CASE = "SELECT * FROM (SELECT id, doc FROM samples WHERE case_name = {0})"
SOME: dict[str, tuple[str, ...]] = {
    "by": (_LAST, _LAST_PLACED),
    "open": (_OPEN,),
    "kind": (_KIND,),
    "jars": (_CASE,),
}


@cache
def _union(sort: str, count: int, width: int) -> str:
    """One statement for many keys: each a small indexed look-up, on either engine."""
    parts: list[str] = []
    for place in range(count):
        names = [f"${place * width + column + 1}" for column in range(width)]
        parts.extend(part.format(*names) for part in SOME[sort])
    return " UNION ALL ".join(f"{part} AS part{index}" for index, part in enumerate(parts))


async def _supply_used(tx: Tx, board: Board, keys: list[Key]) -> None:
    for key in keys:
        block = board.unit.kits[key[2]].numbers or (1, 0)
        sql = "SELECT DISTINCT number_int FROM samples WHERE case_name = $1 AND number_int BETWEEN $2 AND $3"
        board.supply_used(key, [number for (number,) in await tx.rows(sql, key[1], *block)])


QUARANTINED_MOST = 500  # of one address; more is a flood and no crew


async def _supply_quarantined(tx: Tx, board: Board, keys: list[Key]) -> None:
    sql = """SELECT text, sha256 FROM (SELECT row, text, sha256 FROM raw_messages
    WHERE address = $1 AND state = 'quarantined' ORDER BY row DESC LIMIT $2) AS last ORDER BY row"""
    for _, address in keys:
        account = address.partition(":")[2]
        board.quarantined[address] = [
            (Incoming.model_validate({**json.loads(text), "account": account}), sha256)
            for text, sha256 in await tx.rows(sql, address, QUARANTINED_MOST)
        ]


async def _supply_closed(tx: Tx, board: Board, keys: list[Key]) -> None:
    for _, name in keys:
        rows = await tx.rows("SELECT doc FROM cases WHERE name = $1", name)
        board.closed[name] = Case.model_validate_json(rows[0][0]) if rows else None


async def _supply_of_kit(tx: Tx, board: Board, keys: list[Key]) -> None:
    """A kit's jars since it was counted: a drill's jars are a training kit's, real ones another's."""
    sql = """SELECT s.doc, c.doc FROM samples AS s JOIN cases AS c ON c.name = s.case_name
    WHERE s.number_int BETWEEN $1 AND $2 AND s.declared_us >= $3 ORDER BY s.declared_us, s.id LIMIT 400"""
    for _, name in keys:
        kit, stock = board.unit.kits[name], board.unit.stock.get(name)
        since_us = stock.begun_us if stock is not None and stock.begun_us is not None else 0
        rows = await tx.rows(sql, *(kit.numbers or (1, 0)), since_us)
        board.of_kit[name] = tuple(
            Sample.model_validate_json(doc)
            for doc, case in rows
            if Case.model_validate_json(case).exercise == kit.training
        )


# What stands with readings in the table of a cooler's life names its kind; a reading does not. One that its
# author struck has a row behind it.
READ = f"""doc NOT LIKE '%"kind":%'
AND NOT EXISTS (SELECT 1 FROM readings AS later WHERE later.id = readings.id || '{STRUCK}')"""  # noqa: S608 - no values


async def cold_rows(tx: Tx, cooler: str, most: int = 1000) -> list[Row]:
    """The latest rows of a cooler's life, oldest first; `cooler` is its key."""
    sql = """SELECT id, cooler, at_us, doc FROM readings WHERE cooler = $1
    ORDER BY at_us DESC, id DESC LIMIT $2"""
    rows = await tx.rows(sql, cooler, most)
    return [(id_, name, at_us, json.loads(doc)) for id_, name, at_us, doc in reversed(rows)]


async def _supply_lately(tx: Tx, board: Board, keys: list[Key]) -> None:
    sql = f"""SELECT id, cooler, at_us, doc FROM readings WHERE cooler = $1 AND {READ}
    ORDER BY at_us DESC, id DESC LIMIT 3"""  # noqa: S608 - no values
    found = await tx.rows_of([(sql, (cooler,)) for _, cooler in keys])
    for (_, cooler), rows in zip(keys, found, strict=True):
        board.lately[cooler] = [(id_, name, at, json.loads(doc)) for id_, name, at, doc in reversed(rows)]


async def _supply_coolers(tx: Tx, board: Board, keys: list[Key]) -> None:
    for _, cooler in keys:
        board.cold[cooler] = await cold_rows(tx, cooler)


async def _supply_loose(tx: Tx, board: Board, keys: list[Key]) -> None:
    for _, person in keys:
        sql = """SELECT id, chain, received_us, doc FROM photos WHERE person = $1 AND sample_id IS NULL
        ORDER BY received_us DESC, id DESC LIMIT 50"""
        rows = reversed(await tx.rows(sql, person))
        kept = [(id_, chain, at, PhotoKept.model_validate_json(doc)) for id_, chain, at, doc in rows]
        board.loose[person] = {
            id_: LoosePhoto(id=id_, chain=chain, received_us=at, photo=body.photo)
            for id_, chain, at, body in kept
            if not body.of_card
        }


async def _supply_alerts(tx: Tx, board: Board, keys: list[Key]) -> None:
    if keys[0][0] == "alert":
        found = await alerts.named(tx, (id_ for _, id_ in keys))
        for key in keys:
            board.supply_alerts(key, found)
        return
    for key in keys:
        board.supply_alerts(key, await alerts.under(tx, key))


async def _supply_heard(tx: Tx, board: Board, keys: list[Key]) -> None:
    for _, name in keys:
        person = board.unit.people.get(name)
        addresses = json.dumps(person.addresses if person is not None else ())
        sql = f"SELECT MAX(touched_us) FROM conversations WHERE {tx.among('address', '$1')}"  # noqa: S608 - no values
        rows = await tx.rows(sql, addresses)
        board.heard[name] = int(rows[0][0] or 0)


SUPPLIERS: dict[str, Callable[[Tx, Board, list[Key]], Awaitable[None]]] = {
    "used": _supply_used,
    "loose": _supply_loose,
    "kit": _supply_of_kit,
    "heard": _supply_heard,
    "quarantined": _supply_quarantined,
    "closed_case": _supply_closed,
    "cooler": _supply_coolers,
    "lately": _supply_lately,
    **dict.fromkeys(alerts.LOOKUPS, _supply_alerts),
}
