"""What the code on a jar's label says: the case and the number on the lid, and nothing more.

It names no kind, so that a duplicate stays blind to the laboratory (Hawaii DOH, technical guidance 10.6).
"""

from __future__ import annotations

WORD = "JAR"
DRILL = "EXERCISE"


def label_code(case: str, number: str, exercise: bool) -> str:
    """The text of a label's QR code (ISO/IEC 18004)."""
    return " ".join([*([DRILL] if exercise else []), WORD, case, number])


def is_label_code(text: str) -> bool:
    """Whether a code found in a photo is a label's of ours; any other code says nothing about the jar."""
    words = text.split()
    return len(words) > 2 and (words[0] == WORD or words[:2] == [DRILL, WORD])
