"""What a disclosure copy leaves out: whole texts, by choice; never a part of one."""

from __future__ import annotations

import json
from typing import Any

from ..reports.record import MASKED

# Kinds that hold no words of a person's; of every other kind the whole entry is masked.
WORDLESS = {
    "CaseChanged", "CoolerSet", "CustodyReceived", "EvidenceNumberAsked", "EvidenceNumberGiven",
    "HeadsSealed", "KitSet", "LimitSet", "LinkIssued", "NumberSettled", "PersonSet", "PhotoDeclared",
    "SampleConfirmed", "SampleDeclared", "UnitSet", "WatchSet",
}  # fmt: skip
# Where the lists made from entries hold such words.
WORDS = {
    "answers", "condition", "device_lot", "exception", "explained", "how", "more", "name", "new", "note",
    "old", "place", "raw", "reason", "remark", "remarks", "saw", "struck", "text", "told", "tube",
    "why", "witnesses", "words",
}  # fmt: skip


def is_wordless(text: str) -> bool:
    """True where an entry can stand in the clear in a copy whose texts are masked."""
    return json.loads(text)["kind"] in WORDLESS


def stub(text: str, hash_: str) -> dict[str, Any]:
    """What stands for a masked entry: its place and its links, so that the chain still verifies."""
    held = json.loads(text)
    kept = {key: held[key] for key in ("chain", "seq", "kind", "received_us", "previous")}
    return {"masked": True, **kept, "hash": hash_}


def without_words(value: Any, inside: bool = False) -> Any:
    """A list made from entries, every text of a person's replaced by the same word."""
    if isinstance(value, dict):
        return {key: without_words(held, inside or key in WORDS) for key, held in value.items()}
    if isinstance(value, list):
        return [without_words(held, inside) for held in value]
    return MASKED if inside and isinstance(value, str) else value
