"""What a text must not do to whoever reads it: turn other words around, hide, or command a terminal.

Kept as it came, it is shown with such characters written out, like (U+202E). Sources: Unicode Standard
Annex #9, table 4 (bidirectional formatting characters); ISO/IEC 6429 (control characters).
"""

from __future__ import annotations

import re

# C0 but tab and line ends, DEL and C1; line and paragraph separator; directional marks, embeddings,
# overrides and isolates; the byte order mark, annotation and tag characters; halves of surrogate pairs.
_UNSEEN = (
    "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"
    "\ufeff\ufff9-\ufffb\U000e0000-\U000e007f\ud800-\udfff"
)
_SHOWN = re.compile(f"[{_UNSEEN}]|\r(?!\n)")
_IN_ONE_LINE = re.compile(f"[{_UNSEEN}\r\n\t]")
_HALVES = re.compile("[\ud800-\udfff]")


def escaped(text: str) -> str:
    """The text with nothing in it that moves or hides other text; the same object where there is nothing."""
    return _SHOWN.sub(_written_out, text) if _SHOWN.search(text) else text


def in_one_line(text: str) -> str:
    """`escaped`, and no line of its own either: for a terminal, where a line is a record."""
    return _IN_ONE_LINE.sub(_written_out, text)


def escaped_json(text: str) -> str:
    """JSON that means the same and holds none of these characters in clear."""
    return _SHOWN.sub(lambda match: _as_json(match[0]), text)


def storable(text: str) -> str:
    """The text as UTF-8 can hold it: half of a surrogate pair means nothing and becomes U+FFFD."""
    return text if text.isascii() else _HALVES.sub("\ufffd", text)


def _written_out(match: re.Match[str]) -> str:
    return f"(U+{ord(match[0]):04X})"


def _as_json(sign: str) -> str:
    units = sign.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at : at + 2].hex()}" for at in range(0, len(units), 2))
