"""What changes seldom and is kept between gulps: the unit's snapshot; and the conversations of one."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from bot.model.base import Frozen
from bot.model.board import CONVERSATION, Board
from bot.model.case import Case
from bot.model.entries import WatchSet
from bot.model.kit import Stock
from bot.model.people import Cooler, Kit, Person, Unit, Whereabouts
from bot.model.shelf import Shelf

from . import outbox
from .database import Tx


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
