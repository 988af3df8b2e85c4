"""The record was verified and is not as it was written: one critical alert, which names what was found."""

from __future__ import annotations

from collections.abc import Sequence

from ..model.due import RECORD_ALTERED, Due
from .ladder import close, raise_alert, to_take, worsen
from .scene import Scene

SUBJECT = "the record"
NAMED = 2  # findings in the text: it is read on a phone
LONGEST = 160  # characters of one finding


def altered(found: Sequence[str], now_us: int) -> Due:
    """What is due at once of these findings; its subject carries their count and the first of them."""
    named = "; ".join(one[:LONGEST].rstrip(".") for one in found[:NAMED])
    return Due(now_us, RECORD_ALTERED, f"{len(found)} {named}")


def raise_altered(scene: Scene, due: Due) -> None:
    """Told at any hour; the same findings again are no news, others begin its ladder anew, none end it."""
    count, _, named = due.subject.partition(" ")
    if count == "0":
        whole = scene.open_alert(RECORD_ALTERED, SUBJECT)
        if whole is not None:
            close(scene, whole, scene.word("alert.record_altered.over"))
        return
    rest = int(count) - NAMED
    more = scene.word("alert.record_altered.more", count=rest) if rest > 0 else ""
    text = scene.word("alert.record_altered", named=named, more=more)
    alert = scene.open_alert(RECORD_ALTERED, SUBJECT)
    if alert is None:
        raise_alert(scene, RECORD_ALTERED, SUBJECT, text, cause=due.subject)
    elif alert.text != to_take(scene, SUBJECT, text):
        worsen(scene, alert, text, alert.rank + 1)
