"""The lines of custody behind one cheap look at how a text begins: most texts are none of them."""

from __future__ import annotations

from ..turn import Turn
from .arrival import hear_result
from .boxes import hear_box
from .keep import hear_explained, hear_resealed, hear_stored
from .offer import hear_offer, hear_withdrawn
from .paper import hear_closed, hear_paper
from .retain import hear_disposal, hear_retention
from .send import hear_laboratory_told, hear_send
from .settle import hear_answer, hear_refusal

# The first word of each line of custody; a case may be named before it.
BEGINNINGS = frozenset(
    (
        *("offer", "return", "court", "split", "withdraw", "no", "answer", "paper", "close"),
        *("retain", "release", "dispose", "result", "results", "send", "send?", "when"),
        *("laboratory", "lab", "explain", "store", "reseal", "box", "cooler"),
        *("give", "giving", "hand", "handing", "pass", "passing"),
    )
)
LINES = (
    hear_offer,
    hear_withdrawn,
    hear_refusal,
    hear_answer,
    hear_paper,
    hear_closed,
    hear_retention,
    hear_disposal,
    hear_result,
    hear_send,
    hear_laboratory_told,
    hear_explained,
    hear_stored,
    hear_resealed,
    hear_box,
)


def hear_custody(turn: Turn, text: str) -> bool:
    """True where the text was a line of custody and what it says is on record."""
    words = text.lower().split(None, 2)[:2]
    if not any(word.rstrip(":,") in BEGINNINGS for word in words):
        return False
    return any(hear(turn, text) for hear in LINES)
