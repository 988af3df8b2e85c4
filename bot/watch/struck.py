"""A cooler's reading was struck by who told it: what stood on it alone is over, what it ended is not."""

from __future__ import annotations

from ..model.alert import Alert
from ..model.cold import Life
from ..model.entries import CoolerCorrected, Draft
from ..model.times import MINUTE_US
from ..rules.cold import FREEZING, OK
from .cold import FROZEN, READING_OVERDUE, WARM, Cold, look
from .ladder import close
from .readings import await_reading, due_of, tell_unread
from .scene import Scene
from .warm import end_excursion


def hear_corrected(scene: Scene, draft: Draft) -> None:
    """Every alert of the cooler is held against the record as it stands now; its owner hears why one ends."""
    body = draft.body
    if not isinstance(body, CoolerCorrected) or body.beside:
        return
    cold = look(scene, body.cooler)
    life = scene.life(body.cooler) if cold is None else cold.life
    for kind, sort in ((WARM, "warm"), (FROZEN, FREEZING)):
        alert = scene.open_alert(kind, f"cooler {life.name}")
        if alert is not None and not _stands(alert, cold, sort):
            _close(scene, alert, life, body, draft.author)
    if cold is None:
        _end_unread(scene, life, body)
        return
    if cold.bands[-1] == OK:
        end_excursion(scene, cold)
    _await(scene, cold)


def _stands(alert: Alert, cold: Cold | None, sort: str) -> bool:
    """A reading that is out of range as the alert says was told for then, or since."""
    since_us = int(alert.cause.split()[1].rstrip(","))
    return cold is not None and any(run.sort == sort and run.last_out_us >= since_us for run in cold.runs)


def _close(scene: Scene, alert: Alert, life: Life, body: CoolerCorrected, by: str) -> None:
    why = body.why or scene.word("watch.struck.no_reason")
    text = scene.word("watch.struck", cooler=life.name, old=body.old, by=by, why=why)
    close(scene, alert, text, f"struck: {body.old}: {body.why or 'none given'}")


def _end_unread(scene: Scene, life: Life, body: CoolerCorrected) -> None:
    """A cooler that was never read waits for no reading."""
    alert = scene.open_alert(READING_OVERDUE, f"cooler {life.name}")
    if alert is not None:
        close(scene, alert, None, f"struck: {body.old}")


def _await(scene: Scene, cold: Cold) -> None:
    """By the readings that stand the next one is due; where it is overdue by now that is told on at once."""
    due_us = due_of(scene, cold)
    if due_us is None or due_us > scene.now_us:
        await_reading(scene, cold)
    elif cold.jars and due_us + round(scene.limits.reading_overdue_minutes * MINUTE_US) <= scene.now_us:
        tell_unread(scene, cold)
