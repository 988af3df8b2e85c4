"""Who is at the other end of a browser: one-time links and sessions, kept only as keyed commitments."""

from __future__ import annotations

import hashlib
import hmac
import re
from unicodedata import decimal

from storage import sessions
from storage.work import Store, Work

from .model.board import Code
from .model.people import Unit
from .model.times import DAY_US
from .ports import Clock, Secrets

LINK_BYTES = 20
ENROL_DIGITS, PERSONAL_DIGITS = 12, 6
PERSONAL_LIFE_US = 36_500 * DAY_US  # until there is a newer one
# The forms of all codes: links, and digits typed in groups or not; groups may overlap with other figures.
CODE = re.compile(
    r"\b([0-9A-Fa-f]{40})\b|(?<!\d)(?=(\d{4}\W{0,3}\d{4}\W{0,3}\d{4})(?!\d))|(?<!\d)(?=(\d{3}\W{0,3}\d{3})(?!\d))"
)
_SIX = re.compile(r"\d{3}\W{0,3}\d{3}")
_LINK = re.compile(r"[0-9A-Fa-f]{40}")
_SPELT = re.compile(r"\d(?:\W{0,3}\d){5,11}")  # digit by digit
_SHORT = 60  # characters: a text that brings a code says little else
SESSION_BYTES = 32
SESSION_LIFE_US = 30 * DAY_US


def keyed(token: str, key: bytes) -> str:
    """What stands in the store for a token: HMAC-SHA-256 under the store's own key."""
    return hmac.new(key, token.encode(), hashlib.sha256).hexdigest()


def codes_in(text: str) -> dict[str, str]:
    """What of a text has the form of a code: as typed, and as codes are kept."""
    spelt = _SPELT.search(text) if len(text) <= _SHORT else None
    linked = len(text) >= 2 * LINK_BYTES and _LINK.search(text) is not None
    if spelt is None and not linked and _SIX.search(text) is None:
        return {}  # most texts: a third of the time that looking closely takes
    found = [next(group for group in match.groups() if group) for match in CODE.finditer(text)]
    if spelt is not None:
        found.append(spelt.group())
    return {typed: _as_kept(typed) for typed in found}


def _as_kept(typed: str) -> str:
    """Without what separates, in lower case, its digits of any script as ours."""
    return "".join(str(decimal(sign, sign)) for sign in typed.lower() if sign.isalnum())


async def new_code(
    work: Work, name: str, purpose: str, secrets: Secrets, key: bytes, now_us: int, until_us: int
) -> str:
    """A fresh code of this person, "enrol" or "personal"; an older one of theirs is good no longer."""
    digits = ENROL_DIGITS if purpose == "enrol" else PERSONAL_DIGITS
    while True:
        code = str(int(secrets.token(16), 16))[-digits:]  # 128 bits: no digit is likelier than another
        taken = await sessions.is_known(work.tx, keyed(code, key))
        if len(code) == digits and not taken and not _is_a_seal(code, work.snapshot.unit):
            break
    issued = Code(purpose=purpose, holder=f"person:{name}", expires_us=until_us)
    await sessions.put_code(work.tx, keyed(code, key), issued, now_us)
    return code


def _is_a_seal(code: str, unit: Unit) -> bool:
    """A code that could be read as the number of one of the unit's seals would hide that seal."""
    ends = [kit.seals for kit in unit.kits.values() if kit.seals is not None]
    return any(
        one.isdigit() and other.isdigit() and int(one) <= int(code) <= int(other) for one, other in ends
    )


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
