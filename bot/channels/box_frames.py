"""Frames of the protocol that Kannel's bearerbox speaks with its boxes, as bytes and as values.

Source: the gateway's own box interface, observed on release 1.4.5. A frame is its length (four octets, big
endian) and that many octets: the sort, then the sort's fields in order. A number is four octets (-1: not
told), a string its length as such a number (-1: none) and its octets.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from enum import IntEnum
from typing import TypeAlias

LONGEST = 1_000_000  # octets: far above any message, so that a broken peer takes no memory
NONE = -1


class Sort(IntEnum):
    """What a frame is."""

    HEARTBEAT = 0
    ADMIN = 1
    SMS = 2
    ACK = 3


class Command(IntEnum):
    """What an admin frame asks."""

    SHUTDOWN = 0
    IDENTIFY = 3
    RESTART = 4


class Kind(IntEnum):
    """Which way a text goes, or what a report is about."""

    INCOMING = 0
    OUTGOING = 2
    REPORT_IN = 3
    REPORT_OUT = 4


class Coding(IntEnum):
    """How the octets of a text are to be read: the gateway turns GSM 7-bit into UTF-8 by itself."""

    GSM = 0
    OCTETS = 1
    UCS2 = 2


class Nack(IntEnum):
    """What became of a frame at its receiver."""

    TAKEN = 0
    FAILED = 1
    LATER = 2
    BUFFERED = 3


# The fields of a text in their order; a colon names what is not a string: a number.
FIELDS = (
    *("sender", "receiver", "udh", "data", "time:", "smsc_id", "smsc_number", "foreign_id", "service"),
    *("account", "id", "kind:", "mclass:", "mwi:", "coding:", "compress:", "validity:", "deferred:"),
    *("report_mask:", "report_key", "pid:", "alt_dcs:", "rpi:", "charset", "box", "info", "left:"),
    *("priority:", "tries:", "try_at:", "meta"),
)


class BadFrame(ValueError):
    """These octets are no frame of this protocol."""


@dataclass(frozen=True)
class Sms:
    """A text or a delivery report. `time` in seconds since 1970-01-01 UTC; -1 is not told."""

    sender: bytes = b""
    receiver: bytes = b""
    data: bytes = b""
    id: bytes = b""
    udh: bytes = b""
    time: int = NONE
    kind: int = Kind.OUTGOING
    coding: int = Coding.GSM
    report_mask: int = NONE
    report_key: bytes = b""
    charset: bytes = b""
    box: bytes = b""


@dataclass(frozen=True)
class Ack:
    """What became of the text under this id."""

    id: bytes
    nack: int


@dataclass(frozen=True)
class Admin:
    """The gateway's own business."""

    command: int


@dataclass(frozen=True)
class Heartbeat:
    """The peer is there."""


Frame: TypeAlias = Sms | Ack | Admin | Heartbeat


def identify(box: bytes) -> bytes:
    """The frame that says which box this is: the first of a connection."""
    return _framed(_number(Sort.ADMIN) + _number(Command.IDENTIFY) + _string(box))


def acknowledge(id_: bytes, nack: Nack, time_s: int) -> bytes:
    """The frame that says what became of a text that the gateway gave."""
    return _framed(_number(Sort.ACK) + _number(nack) + _number(time_s) + _string(id_))


def submit(sms: Sms) -> bytes:
    """The frame that hands a text to the gateway."""
    parts = [_number(Sort.SMS)]
    for field in FIELDS:
        held = getattr(sms, field.rstrip(":"), None)
        if field.endswith(":"):
            parts.append(_number(NONE if held is None else int(held)))
        else:
            parts.append(_string(held or None))
    return _framed(b"".join(parts))


def read(body: bytes) -> Frame:
    """What a frame's octets, without their length, say. Raises BadFrame."""
    reader = _Reader(body)
    sort = reader.number()
    if sort == Sort.SMS:
        return _read_sms(reader)
    if sort == Sort.ACK:
        nack = reader.number()
        reader.number()
        return Ack(id=reader.string() or b"", nack=nack)
    if sort == Sort.ADMIN:
        return Admin(command=reader.number())
    if sort == Sort.HEARTBEAT:
        return Heartbeat()
    raise BadFrame(f"a frame of the unknown sort {sort}")


def length_of(head: bytes) -> int:
    """How many octets follow. Raises BadFrame for more than any frame has."""
    length: int = struct.unpack(">I", head)[0]
    if not 4 <= length <= LONGEST:
        raise BadFrame(f"a frame of {length} octets")
    return length


def _read_sms(reader: _Reader) -> Sms:
    held: dict[str, int | bytes] = {}
    for field in FIELDS:
        name = field.rstrip(":")
        value = reader.number() if field.endswith(":") else reader.string() or b""
        if name in Sms.__dataclass_fields__:
            held[name] = value
    return Sms(**held)  # type: ignore[arg-type]  # FIELDS says which are numbers


class _Reader:
    def __init__(self, body: bytes) -> None:
        self._body, self._at = body, 0

    def number(self) -> int:
        if self._at + 4 > len(self._body):
            raise BadFrame("a frame that ends too soon")
        value: int = struct.unpack_from(">i", self._body, self._at)[0]
        self._at += 4
        return value

    def string(self) -> bytes | None:
        length = self.number()
        if length < 0:
            return None
        if self._at + length > len(self._body):
            raise BadFrame("a string longer than its frame")
        self._at += length
        return self._body[self._at - length : self._at]


def _number(value: int) -> bytes:
    return struct.pack(">i", value)


def _string(value: bytes | None) -> bytes:
    return _number(NONE) if value is None else _number(len(value)) + value


def _framed(body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + body
