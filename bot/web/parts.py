"""What the pages are built from, handed in by whoever builds them."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from bot.model.message import Attachment
from bot.ports import Bell, ChatLog, Clock, PageSignIn, Register, Secrets, SignIn, Take

ReceiveFile = Callable[[AsyncIterator[bytes], str | None], Awaitable[Attachment]]
EndSession = Callable[[str], Awaitable[None]]


@dataclass(frozen=True)
class WebLimits:
    """How much the pages take at once. Sizes in bytes, times in seconds."""

    text_chars: int = 10_000
    photos: int = 10
    photo_bytes: int = 25_000_000
    request_bytes: int = 80_000_000
    fields_bytes: int = 262_144
    lines: int = 60
    heartbeat_s: float = 15.0
    session_s: int = 30 * 86_400


@dataclass(frozen=True)
class Look:
    """What stands on every page.

    `origins` are the addresses under which browsers reach it, like "https://line.example"; a
    request that names another host is refused. `landing` is one paragraph an entry.
    """

    title: str
    notice: str
    zone: ZoneInfo
    origins: tuple[str, ...]
    landing: tuple[str, ...] = ()

    @property
    def https(self) -> bool:
        """Whether browsers reach it only by HTTPS."""
        return all(origin.startswith("https://") for origin in self.origins)

    @property
    def hosts(self) -> frozenset[str]:
        """The Host headers that belong to `origins`."""
        return frozenset(origin.partition("://")[2] for origin in self.origins)


@dataclass(frozen=True)
class Parts:
    """The seams to the rest of the house."""

    take: Take
    log: ChatLog
    bell: Bell
    sign_in: SignIn
    end_session: EndSession
    receive_file: ReceiveFile
    clock: Clock
    secrets: Secrets
    look: Look
    limits: WebLimits = field(default_factory=WebLimits)
    open_address: str | None = None
    register: Register | None = None
    page_sign_in: PageSignIn | None = None
    open_page_address: str | None = None


@dataclass(frozen=True)
class Refusal:
    """Nothing was taken: the HTTP status and one sentence with the way out."""

    status: int
    sentence: str
    retry_after_s: int | None = None
