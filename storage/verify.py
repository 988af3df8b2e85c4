"""Whether anything was altered: every finding names exactly what was touched."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from bot.model.case import Case
from bot.model.sample import Sample

from . import shown
from .database import Tx
from .ledger import GENESIS, Entry, commitment_of, differences, draft_of, sha256_of
from .projections import Things
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

    def __init__(self, name: str, things: Things) -> None:
        self.name = name
        self.seq = 0
        self.hash = GENESIS
        self.hashes: dict[int, str] = {}
        self.samples: dict[str, Sample] = {}
        self.case: Case | None = None
        self.things = things
        self.unit: list[Entry] = []
        self.sealed: list[dict[str, list[Any]]] = []
        self.found: list[str] = []

    def take(self, seq: int, kind: str, received_us: int, hash_: str, text: str) -> str | None:
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
        if (draft.kind, draft.received_us) != (kind, received_us):
            self.found.append(f"{self.name}#{seq}: its columns say otherwise than its text")
        self._fold(Entry(self.name, seq, hash_, text, draft))
        return draft.message

    def _fold(self, entry: Entry) -> None:
        self.things.take(entry)
        if entry.draft.kind in shown.UNIT_KINDS:
            self.unit.append(entry)
        if entry.draft.kind == "HeadsSealed":
            self.sealed.append(json.loads(entry.text)["body"]["heads"])
        try:
            self.case = fold_entry(entry, self.samples, self.case)
        except ValueError as problem:
            self.found.append(f"{entry.id}: {problem}")


async def verify(tx: Tx) -> Verdict:
    """Everything is as it was written, or `found` says what is not."""
    found: list[str] = []
    things, walked = Things(), []
    messages = await _messages(tx, found)
    names = await chains(tx)
    for name in names:
        chain = await _walk(tx, _Chain(name, things), messages)
        found.extend(chain.found)
        found.extend(await shown.against_case(tx, name, chain.samples, chain.case))
        chain.samples = {}  # held only while its own chain is looked at
        walked.append(chain)
    found.extend(await shown.against_no_chain(tx, names))
    found.extend(await shown.against_things(tx, things))
    found.extend(await shown.against_unit(tx, [entry for chain in walked for entry in chain.unit]))
    found.extend(_against_midnights(walked))
    found.extend(await shown.against_heads(tx, {chain.name: (chain.seq, chain.hash) for chain in walked}))
    found.extend(await _against_salts(tx))
    return Verdict(sum(len(chain.hashes) for chain in walked), len(names), len(messages), tuple(found))


async def _messages(tx: Tx, found: list[str]) -> set[str]:
    """The hashes of all raw messages, each compared with its text, and its columns with it too."""
    known: set[str] = set()
    after = 0
    sql = """SELECT r.row, r.key, r.received_us, r.sent_us, s.commitment, r.sha256, r.text
    FROM raw_messages AS r LEFT JOIN salts AS s ON s.value = r.address
    WHERE r.row > $1 ORDER BY r.row LIMIT $2"""
    while True:
        rows = await tx.rows(sql, after, PAGE)
        if not rows:
            return known
        after = rows[-1][0]
        for _, key, received_us, sent_us, account, sha256, text in rows:
            known.add(sha256)
            if sha256_of(text) != sha256:
                found.append(f"message {key}: its text does not give its hash")
            elif _columns(json.loads(text)) != (key, received_us, sent_us, account):
                found.append(f"message {key}: its columns say otherwise than its text")


def _columns(held: dict[str, Any]) -> tuple[Any, ...]:
    """What the columns of a message say too, from its text."""
    key = f"{held['channel']}:{held['message_id']}"
    return key, held["received_us"], held.get("sent_us"), held["account"]


async def _walk(tx: Tx, chain: _Chain, messages: set[str]) -> _Chain:
    sql = """SELECT seq, kind, received_us, hash, text FROM entries
    WHERE chain = $1 AND seq > $2 ORDER BY seq LIMIT $3"""
    after = -1
    while True:
        rows = await tx.rows(sql, chain.name, after, PAGE)
        if not rows:
            return chain
        after = rows[-1][0]
        for seq, kind, received_us, hash_, text in rows:
            cited = chain.take(seq, kind, received_us, hash_, text)
            chain.hashes[seq] = hash_
            if cited is not None and cited not in messages:
                chain.found.append(f"{chain.name}#{seq}: the message it cites is gone or altered")


def _against_midnights(walked: list[_Chain]) -> list[str]:
    """Where a chain is shorter than a midnight counted it, or has another hash there."""
    heads = {chain.name: chain.hashes for chain in walked}
    found = []
    for midnight in (midnight for chain in walked for midnight in chain.sealed):
        for chain, (seq, hash_) in midnight.items():
            held = heads.get(chain, {}).get(seq)
            if held is None:
                found.append(f"{chain}: a midnight counted {seq} entries, entry {seq} is gone")
            elif held != hash_:
                found.append(f"{chain}#{seq}: it has another hash than at a midnight before")
    return sorted(set(found))


async def _against_salts(tx: Tx) -> list[str]:
    """Which values that stand in the record as commitments were exchanged."""
    rows = await tx.rows("SELECT commitment, value, salt FROM salts ORDER BY commitment")
    return [
        f"the side table's value for the commitment {commitment[:12]} does not give it"
        for commitment, value, salt in rows
        if commitment_of(value, salt) != commitment
    ]
