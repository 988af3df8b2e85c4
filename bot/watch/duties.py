"""Standing work, a function a kind: what is done when its hour has come."""

from __future__ import annotations

from collections.abc import Callable

from ..model.alert import Alert
from ..model.due import RECORD_ALTERED, Due
from .altered import raise_altered
from .cold import FROZEN, READING_OVERDUE, WARM, WINDOW
from .custody import (
    NOT_IN_COLD,
    PENDING,
    PENDING_LONG,
    raise_pending,
    remind_both,
    remind_of_cold,
)
from .ended import OVER, OVER_LOOK, look_again
from .first_reading import READING_FIRST, READING_FIRST_LATE, ask_first, raise_never_read
from .holding import HOLDING, warn_of_holding
from .kits import KIT_DUE, KIT_RESTOCK, remind_to_look, remind_to_restock
from .ladder import LADDER, carry_on
from .people import (
    PERSON_DUE,
    PERSON_OVERDUE,
    SILENT,
    SILENT_ENDS,
    UNANSWERED,
    ask_back,
    ask_ok,
    end_silence,
    raise_overdue,
    raise_silent,
)
from .readings import READING_DUE, READING_MISSED, ask_reading, miss_reading, raise_unread
from .scene import Scene
from .send import SEND_BY, remind_to_send
from .warm import refuted_until, text_now
from .window import ICE, remind_of_ice, weigh_window

# Until when an alert of a kind that nobody was told of yet waits, None where it does not.
WAITS: dict[str, Callable[[Scene, Alert], int | None]] = {
    WARM: refuted_until,
    FROZEN: refuted_until,
}
# How what an alert of a kind is about stands when it is told again.
NOW: dict[str, Callable[[Scene, Alert], str]] = {
    WARM: text_now,
    FROZEN: text_now,
}


def climb(scene: Scene, due: Due) -> None:
    """The rung that is due is climbed; a row that an acknowledgement or an end overtook does nothing."""
    alert = scene.alert(due.subject)
    if alert is None:
        return
    over, waits = OVER.get(alert.kind), WAITS.get(alert.kind)
    if over is not None and alert.is_open and over(scene, alert):
        return
    until_us = waits(scene, alert) if waits is not None and alert.is_open else None
    if until_us is not None:
        scene.file(LADDER, alert.id, until_us)
        return
    now = NOW.get(alert.kind)
    carry_on(scene, alert, None if now is None else now(scene, alert))


# A kind of standing work is added here.
DUTIES: dict[str, Callable[[Scene, Due], None]] = {
    LADDER: climb,
    PERSON_DUE: ask_back,
    PERSON_OVERDUE: raise_overdue,
    SILENT: ask_ok,
    UNANSWERED: raise_silent,
    SILENT_ENDS: end_silence,
    PENDING: remind_both,
    PENDING_LONG: raise_pending,
    NOT_IN_COLD: remind_of_cold,
    HOLDING: warn_of_holding,
    WINDOW: weigh_window,
    READING_DUE: ask_reading,
    READING_MISSED: miss_reading,
    READING_OVERDUE: raise_unread,
    READING_FIRST: ask_first,
    READING_FIRST_LATE: raise_never_read,
    OVER_LOOK: look_again,
    RECORD_ALTERED: raise_altered,
    KIT_DUE: remind_to_look,
    KIT_RESTOCK: remind_to_restock,
    ICE: remind_of_ice,
    SEND_BY: remind_to_send,
}
