"""Whether anything was altered: every finding names exactly what was touched."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from bot.model.case import Case
from bot.model.entries import UNIT_CHAIN
from bot.model.sample import Sample

from . import projections
from .database import Tx
from .ledger import GENESIS, Entry, differences, draft_of, sha256_of
from .rebuild import PAGE, chains, fold_entry


@dataclass(frozen=True)
class Verdict:
    """How much was looked at, and what is not as it was written, one sentence each."""

    entries: int
    chains: int
    messages: int
    found: tuple[str, ...]


class _Chain:
    """One chain being walked: what its entries make, and where it should go on."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.seq = 0
        self.hash = GENESIS
        self.hashes: dict[int, str] = {}
        self.samples: dict[str, Sample] = {}
        self.case: Case | None = None
        self.sealed: list[dict[str, list[Any]]] = []
        self.found: list[str] = []

    def take(self, seq: int, kind: str, hash_: str, text: str) -> str | None:
        """Look at the next entry; the hash of the message it cites, where it cites one."""
        if seq != self.seq + 1:
            self.found.append(f"{self.name}: entries {self.seq + 1} to {seq - 1} are gone")
        self.found.extend(
            f"{self.name}#{seq}: {what}" for what in differences(self.name, seq, hash_, text, self.hash)
        )
        self.seq, self.hash = seq, hash_
        try:
            draft = draft_of(text)
        except (ValueError, KeyError) as problem:
            self.found.append(f"{self.name}#{seq}: it cannot be read ({type(problem).__name__})")
            return None
        if draft.kind != kind:
            self.found.append(f"{self.name}#{seq}: its column says {kind}, its text {draft.kind}")
        self._fold(Entry(self.name, seq, hash_, text, draft))
        return draft.message

    def _fold(self, entry: Entry) -> None:
        if entry.draft.kind == "HeadsSealed":
            self.sealed.append(json.loads(entry.text)["body"]["heads"])
        try:
            self.case = fold_entry(entry, self.samples, self.case)
        except ValueError as problem:
            self.found.append(f"{entry.id}: {problem}")


async def verify(tx: Tx) -> Verdict:
    """Everything is as it was written, or `found` says what is not."""
    found: list[str] = []
    count = 0
    heads: dict[str, dict[int, str]] = {}
    sealed: list[dict[str, list[Any]]] = []
    ends: dict[str, tuple[int, str]] = {}
    messages = await _messages(tx, found)
    names = await chains(tx)
    for name in names:
        chain = await _walk(tx, name, messages)
        found.extend(chain.found)
        found.extend(await _against_tables(tx, chain))
        count += len(chain.hashes)
        heads[name], ends[name] = chain.hashes, (chain.seq, chain.hash)
        sealed.extend(chain.sealed)
    found.extend(_against_midnights(heads, sealed))
    found.extend(await _against_heads(tx, ends))
    return Verdict(count, len(names), len(messages), tuple(found))


async def _messages(tx: Tx, found: list[str]) -> set[str]:
    """The hashes of all raw messages, each compared with its text."""
    known: set[str] = set()
    after = 0
    while True:
        sql = "SELECT row, key, sha256, text FROM raw_messages WHERE row > $1 ORDER BY row LIMIT $2"
        rows = await tx.rows(sql, after, PAGE)
        if not rows:
            return known
        after = rows[-1][0]
        for _, key, sha256, text in rows:
            known.add(sha256)
            if sha256_of(text) != sha256:
                found.append(f"message {key}: its text does not give its hash")


async def _walk(tx: Tx, name: str, messages: set[str]) -> _Chain:
    chain = _Chain(name)
    after = -1
    while True:
        sql = "SELECT seq, kind, hash, text FROM entries WHERE chain = $1 AND seq > $2 ORDER BY seq LIMIT $3"
        rows = await tx.rows(sql, name, after, PAGE)
        if not rows:
            return chain
        after = rows[-1][0]
        for seq, kind, hash_, text in rows:
            cited = chain.take(seq, kind, hash_, text)
            chain.hashes[seq] = hash_
            if cited is not None and cited not in messages:
                chain.found.append(f"{name}#{seq}: the message it cites is gone or altered")


async def _against_tables(tx: Tx, chain: _Chain) -> list[str]:
    """Which samples and cases people read differently from what the entries say."""
    found = []
    rows = {row[0]: row for row in await tx.rows(f"{_SAMPLES} WHERE case_name = $1", chain.name)}
    for sample_id, sample in chain.samples.items():
        if rows.pop(sample_id, None) != projections.sample_row(sample):
            found.append(f"{chain.name}: sample {sample.number} is shown differently from its entries")
    found.extend(f"{chain.name}: sample {row[2]} is shown and no entry speaks of it" for row in rows.values())
    case_rows = await tx.rows("SELECT doc FROM cases WHERE name = $1", chain.name)
    shown = case_rows[0][0] if case_rows else None
    said = projections.doc_of(chain.case) if chain.case is not None else None
    if shown != said and chain.name != UNIT_CHAIN:
        found.append(f"{chain.name}: the case is shown differently from its entries")
    return found


_SAMPLES = """SELECT id, case_name, number, jar_key, number_int, told_by, declared_us, event_us, has_position,
kind, open, seal, evidence, doc FROM samples"""


def _against_midnights(heads: dict[str, dict[int, str]], sealed: list[dict[str, list[Any]]]) -> list[str]:
    """Where a chain is shorter than a midnight counted it, or has another hash there."""
    found = []
    for midnight in sealed:
        for chain, (seq, hash_) in midnight.items():
            held = heads.get(chain, {}).get(seq)
            if held is None:
                found.append(f"{chain}: a midnight counted {seq} entries, entry {seq} is gone")
            elif held != hash_:
                found.append(f"{chain}#{seq}: it has another hash than at a midnight before")
    return sorted(set(found))


async def _against_heads(tx: Tx, ends: dict[str, tuple[int, str]]) -> list[str]:
    shown = {chain: (seq, hash_) for chain, seq, hash_ in await tx.rows("SELECT chain, seq, hash FROM heads")}
    return [
        f"{chain}: the table of heads says another end than its entries"
        for chain in sorted(shown.keys() | ends.keys())
        if shown.get(chain) != ends.get(chain)
    ]
