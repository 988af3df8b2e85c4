"""The unit of work: everything the desk, the pump and the ticker read and write in one transaction."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace

from bot.model.alert import Alert
from bot.model.board import Board, Conversation
from bot.model.case import Case, fold_case
from bot.model.due import Due
from bot.model.entries import UNIT_CHAIN, Draft
from bot.model.errand import Errand, ErrandKey
from bot.model.fold_sample import fold
from bot.model.keys import Key
from bot.model.message import Incoming, MessageState, Outgoing
from bot.model.people import Unit, fold_unit
from bot.model.sample import Sample

from . import alerts, conversations, due, errands, lookups, outbox, projections, sessions, views
from .database import Database, Tx
from .engine import Disk
from .ledger import Entry, commitment_of, seal
from .outbox import Settled
from .recent import Recent, remember
from .views import Snapshot

Salt = Callable[[], str]

REMEMBERED = 20_000  # commitments: an address stands for the same one for ever


@dataclass
class WriteSet:
    """What a gulp leaves behind."""

    raws: list[tuple[Incoming, MessageState, str, str]] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    samples: dict[str, Sample] = field(default_factory=dict)
    cases: dict[str, Case] = field(default_factory=dict)
    conversations: dict[str, tuple[Conversation, int]] = field(default_factory=dict)
    texts: list[Outgoing] = field(default_factory=list)
    errands: list[Errand] = field(default_factory=list)
    alerts: dict[str, Alert] = field(default_factory=dict)
    due: list[Due] = field(default_factory=list)
    used_codes: list[tuple[str, int]] = field(default_factory=list)


class Work:
    """One transaction. What it changed of the snapshot is kept only when it was committed."""

    def __init__(self, tx: Tx, snapshot: Snapshot, salt: Salt, known: dict[str, str], recent: Recent) -> None:
        self._tx = tx
        self._known = known
        self._recent = recent
        self.talked: dict[str, Conversation] = {}
        self.said_for: dict[str, str] = {}
        self.asked: dict[ErrandKey, Errand] = {}
        self._salt = salt
        self.snapshot = snapshot

    def board(self) -> Board:
        """A working copy of what changes seldom."""
        return self.snapshot.board(self._recent.shelf)

    async def supply_conversations(self, board: Board, addresses: Iterable[str]) -> None:
        """The conversations of these addresses, and the addresses' commitments, are on the board."""
        named = sorted(set(addresses))
        recent = self._recent.conversations
        board.conversations.update((name, recent[name]) for name in named if name in recent)
        older = [name for name in named if name not in recent]
        if older:
            await views.supply_conversations(self._tx, board, older)
        board.commitments.update(await self.commitments(named))

    async def commitments(self, values: Iterable[str]) -> dict[str, str]:
        """What stands in the record for each of these values; new ones get a salt of their own."""
        wanted = set(values)
        known = {value: self._known[value] for value in wanted if value in self._known}
        named = sorted(wanted - known.keys())
        if not named:
            return known
        known |= await conversations.commitments(self._tx, named)
        fresh = []
        for value in named:
            if value not in known:
                salt = self._salt()
                known[value] = commitment_of(value, salt)
                fresh.append((known[value], value, salt))
        await self._tx.run_many("INSERT INTO salts (commitment, value, salt) VALUES ($1, $2, $3)", fresh)
        self.said_for |= known
        return known

    async def supply(self, board: Board, keys: Iterable[Key]) -> None:
        """What the store holds under these keys is on the board; what is at hand is not read again."""
        wanted = {key for key in keys if not board.has(key)}
        named = {key for key in wanted if key[0] == "commitment"}
        if named:
            board.commitments.update(await self.commitments(key[1] for key in named))
        await lookups.supply(self._tx, board, wanted - named, self._recent.columns)

    async def keep(self, board: Board, writes: WriteSet) -> None:
        """The whole set is written; the snapshot is what the board became."""
        tx = self._tx
        await conversations.put_raws(tx, writes.raws)
        await self._put_entries(writes.entries, board.heads)
        await projections.put_samples(tx, writes.samples.values(), self._recent.columns)
        await projections.put_cases(tx, writes.cases.values())
        await projections.put_things(tx, writes.entries)
        await alerts.put(tx, writes.alerts.values())
        await due.wait(tx, writes.due)
        await conversations.put_conversations(tx, writes.conversations.values())
        self.talked |= {name: one for name, (one, _) in writes.conversations.items()}
        if writes.errands:
            await self.ask(writes.errands)
        if writes.used_codes:
            await sessions.use_codes(tx, writes.used_codes)
        if board.unit is not self.snapshot.unit:
            await self._put_unit(board.unit)
        names = board.case_names | frozenset(board.cases) | frozenset(writes.cases)
        self.snapshot = replace(self.snapshot, cases=board.cases, heads=board.heads, case_names=names)

    async def _put_unit(self, unit: Unit) -> None:
        """The unit's tables say what it has become; what waits to go to an address revoked now never goes."""
        before = self.snapshot
        await projections.put_unit_changes(self._tx, before.unit, unit)
        self.snapshot = replace(before, unit=unit)
        if unit.people is not before.unit.people:
            people = unit.enrolled()
            await projections.put_address_changes(self._tx, before.unit, unit)
            await outbox.withdraw(self._tx, sorted(before.people_by_address.keys() - people.keys()))
            self.snapshot = replace(self.snapshot, people_by_address=people)

    async def _put_entries(self, entries: list[Entry], heads: dict[str, tuple[int, str]]) -> None:
        sql = (
            "INSERT INTO entries (chain, seq, kind, received_us, hash, text) VALUES ($1, $2, $3, $4, $5, $6)"
        )
        rows = [(e.chain, e.seq, e.draft.kind, e.draft.received_us, e.hash, e.text) for e in entries]
        await self._tx.run_many(sql, rows)
        if entries:
            await projections.put_heads(self._tx, heads, (entry.chain for entry in entries))

    async def ask(self, wanted: Iterable[Errand]) -> None:
        """These errands are asked for, each once; one that was asked for lately costs nothing more."""
        fresh = {key: one for one in wanted if (key := one.key) not in self._recent.errands}
        if fresh:
            await errands.file(self._tx, fresh.values())
            self.asked |= fresh

    async def record(self, drafts: list[Draft]) -> list[Entry]:
        """These entries are on their chains, and all tables but the unit's say what they say.

        For hands that have no turn; what changes the unit goes through `change_unit`.
        """
        board = self.board()
        await self.supply(board, {("id", id_) for draft in drafts for id_ in draft.body.about})
        writes = WriteSet(entries=seal(drafts, board.heads))
        for draft in drafts:
            for id_ in draft.body.about:
                writes.samples[id_] = fold(board.shelf.samples.get(id_), draft)
                board.put(writes.samples[id_])
            if not draft.body.about and draft.chain != UNIT_CHAIN:
                case = fold_case(board.cases.get(draft.chain), draft)
                if case is not None:
                    board.cases[draft.chain] = writes.cases[draft.chain] = case
        await self.keep(board, writes)
        return writes.entries

    async def append(self, drafts: list[Draft]) -> list[Entry]:
        """These entries are on their chains; they change no table but that of the heads."""
        heads = dict(self.snapshot.heads)
        entries = seal(drafts, heads)
        await self._put_entries(entries, heads)
        self.snapshot = replace(self.snapshot, heads=heads)
        return entries

    async def change_unit(self, drafts: list[Draft]) -> None:
        """These entries are on their chains, and the unit's and the cases' tables say what they say."""
        entries = await self.append(drafts)
        unit = await fold_unit_entries(self._tx, self.snapshot.unit, entries)
        cases = dict(self.snapshot.cases)
        for entry in entries:
            if (
                entry.chain != UNIT_CHAIN
                and (case := fold_case(cases.get(entry.chain), entry.draft)) is not None
            ):
                cases[entry.chain] = case
        await projections.put_unit(self._tx, unit)
        await projections.put_cases(self._tx, (cases[n] for n in {e.chain for e in entries} if n in cases))
        self.snapshot = await views.read_snapshot(self._tx)

    # --- the outbox ---------------------------------------------------------------------------

    async def lease(self, by: str, now_us: int, most: int) -> list[tuple[Outgoing, int]]:
        """Texts that may go now, marked as being sent."""
        return await outbox.lease(self._tx, by, now_us, most)

    async def settle(self, results: list[Settled], now_us: int) -> None:
        """What became of texts is on record."""
        await outbox.settle(self._tx, results, now_us)

    async def queue(self, texts: list[Outgoing], by: str, now_us: int, later: set[str]) -> list[Outgoing]:
        """These texts are in the outbox; those returned may go as soon as it is committed."""
        first = self.snapshot.last_text + 1
        numbered = [
            text if text.row == row else text.model_copy(update={"row": row})
            for row, text in enumerate(texts, first)
        ]
        self.snapshot = replace(self.snapshot, last_text=first + len(texts) - 1)
        return await outbox.queue(self._tx, numbered, by, now_us, later)

    async def waiting_addresses(self) -> set[str]:
        """The addresses to which a text waits."""
        return await outbox.waiting_addresses(self._tx)

    async def orphan_leases(self) -> int:
        """What a process that is gone was sending may go again now."""
        return await outbox.orphan_leases(self._tx)

    @property
    def tx(self) -> Tx:
        """The transaction itself, for the storage's own modules."""
        return self._tx


async def fold_unit_entries(tx: Tx, unit: Unit, entries: Iterable[Entry]) -> Unit:
    """The unit after these entries; addresses are read from the side table."""
    for entry in entries:
        if entry.chain != UNIT_CHAIN:
            continue
        body = entry.draft.body
        commitments = getattr(body, "addresses", ())
        addresses = await conversations.values_of(tx, commitments) if commitments else ()
        unit = fold_unit(unit, entry.draft, addresses)
    return unit


class Store:
    """A store, open: hands out units of work and remembers what changes seldom between them."""

    def __init__(self, database: Database, salt: Salt) -> None:
        self.database = database
        self._salt = salt
        self._snapshot: Snapshot | None = None
        self._commitments: dict[str, str] = {}
        self._recent = Recent()
        self.asked = asyncio.Event()  # set whenever errands were asked for and committed

    @asynccontextmanager
    async def work(self, *, disk: Disk = Disk.NOW) -> AsyncIterator[Work]:
        """One transaction that is stored whole when the block ends well; `disk` as in `Database.write`.

        A snapshot read before counts while nobody else wrote: another process may (`setup`).
        """
        begun = False  # before, another block of this process may be at work with what is at hand
        try:
            async with self.database.write(disk=disk) as tx:
                begun = True
                writes = await views.count_write(tx)
                known = self._snapshot
                if known is None or known.writes != writes - 1:
                    known = await views.read_snapshot(tx)
                    self._recent.forget()
                    self._commitments.clear()  # the store may have gone back: a standby lacks the last salts
                work = Work(tx, known, self._salt, self._commitments, self._recent)
                yield work
        except BaseException:
            if begun:
                self._recent.forget()  # jars at hand may be as they were never stored
            raise
        self._snapshot = replace(work.snapshot, writes=writes)
        if work.asked:
            self.asked.set()
        remember(self._commitments, work.said_for, REMEMBERED)
        self._recent.remember(work.talked, work.asked)

    async def on_disk(self) -> None:
        """Everything committed so far is on disk. Raises StoreUnavailable: it may be, send again."""
        await self.database.on_disk()

    async def next_text_us(self, tx: Tx) -> int | None:
        """When the next waiting text may go, None where none waits."""
        return await outbox.next_due_us(tx)

    @property
    def unit(self) -> Unit | None:
        """The unit as of the last transaction, None before the first."""
        return None if self._snapshot is None else self._snapshot.unit

    def knows(self, address: str) -> bool:
        """True where somebody is enrolled under this address, or where nothing was read yet."""
        return self._snapshot is None or address in self._snapshot.people_by_address

    async def close(self) -> None:
        """Nothing of the store is open any more."""
        await self.database.close()
