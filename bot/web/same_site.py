"""Whether a request that changes something was sent from our own page.

Besides the cookie's SameSite (RFC 6265bis, 5.6.7): the fetch metadata headers (W3C), the Origin
header (WHATWG Fetch, 3.2) and a token in each form (OWASP CSRF prevention, HMAC-based token).
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from enum import Enum
from hashlib import sha256

from .parts import Refusal

ELSEWHERE = Refusal(403, "That was sent from another site, nothing was taken; open the log itself.")
STALE_FORM = Refusal(403, "This page had grown old, nothing was taken; send it again from here.")


class Sender(Enum):
    """Where a request comes from, as far as the browser tells."""

    OURS = "ours"
    THEIRS = "theirs"
    UNTOLD = "untold"


def sender_of(headers: Mapping[str, str], origins: tuple[str, ...]) -> Sender:
    """Return who sent it. Browsers leave Origin as "null" under our referrer policy: then untold."""
    site = headers.get("sec-fetch-site", "none")
    origin = headers.get("origin", "null")
    if site not in ("same-origin", "none") or (origin != "null" and origin not in origins):
        return Sender.THEIRS
    if site == "same-origin" or origin in origins:
        return Sender.OURS
    return Sender.UNTOLD


def form_token(key: str) -> str:
    """Return the token for forms shown to the holder of this cookie value."""
    return hmac.new(key.encode(), b"a form of the field log", sha256).hexdigest()


def form_is_ours(headers: Mapping[str, str], origins: tuple[str, ...], key: str | None, token: str) -> bool:
    """Whether a form with this token was filled in on a page that we gave to this browser."""
    if key is None or sender_of(headers, origins) is Sender.THEIRS:
        return False
    return hmac.compare_digest(form_token(key).encode(), token.encode(errors="replace"))
