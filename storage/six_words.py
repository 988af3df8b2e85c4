"""A day's fingerprint as six short words, to be read aloud and written into a bound notebook."""

from __future__ import annotations

from Crypto.Util.RFC1751 import key_to_english


def six_words(sha256: str) -> str:
    """The first 64 bits of a hash as six English words (RFC 1751)."""
    return key_to_english(bytes.fromhex(sha256[:16]))
