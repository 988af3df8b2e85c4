"""The chains: canonical JSON (RFC 8785), SHA-256, each entry holding the hash of the one before.

What is hashed is the stored text itself; reading parses that text and never a re-dump of it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from contextlib import suppress
from typing import Any, NamedTuple

import orjson
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


_IN_ORDER = orjson.OPT_SORT_KEYS | orjson.OPT_STRICT_INTEGER
_WRITTEN_ONE_WAY = frozenset({str, int, bool, type(None)})


def canonical(value: Any) -> str:
    """The value as RFC 8785 JSON. Raises ValueError for what JSON cannot hold.

    Plain ASCII with ordinary numbers, which most entries are, is the same as a fast encoder writes it;
    everything else goes through the reference library.
    """
    if isinstance(value, dict) and _is_ordinary(value):
        with suppress(orjson.JSONEncodeError):  # the reference library says what is wrong
            text = orjson.dumps(value, option=_IN_ORDER).decode()
            if text.isascii():  # else its keys may stand in another order
                return text
    return rfc8785.dumps(value).decode()


def _is_ordinary(value: dict[str, Any] | list[Any] | tuple[Any, ...]) -> bool:
    """Whether nothing in it may be written in several ways: 4.0, exponents, no number, no type of JSON's.

    From 1e-4 to 1e16 all write the shortest digits that read back the same.
    """
    for held in value.values() if isinstance(value, dict) else value:
        kind = type(held)
        if kind is dict or kind is list or kind is tuple:
            if not _is_ordinary(held):
                return False
        elif kind is float:
            if not 1e-4 <= abs(held) < 1e16 or held.is_integer():
                return False
        elif kind not in _WRITTEN_ONE_WAY:
            return False
    return True


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
