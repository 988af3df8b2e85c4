"""One-time links to the register: made as a text goes out, so that none ever stands in the store in clear.

The text that is stored says only LINK_MARK. What takes its place is worked out from the store's key and the
text's own number in the outbox, so that a text sent twice holds the same link twice.
"""

from __future__ import annotations

import hashlib
import hmac

from storage import sessions
from storage.work import Store

from ..dialogue.page_line import LINK_MARK, TOO_OLD
from ..model.message import Outgoing
from ..model.times import HOUR_US, MINUTE_US
from ..ports import Channel, Clock, Secrets
from ..sign_in import SESSION_BYTES, keyed

LINK_LIFE_US = 15 * MINUTE_US
SESSION_LIFE_US = 8 * HOUR_US  # a watch; then a new link
LINK_HEX = 40


def derived(row: int, key: bytes) -> str:
    """The token of the link in this text of the outbox: 160 bits of HMAC-SHA-256 under the store's key."""
    return hmac.new(key, f"page link {row}".encode(), hashlib.sha256).hexdigest()[:LINK_HEX]


class PageLinks:
    """Fills links into texts, and lets in whoever opens one in time."""

    def __init__(self, store: Store, clock: Clock, secrets: Secrets, key: bytes, base: str) -> None:
        """`base` is how browsers reach the pages, like "https://line.example"."""
        self._store = store
        self._clock = clock
        self._secrets = secrets
        self._key = key
        self._base = base.rstrip("/")

    async def filled(self, text: Outgoing) -> Outgoing:
        """The text with its link, good once and for a quarter of an hour; any other text as it is."""
        if LINK_MARK not in text.text:
            return text
        link = await self.link_of(text) or TOO_OLD
        return text.model_copy(update={"text": text.text.replace(LINK_MARK, link)})

    async def link_of(self, text: Outgoing) -> str | None:
        """The link that stands in this text, None where none does or its time is over."""
        expires_us = text.queued_us + LINK_LIFE_US
        if LINK_MARK not in text.text or self._clock.now_us() > expires_us:
            return None
        token = derived(text.row, self._key)
        async with self._store.work() as work:
            await sessions.put_link(work.tx, self._kept(token), text.address, expires_us, sessions.PAGE)
        return f"{self._base}/page/{token}"

    async def redeem_page(self, link_token: str) -> tuple[str, str] | None:
        """Use the link up: (address, session token), or None where it is no longer good."""
        now_us = self._clock.now_us()
        async with self._store.work() as work:
            address = await sessions.use_link(work.tx, self._kept(link_token), now_us, sessions.PAGE)
            if address is None or address not in work.snapshot.people_by_address:
                return None
            token = self._secrets.token(SESSION_BYTES)
            await sessions.put_session(work.tx, self._kept(token), address, now_us + SESSION_LIFE_US)
            return address, token

    async def page_address_of(self, session_token: str) -> str | None:
        """The address behind a session, or None where it ended or its person is retired."""
        async with self._store.database.read() as tx:
            return await sessions.address_of(tx, self._kept(session_token), self._clock.now_us())

    async def end_page(self, session_token: str) -> None:
        """The session is over; a second time changes nothing."""
        async with self._store.work() as work:
            await sessions.end_session(work.tx, self._kept(session_token))

    def _kept(self, token: str) -> str:
        """Apart from the links and sessions of the chat: neither opens what the other does."""
        return keyed(f"page {token}", self._key)


class WithLinks:
    """A channel whose texts get their links as they go out."""

    def __init__(self, channel: Channel, links: PageLinks) -> None:
        self.name = channel.name
        self._channel = channel
        self._links = links

    async def send(self, text: Outgoing) -> None:
        """As the channel's own `send`."""
        await self._channel.send(await self._links.filled(text))
