"""The seams to the outside, each method with its promise."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from .model.message import Choice, Incoming, Outgoing, Receipt
from .model.modem import HeardPart, Letter, SentPart


class Take(Protocol):
    """How a channel hands a message in."""

    async def __call__(self, message: Incoming) -> Receipt:
        """Return only after the commit that holds the message.

        Raises StoreUnavailable where nothing was stored: do not acknowledge, let it come again.
        """
        ...


class Channel(Protocol):
    """A way to reach people. `name` is the part of an address before the colon."""

    name: str

    async def send(self, text: Outgoing) -> None:
        """Hand one text over. Raises SendFailed (try again), AddressGone (do not) or ChannelDown (wait)."""
        ...


class Reported(Protocol):
    """How a channel hands in what its network says of texts that were sent."""

    async def __call__(self, row: int, report: str) -> None:
        """Return only after the commit that keeps the report with the text. Raises StoreUnavailable."""
        ...


class Moved(Protocol):
    """How a channel tells that an address has become another."""

    async def __call__(self, old: str, new: str) -> None:
        """Return once whoever was enrolled under the old is under the new. Raises StoreUnavailable."""
        ...


@dataclass(frozen=True)
class Hands:
    """What a line works with. `region` tells the unit's country for numbers without a country code."""

    take: Take
    reported: Reported
    moved: Moved
    region: Callable[[], str | None]


class Line(Channel, Protocol):
    """A channel with a connection of its own. `trouble` says why it reaches nobody, None while it does."""

    trouble: str | None
    pace: Pace | None

    async def run(self, hands: Hands) -> None:
        """Take in what people send, for ever; a connection that ends is made again."""
        ...


class Modem(Protocol):
    """The tables of a modem's own program. Each method raises ChannelDown where they cannot be used."""

    async def seen_us(self) -> int | None:
        """When the program last wrote of its phone, None before it ever did."""
        ...

    async def heard(self, most: int) -> list[HeardPart]:
        """What came in and was not acknowledged, oldest first."""
        ...

    async def done(self, rows: Sequence[int]) -> None:
        """These parts are acknowledged and do not come again; their words are gone from there."""
        ...

    async def place(self, letter: Letter) -> None:
        """The text is on the program's disk, to be sent; one that may stand there already stands once."""
        ...

    async def sent(self) -> list[SentPart]:
        """What is said of the last texts that were sent whole, oldest first; their words are gone."""
        ...


class Pace(Protocol):
    """A channel's published limits."""

    async def turn(self, account: str) -> None:
        """Return when a text to this account may go. Raises ChannelDown once it was closed."""
        ...

    def close(self) -> None:
        """Nobody waits for a turn any more: the line stops."""
        ...


class Clock(Protocol):
    """The one reader of the time."""

    def now_us(self) -> int:
        """Microseconds since 1970-01-01 UTC."""
        ...


class Secrets(Protocol):
    """The one maker of what nobody may guess."""

    def token(self, nbytes: int) -> str:
        """`nbytes` of fresh randomness as lower-case hex."""
        ...


class Originals(Protocol):
    """Files as they arrived, under their SHA-256. `trouble` says why none is kept, None while they are."""

    trouble: str | None

    async def keep(self, chunks: AsyncIterator[bytes], limit_bytes: int) -> tuple[str, int]:
        """Return (sha256 hex, size) once the bytes are on disk under that name.

        Raises FileTooLarge past the limit and StoreUnavailable when the disk does not take them;
        neither leaves a part behind.
        """
        ...

    async def read(self, sha256: str) -> bytes:
        """The bytes. Raises KeyError where none stand under that name."""
        ...

    async def sizes(self) -> dict[str, int]:
        """Every file kept, by hash, in bytes."""
        ...


@dataclass(frozen=True)
class LogLine:
    """One line of a conversation as its person sees it.

    `key` is "out:ROW" for what was sent, "in:MESSAGE_ID" for what came in; `row` orders what was
    sent (0 for what came in); `drawn` says that a drawing belongs to it.
    """

    key: str
    row: int
    at_us: int
    outgoing: bool
    text: str
    choices: tuple[Choice, ...] = ()
    asks: str | None = None
    photos: tuple[str, ...] = ()
    place: str | None = None
    urgent: bool = False
    link: str | None = None
    drawn: bool = False


class ChatLog(Protocol):
    """What a conversation holds, read from the store."""

    async def recent(self, address: str, limit: int) -> list[LogLine]:
        """The last `limit` lines, both ways, oldest first."""
        ...

    async def sent_after(self, address: str, row: int) -> list[LogLine]:
        """What was queued for this address after that outbox row, oldest first."""
        ...

    async def drawing(self, address: str, row: int) -> str | None:
        """The SVG of the text of that outbox row, None where this address was sent none."""
        ...


class Bell(Protocol):
    """Rings when something was sent to an address."""

    def listen(self, address: str) -> AsyncIterator[None]:
        """Yield once at the start and then whenever something new was sent there."""
        ...


@dataclass(frozen=True)
class Sheet:
    """A sheet of the register: its template, title and what stands on it; `live`: it draws itself anew."""

    template: str
    title: str
    values: Mapping[str, object]
    live: bool = False


@dataclass(frozen=True)
class Download:
    """A file to hand out: its bytes, or the path where they lie; `once`: it is removed afterwards."""

    name: str
    media_type: str
    body: bytes = b""
    path: str | None = None
    once: bool = False


@dataclass(frozen=True)
class Shut:
    """Nothing is shown: the HTTP status and one sentence with the way out."""

    status: int
    sentence: str


class Register(Protocol):
    """The unit as whoever answers for it reads it; that evidence was seen is on record before it is shown."""

    async def sheet(self, address: str, name: str, of: str) -> Sheet | Shut:
        """The sheet of this name about this thing, for the person behind the address."""
        ...

    async def download(self, address: str, name: str, of: str) -> Download | Shut:
        """The file of this name about this thing, for the person behind the address."""
        ...

    async def mark(self) -> str:
        """Another text whenever something was written since."""
        ...


class PageSignIn(Protocol):
    """Who reads the register: short sessions, begun by a one-time link that the line itself sent."""

    async def redeem_page(self, link_token: str) -> tuple[str, str] | None:
        """Use the link up: (address, session token), or None where it is no longer good."""
        ...

    async def page_address_of(self, session_token: str) -> str | None:
        """The address behind a session, or None where it ended."""
        ...

    async def end_page(self, session_token: str) -> None:
        """The session is over; a second time changes nothing."""
        ...


class SignIn(Protocol):
    """Who is at the other end of a browser. Tokens are kept only as keyed commitments."""

    async def redeem(self, link_token: str) -> tuple[str, str] | None:
        """Use a one-time link up: (address, session token), or None where it is no longer good."""
        ...

    async def address_of(self, session_token: str) -> str | None:
        """The address behind a session, or None where it ended."""
        ...
