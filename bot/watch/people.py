"""People who are out: due back, overdue, silent. Only who said so is watched."""

from __future__ import annotations

from ..model.alert import Alert
from ..model.due import Due
from ..model.entries import Draft
from ..model.people import Whereabouts
from ..model.times import HOUR_US, MINUTE_US
from ..rules.alerts import is_quiet
from .ladder import close, raise_alert
from .scene import Scene

PERSON_DUE = "person_due"
PERSON_OVERDUE = "person_overdue"
SILENT = "team_silent"
UNANSWERED = "team_silent_unanswered"
SILENT_ENDS = "team_silent_ends"
LOOK_US = 5 * MINUTE_US  # texts of who is silent ring no bell: they are looked for


def hear_out(scene: Scene, draft: Draft) -> None:
    """They are due back then, and asked how they are where they fall silent; no earlier time counts."""
    name = draft.author
    now = scene.unit.whereabouts[name]
    if now.till_us is not None and now.till_us > scene.now_us:
        _end(scene, name, scene.word("watch.out.anew", person=name, at=scene.clock(now.till_us)))
    if now.till_us is not None:
        scene.file(PERSON_DUE, name, now.till_us)
    scene.file(SILENT, name, scene.now_us + round(scene.limits.silent_hours * HOUR_US))


def hear_back(scene: Scene, draft: Draft) -> None:
    """Nothing is watched of them any more, and who was told that they are overdue hears of it."""
    _end(scene, draft.author, scene.word("watch.back", person=draft.author, at=scene.clock(draft.said_us)))


def _end(scene: Scene, name: str, text: str) -> None:
    for kind in (PERSON_OVERDUE, SILENT):
        alert = scene.open_alert(kind, name)
        if alert is not None:
            close(scene, alert, text)


def ask_back(scene: Scene, due: Due) -> None:
    """They are asked whether they are back, before anybody else hears of it."""
    now = _out(scene, due.subject)
    if now is None or now.till_us != due.due_us:
        return
    scene.remind(
        PERSON_OVERDUE, due.subject, (due.subject,), scene.word("watch.due_back", at=now_text(scene, now))
    )
    scene.file(PERSON_OVERDUE, due.subject, due.due_us + round(scene.limits.overdue_minutes * MINUTE_US))


def raise_overdue(scene: Scene, due: Due) -> None:
    """They are overdue: critical, at any hour."""
    now = _out(scene, due.subject)
    if now is None or now.till_us is None:
        return
    if now.till_us + round(scene.limits.overdue_minutes * MINUTE_US) != due.due_us:
        return
    key = "watch.overdue.afloat" if now.afloat else "watch.overdue"
    shown = {
        "person": due.subject,
        "at": now_text(scene, now),
        "words": _where(now),
        "heard": _heard(scene, due.subject),
    }
    text = scene.word(key, **shown)
    raise_alert(scene, PERSON_OVERDUE, due.subject, text, cause=str(now.till_us))


def ask_ok(scene: Scene, due: Due) -> None:
    """Who is out and has written nothing for so long is asked one thing only."""
    now = _out(scene, due.subject)
    if now is None:
        return
    silent_us = round(scene.limits.silent_hours * HOUR_US)
    heard_us = max(scene.heard_us(due.subject), now.out_us or 0)
    if heard_us + silent_us > scene.now_us:
        scene.file(SILENT, due.subject, heard_us + silent_us)
        return
    scene.remind(SILENT, due.subject, (due.subject,), scene.word("watch.ok"))
    scene.file(UNANSWERED, due.subject, scene.now_us + round(scene.limits.silent_minutes * MINUTE_US))


def raise_silent(scene: Scene, due: Due) -> None:
    """Nothing came after the question: told on; afloat at night it is critical. Asked again in time."""
    now = _out(scene, due.subject)
    if now is None:
        return
    heard_us = max(scene.heard_us(due.subject), now.out_us or 0)
    scene.file(SILENT, due.subject, max(heard_us, scene.now_us) + round(scene.limits.silent_hours * HOUR_US))
    if heard_us >= due.due_us - round(scene.limits.silent_minutes * MINUTE_US):
        return
    night = is_quiet(scene.now_us, scene.unit.watch, scene.zone)
    level = "critical" if now.afloat and night else None
    text = scene.word("watch.silent", person=due.subject, heard=_heard(scene, due.subject), words=_where(now))
    raise_alert(scene, SILENT, due.subject, text, cause=str(heard_us), level=level)
    scene.file(SILENT_ENDS, due.subject, scene.now_us + LOOK_US)


def end_silence(scene: Scene, due: Due) -> None:
    """The alert is over within minutes of their text, whatever rung its ladder stands on."""
    alert = scene.open_alert(SILENT, due.subject)
    if alert is not None and not has_answered(scene, alert):
        scene.file(SILENT_ENDS, due.subject, scene.now_us + LOOK_US)


def has_answered(scene: Scene, alert: Alert) -> bool:
    """True where they wrote since; the alert is closed then."""
    heard_us = scene.heard_us(alert.subject)
    if heard_us <= alert.raised_us:
        return False
    close(scene, alert, scene.word("watch.heard", person=alert.subject, at=scene.clock(heard_us)))
    return True


def _out(scene: Scene, name: str) -> Whereabouts | None:
    now = scene.unit.whereabouts.get(name)
    return now if now is not None and now.is_out else None


def now_text(scene: Scene, now: Whereabouts) -> str:
    """When they said they would be back."""
    return "" if now.till_us is None else scene.clock(now.till_us)


def _heard(scene: Scene, name: str) -> str:
    heard_us = scene.heard_us(name)
    return scene.clock(heard_us) if heard_us else scene.word("watch.never")


def _where(now: Whereabouts) -> str:
    return f' "{now.words[:60]}"' if now.words else ""
