"""Who is at the other end of a browser: one-time links and sessions, kept only as keyed commitments."""

from __future__ import annotations

import hashlib
import hmac

from storage import sessions
from storage.work import Store, Work

from .model.times import DAY_US
from .ports import Clock, Secrets

LINK_BYTES = 20
SESSION_BYTES = 32
SESSION_LIFE_US = 30 * DAY_US


def keyed(token: str, key: bytes) -> str:
    """What stands in the store for a token: HMAC-SHA-256 under the store's own key."""
    return hmac.new(key, token.encode(), hashlib.sha256).hexdigest()


async def new_link(
    work: Work, address: str, secrets: Secrets, key: bytes, now_us: int, life_us: int
) -> str | None:
    """A fresh token for this address; None where it has an unused one or somebody is signed in."""
    if await sessions.is_open(work.tx, address, now_us):
        return None
    token = secrets.token(LINK_BYTES)
    await sessions.put_link(work.tx, keyed(token, key), address, now_us + life_us)
    return token


class SignIn:
    """Links used up once, sessions that end by themselves."""

    def __init__(self, store: Store, clock: Clock, secrets: Secrets, key: bytes) -> None:
        self._store = store
        self._clock = clock
        self._secrets = secrets
        self._key = key

    async def redeem(self, link_token: str) -> tuple[str, str] | None:
        """Use a one-time link up: (address, session token), or None where it is no longer good."""
        now_us = self._clock.now_us()
        async with self._store.work() as work:
            address = await sessions.use_link(work.tx, keyed(link_token, self._key), now_us)
            if address is None or address not in work.snapshot.people_by_address:
                return None
            token = self._secrets.token(SESSION_BYTES)
            await sessions.put_session(work.tx, keyed(token, self._key), address, now_us + SESSION_LIFE_US)
            return address, token

    async def address_of(self, session_token: str) -> str | None:
        """The address behind a session, or None where it ended or its person is retired."""
        async with self._store.database.read() as tx:
            return await sessions.address_of(tx, keyed(session_token, self._key), self._clock.now_us())

    async def end(self, session_token: str) -> None:
        """The session is over; a second time changes nothing."""
        async with self._store.work() as work:
            await sessions.end_session(work.tx, keyed(session_token, self._key))
