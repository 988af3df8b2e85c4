"""What comes in and what goes out. Instants are integer microseconds UTC (`_us`)."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import NamedTuple

from .base import Frozen


class SharedPosition(Frozen):
    """A position that a device sent. WGS84 degrees; accuracy in metres where the device told it."""

    lat: float
    lon: float
    accuracy_m: float | None = None


class Attachment(Frozen):
    """A file whose bytes are on disk under their SHA-256, with what was read from them.

    `camera_time` is the camera's own local time (ISO 8601, no offset); `camera_offset` like
    "+01:00" where the file holds one; `camera_position` is (lat, lon) in WGS84 degrees.
    `problem` is None for a photo that opens, else "broken" or "not_image".
    """

    sha256: str
    size: int
    media_type: str
    name: str | None = None
    camera_time: str | None = None
    camera_offset: str | None = None
    camera_position: tuple[float, float] | None = None
    problem: str | None = None


CODE_MARK = re.compile(r"\s*(?:\bcode\b:?\s*)?\[code [0-9a-f]{16}\]", re.IGNORECASE)


class Declared(Frozen):
    """A file that a channel speaks of and has not given: `file` is its handle there, `size` in bytes.

    `kind` is "photo" (made smaller on the way, without the camera's facts), "document" or "voice".
    """

    file: str
    kind: str
    size: int = 0
    name: str | None = None
    media_type: str | None = None
    too_large: bool = False


class Fetched(Frozen):
    """The files of this message are those of an earlier one, which was about this jar (None: about none).

    `by` sent it, whoever speaks on that phone meanwhile; None where an older release sent for the files.
    """

    sample: str | None = None
    by: str | None = None


class Incoming(Frozen):
    """One message as a channel took it in. (channel, message_id) is its unique key.

    `codes` are the commitments of the codes in it that the store knows; each stands in the text as a mark.
    `last`: what this address sends after it is not kept, it is a flood. Neither is part of the record.
    """

    channel: str
    account: str
    message_id: str
    received_us: int
    sent_us: int | None = None
    text: str = ""
    press: str | None = None
    reply_to: str | None = None
    position: SharedPosition | None = None
    attachments: tuple[Attachment, ...] = ()
    codes: tuple[str, ...] = ()
    last: bool = False
    ticket: str | None = None  # which state of the conversation a pressed button belongs to
    edits: str | None = None  # the message that these words replace, in its sender's eyes
    declared: tuple[Declared, ...] | None = None
    fetched: Fetched | None = None
    refused: str | None = None  # the sort of thing that was sent and is not taken in, "contact" or "other"
    unread: str | None = None  # what the channel gave, where it could not be read at all

    @property
    def words(self) -> str:
        """The text without the marks of its codes, and without space around it."""
        return (CODE_MARK.sub("", self.text) if self.codes else self.text).strip()

    @property
    def has_files(self) -> bool:
        """True where it brings files, or speaks of files that are still to be fetched."""
        return bool(self.attachments or self.declared)

    @property
    def address(self) -> str:
        """The conversation this belongs to, like "sms:+447700900001"."""
        return f"{self.channel}:{self.account}"

    @property
    def key(self) -> str:
        """What a second delivery of the same message has in common with the first."""
        return f"{self.channel}:{self.message_id}"

    @property
    def said_us(self) -> int:
        """When it was sent, or received where the channel does not tell.

        A phone whose clock is ahead cannot have sent after the receipt.
        """
        return self.received_us if self.sent_us is None else min(self.sent_us, self.received_us)


class MessageState(StrEnum):
    """What became of a message. All but DROPPED, the rest of a flood, are on disk."""

    TAKEN = "taken"
    QUARANTINED = "quarantined"
    DUPLICATE = "duplicate"
    PARKED = "parked"
    DROPPED = "dropped"


class Receipt(NamedTuple):
    """The message is on disk; `again` says that an earlier delivery already was."""

    state: MessageState
    again: bool = False


class Choice(Frozen):
    """One of the answers offered: `id` comes back in `Incoming.press`."""

    id: str
    label: str


class AlertMark(Frozen):
    """Why the watch sends a text unasked."""

    id: str
    kind: str
    subject: str
    level: str
    repeat: int = 0


class Outgoing(Frozen):
    """One text to one address. `row` is its place in the outbox; `again` marks a possible repeat.

    `drawing`: the same as an SVG, for a channel that can show one; the text alone says all of it.
    """

    row: int = 0
    channel: str
    account: str
    person: str | None = None
    text: str
    asks: str | None = None
    choices: tuple[Choice, ...] = ()
    ticket: str | None = None
    late: tuple[str, ...] = ()  # the jars of a text after a dead zone: a fuller one takes its place
    alert: AlertMark | None = None
    files: tuple[str, ...] = ()
    drawing: str | None = None
    queued_us: int = 0
    again: bool = False

    @property
    def address(self) -> str:
        """The conversation this goes to."""
        return f"{self.channel}:{self.account}"
