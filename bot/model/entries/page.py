"""Who looked at what on the pages, and what they took with them."""

from __future__ import annotations

from .base import Body

__all__ = [
    "EvidenceViewed",
    "FileTaken",
]


class EvidenceViewed(Body):
    """A sheet of evidence was opened: which sheet, and whose it was ("CH-014#3", "CH-014")."""

    sheet: str
    of: str


class FileTaken(Body):
    """A file was handed out: its name, what it is of, and its SHA-256."""

    file: str
    of: str
    sha256: str
