"""A day's fingerprint as six short words, to be read aloud and written into a bound notebook."""

from __future__ import annotations

from Crypto.Util.RFC1751 import english_to_key, key_to_english, wordlist

from bot.model.errors import AskedWrongly

LIST = " ".join(wordlist)  # the 2,048 words of RFC 1751


def six_words(sha256: str) -> str:
    """The first 64 bits of a hash as six English words (RFC 1751)."""
    return key_to_english(bytes.fromhex(sha256[:16]))


def words_read(text: str) -> str:
    """Six words as they were read or typed, in the form of `six_words`. Raises AskedWrongly.

    Two bits of parity find three of four words that were heard wrongly.
    """
    words = text.upper().replace(",", " ").split()
    known = set(wordlist)
    strange = [word for word in words if word not in known]
    if strange:
        raise AskedWrongly(f"{' '.join(strange)} is not a word of the list (RFC 1751); read them again.")
    if len(words) != 6:
        raise AskedWrongly(f"{len(words)} words were given and a day has six; read them again.")
    try:
        english_to_key(" ".join(words))
    except ValueError as problem:
        raise AskedWrongly("A word was heard wrongly, or two changed places; read them again.") from problem
    return " ".join(words)
