"""What stands in the database of a modem's own program, part by part. Instants are microseconds UTC."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class HeardPart:
    """One SMS as it came: `octets` are UTF-16BE, or anything at all where `binary`.

    `stamp` is the network's time as the program wrote it, `sent_us` the instant it stands for; `header`
    is the user data header of 3GPP TS 23.040, `kept_us` when the row was written.
    """

    row: int
    sender: str
    octets: bytes
    binary: bool
    header: bytes
    stamp: str
    sent_us: int | None
    kept_us: int


@dataclass(frozen=True)
class Letter:
    """One text to be sent, in its parts. `mark` is unique to it; `gsm`: the 7-bit alphabet holds it all.

    `again`: it may have been placed before.
    """

    number: str
    parts: Sequence[str]
    gsm: bool
    reference: int
    mark: str
    again: bool


@dataclass(frozen=True)
class SentPart:
    """What the program says of one part of a text that left its outbox."""

    mark: str
    status: str
