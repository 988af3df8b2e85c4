"""A cooler's next reading: asked for when due and when missed, then told on."""

from __future__ import annotations

from ..model.due import Due
from ..model.times import HOUR_US, MINUTE_US
from ..rules.alerts import after_quiet
from ..rules.cold import OK, is_fridge, next_reading_due_us
from .cold import (
    FROZEN,
    READING_OVERDUE,
    WARM,
    Cold,
    exercise_in,
    jars_text,
    look,
    struck_since,
)
from .ladder import close, raise_alert, worsen
from .scene import Scene

READING_DUE = "reading_due"
READING_MISSED = "reading_missed"


def await_reading(scene: Scene, cold: Cold) -> None:
    """The next reading of a cooler with jars in it is asked for when due and when missed, then told on."""
    due_us = due_of(scene, cold)
    if due_us is not None and cold.jars:
        file_awaited(scene, cold.life.name, due_us)


def file_awaited(scene: Scene, cooler: str, due_us: int) -> None:
    """The reading is asked for when due and when missed, then told on; a cooler that is empty then is not."""
    scene.file(READING_DUE, cooler, due_us)
    scene.file(READING_MISSED, cooler, due_us + round(scene.limits.cold_missed_minutes * MINUTE_US))
    scene.file(READING_OVERDUE, cooler, due_us + round(scene.limits.reading_overdue_minutes * MINUTE_US))


def due_of(scene: Scene, cold: Cold) -> int | None:
    """When the next reading is due; in range, by night only where somebody is on watch, else first thing."""
    fridge = _is_fridge(scene, cold.life.name)
    due_us = next_reading_due_us(cold.life, scene.limits, fridge=fridge, judged=cold.bands)
    return due_us if due_us is None or cold.bands[-1] != OK else by_day(scene, due_us)


def _is_fridge(scene: Scene, cooler: str) -> bool:
    set_up = scene.unit.coolers.get(cooler)
    return set_up is not None and is_fridge(set_up.cooler_class)


def every_us(scene: Scene, cooler: str) -> int:
    """How long after one in range the next reading is due, in microseconds: a fridge is read less often."""
    limits = scene.limits
    hours = limits.fridge_reading_hours if _is_fridge(scene, cooler) else limits.cold_reading_hours
    return int(hours * HOUR_US)


def by_day(scene: Scene, due_us: int) -> int:
    """By night only where somebody is on watch, else first thing."""
    watched = any(one.watch_until_us > due_us for one in scene.unit.whereabouts.values())
    return due_us if watched else after_quiet(due_us, scene.unit.watch, scene.zone)


def _awaited(scene: Scene, due: Due, after_minutes: float) -> Cold | None:
    """The cooler, where its reading is still the one that this row waits for."""
    cold = look(scene, due.subject)
    if cold is None or not cold.jars:
        return None
    due_us = due_of(scene, cold)
    return cold if due_us is not None and due_us + round(after_minutes * MINUTE_US) == due.due_us else None


def ask_reading(scene: Scene, due: Due) -> None:
    """Whoever read it last hears that it is due; who owns its alert hears it as well."""
    cold = _awaited(scene, due, 0)
    if cold is not None:
        text = scene.word("watch.reading_due", cooler=cold.life.name, jars=jars_text(scene, cold))
        scene.remind(READING_OVERDUE, cold.subject, (cold.last.by,), text, exercise=exercise_in(scene, cold))


def miss_reading(scene: Scene, due: Due) -> None:
    """The holder is asked again; an alert of the cooler that is not over begins its ladder anew."""
    cold = _awaited(scene, due, scene.limits.cold_missed_minutes)
    if cold is None:
        return
    text = _missed_text(scene, cold)
    scene.remind(READING_OVERDUE, cold.subject, (cold.last.by,), text, exercise=exercise_in(scene, cold))
    for kind in (WARM, FROZEN):
        alert = scene.open_alert(kind, cold.subject)
        if alert is not None:
            worsen(
                scene,
                alert,
                scene.word("watch.unread", text=text, celsius=f"{cold.last.celsius:g}"),
                alert.rank,
            )


def raise_unread(scene: Scene, due: Due) -> None:
    """A cooler with evidence that nobody reads is told on."""
    cold = _awaited(scene, due, scene.limits.reading_overdue_minutes)
    if cold is not None:
        tell_unread(scene, cold)


def tell_unread(scene: Scene, cold: Cold) -> None:
    """The reading is overdue and told on, where no alert of the cooler is told of already."""
    if any(scene.open_alert(kind, cold.subject) for kind in (WARM, FROZEN)):
        return
    text = scene.word("alert.reading_overdue", text=_missed_text(scene, cold), by=cold.last.by)
    cause = f"after {cold.last.at_us}{struck_since(cold, cold.last.at_us)}"
    raise_alert(
        scene, READING_OVERDUE, cold.subject, text, cause=cause, cases=cold.cases, numbers=cold.numbers
    )


def _missed_text(scene: Scene, cold: Cold) -> str:
    at = scene.clock(cold.last.at_us)
    if len(cold.jars) == 1:
        number = scene.jars_said(cold.cases[0], cold.numbers[0])
        return scene.word("watch.reading_missed.one", cooler=cold.life.name, at=at, number=number)
    return scene.word("watch.reading_missed", cooler=cold.life.name, at=at, count=len(cold.jars))


def end_overdue(scene: Scene, cold: Cold) -> None:
    """A reading came: who was told that none did hears what it says."""
    alert = scene.open_alert(READING_OVERDUE, cold.subject)
    if alert is not None:
        at, value = scene.clock(cold.last.at_us), f"{cold.last.celsius:g}"
        close(scene, alert, scene.word("watch.reading_came", cooler=cold.life.name, celsius=value, at=at))
