"""The chains: canonical JSON (RFC 8785), SHA-256, each entry holding the hash of the one before.

What is hashed is the stored text itself; reading parses that text and never a re-dump of it.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable
from typing import Any, NamedTuple

import rfc8785

from bot.model.entries import BODIES, Draft
from bot.model.message import Incoming

GENESIS = "0" * 64  # what the first entry of a chain holds as the hash before it


class Entry(NamedTuple):
    """An entry in its chain: `text` is what was hashed, `draft` what it says."""

    chain: str
    seq: int
    hash: str
    text: str
    draft: Draft

    @property
    def id(self) -> str:
        """How other entries and tables name it."""
        return f"{self.chain}#{self.seq}"


# What Python's own JSON writes otherwise than RFC 8785: 4.0, exponents, and integers past 2**53. Between
# 1e-4 and 1e16 both write the shortest digits that read back the same. Found inside a text, these cost
# time and no exactness.
# Two patterns that the engine looks for fast: a number stands behind one of these signs in an object.
_LONG, _LONGER = re.compile(r"9[0-9]{15}"), re.compile(r"[:,\[]-?[0-9]{17}")
_PLAIN = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False)


def canonical(value: Any) -> str:
    """The value as RFC 8785 JSON. Raises ValueError for what JSON cannot hold.

    Plain ASCII with ordinary numbers, which most entries are, is the same in Python's own encoder, ten
    times as fast; everything else goes through the reference library.
    """
    text = _PLAIN.encode(value)
    return text if text.startswith("{") and _is_plain(text) else rfc8785.dumps(value).decode()


def _is_plain(text: str) -> bool:
    return (
        text.isascii()
        and ".0" not in text
        and "e-" not in text
        and "e+" not in text
        and _LONG.search(text) is None
        and _LONGER.search(text) is None
    )


def sha256_of(text: str) -> str:
    """SHA-256 (FIPS 180-4) of the text's UTF-8, as lower-case hex."""
    return hashlib.sha256(text.encode()).hexdigest()


def seal(drafts: Iterable[Draft], heads: dict[str, tuple[int, str]]) -> list[Entry]:
    """Each draft stands at the end of its chain; `heads` moves on with it."""
    entries = []
    for draft in drafts:
        seq, previous = heads.get(draft.chain, (0, GENESIS))
        text = canonical(_as_json(draft, seq + 1, previous))
        entry = Entry(draft.chain, seq + 1, sha256_of(text), text, draft)
        heads[draft.chain] = (entry.seq, entry.hash)
        entries.append(entry)
    return entries


def _as_json(draft: Draft, seq: int, previous: str) -> dict[str, Any]:
    phone = {} if draft.phone is None else {"phone": draft.phone}
    return phone | {
        "author": draft.author,
        "body": draft.body.model_dump(mode="json"),
        "body_version": draft.body.version,
        "chain": draft.chain,
        "channel": draft.channel,
        "event": draft.event,
        "kind": draft.kind,
        "message": draft.message,
        "previous": previous,
        "received_us": draft.received_us,
        "said_us": draft.said_us,
        "seq": seq,
    }


def draft_of(text: str) -> Draft:
    """What a stored entry says. Raises ValueError for an unknown kind or body version."""
    return _draft(json.loads(text))


def _draft(held: dict[str, Any]) -> Draft:
    body_type = BODIES.get(held["kind"])
    if body_type is None or held["body_version"] != body_type.version:
        raise ValueError(f"{held['kind']} version {held['body_version']} is of another release")
    return Draft(
        chain=held["chain"],
        body=body_type.model_validate(held["body"]),
        author=held["author"],
        channel=held["channel"],
        said_us=held["said_us"],
        received_us=held["received_us"],
        message=held["message"],
        event=held["event"],
        phone=held.get("phone"),
    )


def differences(chain: str, seq: int, hash_: str, text: str, previous: str) -> list[str]:
    """What of one stored entry is not as it was written, in words; empty where nothing was touched."""
    found = []
    if sha256_of(text) != hash_:
        found.append("its text does not give its hash")
    try:
        held = json.loads(text)
    except ValueError:
        return [*found, "its text is not JSON"]
    if (held.get("chain"), held.get("seq")) != (chain, seq):
        found.append("it stands at another place than its text says")
    if held.get("previous") != previous:
        found.append("it does not follow the entry before it")
    return found


def words_kept(message: Incoming) -> str:
    """What is kept and hashed of a message but whose it is, as RFC 8785 JSON."""
    return canonical(message.model_dump(mode="json", exclude={"account", "codes", "last"}, exclude_none=True))


def raw_text(kept: str, commitment: str) -> str:
    """A message as it is kept and hashed: the account only as its commitment, by its name the first key."""
    return f'{{"account":"{commitment}",{kept[1:]}'


def commitment_of(value: str, salt: str) -> str:
    """What stands in the record for a value that a disclosure copy masks."""
    return sha256_of(f"coldjar commitment\n{salt}\n{value}")
