"""What a board's keys stand for: the SELECTs of all of them go to the database in one hop.

A sort of key is added in `SORTS`: a function that gives its SELECTs and what the board makes of their rows.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import lru_cache
from itertools import islice
from typing import NamedTuple, TypeAlias, TypeVar

from bot.model.board import Board, LoosePhoto
from bot.model.case import Case
from bot.model.cold import STRUCK, Row
from bot.model.entries import PhotoKept
from bot.model.keys import Key
from bot.model.message import Incoming, MessageState
from bot.model.sample import Sample
from bot.model.shelf import OPEN_MOST

from . import alerts, sessions
from .database import Tx
from .engine import Found, Look
from .projections import Columns, sample_columns

T = TypeVar("T")


class Into(NamedTuple):
    """Where what is found goes: the board, and the `columns` of its jars as their rows stand."""

    board: Board
    columns: dict[str, Columns]
    among: Callable[[str, str], str]


class Asked(NamedTuple):
    """SELECTs, and what is to be done with what each of them found."""

    looks: list[Look]
    take: Callable[[list[Found]], None]


Sort: TypeAlias = Callable[[Into, list[Key]], Asked]


async def supply(tx: Tx, board: Board, keys: set[Key], columns: dict[str, Columns]) -> None:
    """Everything that the store holds under these keys is on the board, and its jars' `columns` are known."""
    into = Into(board, columns, tx.among)
    by_sort: dict[str, list[Key]] = {}
    for key in sorted(keys):
        by_sort.setdefault(key[0], []).append(key)
    asked = [SORTS[sort](into, named) for sort, named in by_sort.items()]
    found = iter(await tx.rows_of([look for one in asked for look in one.looks]))
    for one in asked:
        one.take(list(islice(found, len(one.looks))))


def _each(held: dict[str, T], keys: list[Key], looks: list[Look], told: Callable[[str, Found], T]) -> Asked:
    """One SELECT for each key; what its rows tell is `held` under the key's name."""

    def take(found: list[Found]) -> None:
        held.update((key[1], told(key[1], rows)) for key, rows in zip(keys, found, strict=True))

    return Asked(looks, take)


def _messages(into: Into, keys: list[Key]) -> Asked:
    def take(found: list[Found]) -> None:
        into.board.seen.update((key, MessageState(state)) for key, state in found[0])

    sql = f"SELECT key, state FROM raw_messages WHERE {into.among('key', '$1')}"  # noqa: S608 - no values in it
    return Asked([(sql, (json.dumps([key for _, key in keys]),))], take)


def _codes(into: Into, keys: list[Key]) -> Asked:
    def take(found: list[Found]) -> None:
        into.board.codes.update(sessions.codes_of(found[0]))

    return Asked([sessions.look_for(into.among, [commitment for _, commitment in keys])], take)


# --- jars -------------------------------------------------------------------------------------


def _jars(into: Into, keys: list[Key], look: Look) -> Asked:
    """The rows are (id, document); what is at hand is not read again."""

    def take(found: list[Found]) -> None:
        shelf = into.board.shelf
        fresh = [Sample.model_validate_json(doc) for id_, doc in found[0] if id_ not in shelf.samples]
        shelf.supply(keys, fresh)
        into.columns.update((sample.id, sample_columns(sample)) for sample in fresh)

    return Asked([look], take)


def _by_column(column: str) -> Sort:
    def asked(into: Into, keys: list[Key]) -> Asked:
        sql = f"SELECT id, doc FROM samples WHERE {into.among(column, '$1')}"  # noqa: S608 - a name from SORTS
        return _jars(into, keys, (sql, (json.dumps(["/".join(key[1:]) for key in keys]),)))

    return asked


# Two each: one may be the jar that is being told. The engines would sort a jar without time differently. With
# them come all of the same instant, as jars of one text are: the shelf knows their order.
_SINCE = """SELECT * FROM (SELECT id, doc FROM samples WHERE {here} AND {at} >= (SELECT MIN({at})
FROM (SELECT {at} FROM samples WHERE {here} ORDER BY {at} DESC LIMIT {most}) AS latest))"""
_HERE = "told_by = {0} AND has_position = 1 AND event_us IS NOT NULL"
_LAST = _SINCE.format(here="told_by = {0}", at="declared_us", most="{most}"), 2
_LAST_PLACED = _SINCE.format(here=_HERE, at="event_us", most="{most}"), 2
_OPEN = _SINCE.format(here="told_by = {0} AND open = 1", at="declared_us", most="{most}"), OPEN_MOST
_KIND = "SELECT * FROM (SELECT id, doc FROM samples WHERE case_name = {0} AND kind = {1} LIMIT {most})", 1
_CASE = "SELECT * FROM (SELECT id, doc FROM samples WHERE case_name = {0})", 0


def _by_some(*some: tuple[str, int]) -> Sort:
    """Each SELECT with how many jars it is to find at most."""

    def asked(into: Into, keys: list[Key]) -> Asked:
        sql = _union(some, len(keys), len(keys[0]) - 1, _more(into))
        return _jars(into, keys, (sql, tuple(value for key in keys for value in key[1:])))

    return asked


def _more(into: Into) -> int:
    """How many rows may be of jars that the board put elsewhere since; rounded up: statements are kept."""
    changed, columns = into.board.changed, into.columns
    elsewhere = sum(columns[id_] != sample_columns(changed[id_]) for id_ in changed.keys() & columns.keys())
    return 1 << elsewhere.bit_length() if elsewhere else 0


@lru_cache(maxsize=256)
def _union(some: tuple[tuple[str, int], ...], count: int, width: int, more: int) -> str:
    """One statement for many keys: each a small indexed look-up, on either engine."""
    parts: list[str] = []
    for place in range(count):
        names = [f"${place * width + column + 1}" for column in range(width)]
        parts.extend(part.format(*names, most=most + more) for part, most in some)
    return " UNION ALL ".join(f"{part} AS part{index}" for index, part in enumerate(parts))


def _used(into: Into, keys: list[Key]) -> Asked:
    def take(found: list[Found]) -> None:
        for key, rows in zip(keys, found, strict=True):
            into.board.supply_used(key, [number for (number,) in rows])

    sql = "SELECT DISTINCT number_int FROM samples WHERE case_name = $1 AND number_int BETWEEN $2 AND $3"
    blocks = [into.board.unit.kits[kit].numbers or (1, 0) for _, _, kit in keys]
    return Asked([(sql, (case, *block)) for (_, case, _), block in zip(keys, blocks, strict=True)], take)


def _of_kit(into: Into, keys: list[Key]) -> Asked:
    """A kit's jars since it was counted: a drill's jars are a training kit's, real ones another's."""
    unit = into.board.unit

    def look(name: str) -> Look:
        kit, stock = unit.kits[name], unit.stock.get(name)
        since_us = stock.begun_us if stock is not None and stock.begun_us is not None else 0
        return sql, (*(kit.numbers or (1, 0)), since_us)

    def told(name: str, rows: Found) -> tuple[Sample, ...]:
        return tuple(
            Sample.model_validate_json(doc)
            for doc, case in rows
            if Case.model_validate_json(case).exercise == unit.kits[name].training
        )

    sql = """SELECT s.doc, c.doc FROM samples AS s JOIN cases AS c ON c.name = s.case_name
    WHERE s.number_int BETWEEN $1 AND $2 AND s.declared_us >= $3
    ORDER BY s.declared_us, LENGTH(s.id), s.id LIMIT 400"""
    return _each(into.board.of_kit, keys, [look(name) for _, name in keys], told)


# --- people and cases -------------------------------------------------------------------------

QUARANTINED_MOST = 500  # of one address; more is a flood and no crew


def _quarantined(into: Into, keys: list[Key]) -> Asked:
    def told(address: str, rows: Found) -> list[tuple[Incoming, str]]:
        account = address.partition(":")[2]
        return [
            (Incoming.model_validate({**json.loads(text), "account": account}), sha256)
            for text, sha256 in rows
        ]

    sql = """SELECT text, sha256 FROM (SELECT row, text, sha256 FROM raw_messages
    WHERE address = $1 AND state = 'quarantined' ORDER BY row DESC LIMIT $2) AS last ORDER BY row"""
    looks = [(sql, (address, QUARANTINED_MOST)) for _, address in keys]
    return _each(into.board.quarantined, keys, looks, told)


def _closed(into: Into, keys: list[Key]) -> Asked:
    def told(_name: str, rows: Found) -> Case | None:
        return Case.model_validate_json(rows[0][0]) if rows else None

    looks = [("SELECT doc FROM cases WHERE name = $1", (name,)) for _, name in keys]
    return _each(into.board.closed, keys, looks, told)


def _loose(into: Into, keys: list[Key]) -> Asked:
    def told(_person: str, rows: Found) -> dict[str, LoosePhoto]:
        kept = [(id_, chain, at, PhotoKept.model_validate_json(doc)) for id_, chain, at, doc in rows]
        return {
            id_: LoosePhoto(id=id_, chain=chain, received_us=at, photo=body.photo)
            for id_, chain, at, body in reversed(kept)
            if not body.of_card
        }

    sql = """SELECT id, chain, received_us, doc FROM photos WHERE person = $1 AND sample_id IS NULL
    ORDER BY received_us DESC, id DESC LIMIT 50"""
    return _each(into.board.loose, keys, [(sql, (person,)) for _, person in keys], told)


def _heard(into: Into, keys: list[Key]) -> Asked:
    def told(_name: str, rows: Found) -> int:
        return int(rows[0][0] or 0)

    people = [into.board.unit.people.get(name) for _, name in keys]
    addresses = [json.dumps(() if person is None else person.addresses) for person in people]
    sql = f"SELECT MAX(touched_us) FROM conversations WHERE {into.among('address', '$1')}"  # noqa: S608 - no values
    return _each(into.board.heard, keys, [(sql, (named,)) for named in addresses], told)


# --- coolers and alerts -----------------------------------------------------------------------

# What stands with readings in the table of a cooler's life names its kind; a reading does not. One that its
# author struck has a row behind it.
READ = f"""doc NOT LIKE '%"kind":%'
AND NOT EXISTS (SELECT 1 FROM readings AS later WHERE later.id = readings.id || '{STRUCK}')"""  # noqa: S608 - no values
_LIFE = """SELECT id, cooler, at_us, doc FROM readings WHERE cooler = $1
ORDER BY at_us DESC, id DESC LIMIT $2"""
_LATELY = f"""SELECT id, cooler, at_us, doc FROM readings WHERE cooler = $1 AND {READ}
ORDER BY at_us DESC, id DESC LIMIT 3"""  # noqa: S608 - no values
LIFE_MOST = 1000


async def cold_rows(tx: Tx, cooler: str) -> list[Row]:
    """The latest rows of a cooler's life, oldest first; `cooler` is its key."""
    return _life(cooler, await tx.rows(_LIFE, cooler, LIFE_MOST))


def _life(_cooler: str, found: Found) -> list[Row]:
    return [(id_, name, at_us, json.loads(doc)) for id_, name, at_us, doc in reversed(found)]


def _lives(into: Into, keys: list[Key]) -> Asked:
    return _each(into.board.cold, keys, [(_LIFE, (cooler, LIFE_MOST)) for _, cooler in keys], _life)


def _lately(into: Into, keys: list[Key]) -> Asked:
    return _each(into.board.lately, keys, [(_LATELY, (cooler,)) for _, cooler in keys], _life)


def _alerts_named(into: Into, keys: list[Key]) -> Asked:
    """Many that are due at once are read at once."""

    def take(found: list[Found]) -> None:
        named = alerts.of_rows(found[0])
        for key in keys:
            into.board.supply_alerts(key, named)

    return Asked([alerts.look_for(into.among, [id_ for _, id_ in keys])], take)


def _alerts(into: Into, keys: list[Key]) -> Asked:
    def take(found: list[Found]) -> None:
        for key, rows in zip(keys, found, strict=True):
            into.board.supply_alerts(key, alerts.of_rows(rows))

    return Asked([alerts.look_under(key) for key in keys], take)


SORTS: dict[str, Sort] = {
    "message": _messages,
    "code": _codes,
    "id": _by_column("id"),
    "number": _by_column("jar_key"),
    "seal": _by_column("seal"),
    "evidence": _by_column("evidence"),
    "offered": _by_column("offered_to"),
    "reseal": _by_column("reseal"),
    "box": _by_column("box"),
    "by": _by_some(_LAST, _LAST_PLACED),
    "open": _by_some(_OPEN),
    "kind": _by_some(_KIND),
    "jars": _by_some(_CASE),
    "used": _used,
    "kit": _of_kit,
    "quarantined": _quarantined,
    "closed_case": _closed,
    "loose": _loose,
    "heard": _heard,
    "cooler": _lives,
    "lately": _lately,
    "alert": _alerts_named,
    **dict.fromkeys(alerts.LOOKUPS, _alerts),
}
