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
# Keys under which the lists made from entries hold no words of a person's; whatever is not here is masked.
PLAIN = {
    "at", "band", "by", "camera_time", "case", "class", "closed_at", "collector", "condition", "cooler",
    "ended_at", "event_time", "evidence", "evidence_number", "field", "first_good_after", "first_out",
    "flags", "from", "gap", "id", "in_cold_at", "is", "kind", "label", "last_good_before", "last_out",
    "limit", "matrix", "method", "not_stated", "number", "offered_at", "path", "raised_at", "read_at",
    "received", "received_at", "received_time", "rule", "said", "sample", "samples", "sha256", "sort",
    "source", "state", "status", "told_by", "type", "value", "with",
}  # fmt: skip


def is_wordless(text: str) -> bool:
    """True where an entry can stand in the clear in a copy whose texts are masked."""
    return json.loads(text)["kind"] in WORDLESS


def stub(text: str, hash_: str) -> dict[str, Any]:
    """What stands for a masked entry: its place and its links, so that the chain still verifies."""
    held = json.loads(text)
    kept = {key: held[key] for key in ("chain", "seq", "kind", "received_us", "previous")}
    return {"masked": True, **kept, "hash": hash_}


def without_words(value: Any, key: str = "") -> Any:
    """A list made from entries, every text that may be a person's own replaced by the same word."""
    if isinstance(value, dict):
        return {name: without_words(held, name) for name, held in value.items()}
    if isinstance(value, list):
        return [without_words(held, key) for held in value]
    return MASKED if isinstance(value, str) and key not in PLAIN else value
