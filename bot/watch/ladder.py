"""Telling of an alert: the rungs of its ladder, its owner's reminders, its end."""

from __future__ import annotations

from collections.abc import Sequence

from ..model.alert import Alert, handle_of
from ..model.entries import AlertClosed, AlertRaised, AlertTold, AlertWorsened, Draft
from ..model.message import AlertMark
from ..model.times import MINUTE_US
from ..rules.alerts import LEVELS, Step, budget_frees_us, next_step
from ..rules.worded import Worded, recipe, retold
from .scene import Scene

LADDER = "ladder"


def raise_alert(
    scene: Scene,
    kind: str,
    subject: str,
    text: str,
    *,
    cause: str,
    cases: Sequence[str] = (),
    numbers: Sequence[str] = (),
    rank: int = 0,
    first_us: int | None = None,
    level: str | None = None,
) -> None:
    """The alert stands and its ladder begins, unless one of the same cause was raised before."""
    last = scene.last_alert(kind, subject)
    if last is not None and (last.is_open or last.cause == cause):
        return
    text = to_take(scene, subject, text)
    known = [case for name in cases if (case := scene.case(name)) is not None]
    body = AlertRaised(
        alert=scene.next_id(),
        alert_kind=kind,
        subject=subject,
        level=level or LEVELS[kind],
        told=(),
        text=text,
        said=recipe(text),
        cause=cause,
        cases=tuple(cases),
        numbers=tuple(numbers),
        rank=rank,
        first_us=first_us,
        exercise=bool(known) and all(case.exercise for case in known),
    )
    scene.write(body)
    carry_on(scene, scene.result.alerts[body.alert])


def worsen(scene: Scene, alert: Alert, text: str, rank: int, *, first_us: int | None = None) -> None:
    """The ladder begins anew: at once, or at `first_us`."""
    text = to_take(scene, alert.subject, text)
    scene.write(AlertWorsened(alert=alert.id, text=text, said=recipe(text), rank=rank, first_us=first_us))
    carry_on(scene, scene.result.alerts[alert.id])


def close(scene: Scene, alert: Alert, text: str | None, why: str = "") -> None:
    """The alert is over by its own condition; its owner, or else whoever was told last, hears so."""
    scene.write(AlertClosed(alert=alert.id, how="condition", why=why))
    if text is None:
        return
    heard = [push.to for push in alert.pushes]
    to = (alert.owner,) if alert.is_taken and alert.owner else tuple(dict.fromkeys(heard))
    scene.tell(to, text, mark_of(alert, "reminder", alert.repeats), exercise=alert.exercise)


def mark_of(alert: Alert, level: str, repeat: int) -> AlertMark:
    """What a text of this alert carries."""
    return AlertMark(id=alert.id, kind=alert.kind, subject=alert.subject, level=level, repeat=repeat)


def carry_on(scene: Scene, alert: Alert, now: str | None = None) -> None:
    """What is due of the alert is told, and a row waits for what follows; `now` is how it stands by now."""
    while True:
        step = next_step(alert, scene.unit, scene.limits, scene.steps)
        if step is None:
            return
        at_us = max(step.at_us, _budget_us(scene, alert, step))
        if at_us > scene.now_us:
            scene.file(LADDER, alert.id, at_us)
            return
        alert = _tell(scene, alert, step, now or words_of(scene, alert))


def to_take(scene: Scene, subject: str, text: str) -> str:
    """The text with how to take what it is about; a reminder to whoever has it leaves that out."""
    return scene.word("watch.take", text=text, handle=handle_of(subject).upper())


def _taken(text: str) -> str:
    said = text.values["text"] if isinstance(text, Worded) and text.key == "watch.take" else text
    return said if isinstance(said, str) else text


def words_of(scene: Scene, alert: Alert) -> str:
    """What the alert says, for anybody's language; without a recipe as it stands."""
    return retold(alert.said, scene.word) if isinstance(alert.said, dict) else alert.text


def _budget_us(scene: Scene, alert: Alert, step: Step) -> int:
    """When the incident's budget lets a push go; what is critical or only its owner's is not counted."""
    if step.level != "push":
        return 0
    lately = scene.alerts(("alert_pushed", alert.incident))
    times = {push.at_us for one in lately if one.level == "push" for push in one.pushes}
    return budget_frees_us(sorted(times), scene.now_us, scene.limits) or 0


def _tell(scene: Scene, alert: Alert, step: Step, text: str) -> Alert:
    repeat = alert.repeats + 1 if alert.pushes else 0
    if step.level == "reminder":
        text = scene.word("watch.yours", text=_taken(text), handle=alert.handle.upper())
    elif repeat:
        text = scene.word("watch.again", text=text)
    if scene.now_us - step.at_us >= scene.limits.due_late_minutes * MINUTE_US:
        text = scene.word("watch.late", at=scene.clock(step.at_us), text=text)
    scene.tell(step.people, text, mark_of(alert, step.level, repeat), exercise=alert.exercise)
    scene.write(AlertTold(alert=alert.id, told=step.people, level=step.level, repeat=repeat))
    return scene.result.alerts[alert.id]


def hear_alert(scene: Scene, draft: Draft) -> None:
    """What a person said of an alert, or raised, is carried on from there."""
    alert = scene.fold(draft)
    if alert is not None:
        carry_on(scene, alert)
