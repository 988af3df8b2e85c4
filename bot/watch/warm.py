"""A cooler warm or freezing: one alert a cooler, never one a jar, and its end with the bounds."""

from __future__ import annotations

from ..model.alert import Alert, handle_of
from ..model.cold import Reading
from ..model.entries import CoolerRead, CustodyReceived, Draft, JarsMoved
from ..model.times import MINUTE_US
from ..rules.alerts import is_quiet
from ..rules.cold import COOLING, FREEZING, OK, OVER, band
from .cold import (
    FROZEN,
    READING_OVERDUE,
    WARM,
    WINDOW,
    Cold,
    jars_text,
    look,
    look_unread,
    minutes_text,
    struck_since,
)
from .ladder import close, raise_alert, to_take, words_of, worsen
from .readings import await_reading, by_day, due_of, end_overdue, every_us, file_awaited
from .scene import Scene

EMPTY = "push"  # the level of an alert of a cooler that holds no jar
OF_COOLERS = (WARM, FROZEN, WINDOW, READING_OVERDUE)


def hear_reading(scene: Scene, draft: Draft) -> None:
    """What the newest reading says is followed; one told late only stands in the record."""
    body = draft.body
    if not isinstance(body, CoolerRead):
        return
    lately = scene.last_readings(body.cooler)
    if not lately or body.at_us < lately[-1][0]:
        return  # none stands: it was taken back in the text that told of it
    if _all_is_well(scene, body.cooler, lately):
        file_awaited(scene, body.cooler, by_day(scene, body.at_us + every_us(scene, body.cooler)))
        return
    cold = look(scene, body.cooler)
    if cold is None:
        return
    end_overdue(scene, cold)
    band = cold.bands[-1]
    if band == OK:
        end_excursion(scene, cold)
    elif band != COOLING:
        out_of_range(scene, cold, band)
    await_reading(scene, cold)


def _all_is_well(scene: Scene, cooler: str, lately: list[tuple[int, float]]) -> bool:
    """In range again and again, and no alert of it waits: what most readings say, without its whole life."""
    in_range = all(band(celsius, scene.limits) == OK for _, celsius in lately[-2:])
    return in_range and not _called(scene, cooler)


def _called(scene: Scene, cooler: str) -> list[Alert]:
    """The open alerts of a cooler."""
    return [a for a in scene.alerts(("alerts_called", handle_of(cooler))) if a.kind in OF_COOLERS]


def _is_of_empty(alert: Alert) -> bool:
    return alert.kind in (WARM, FROZEN) and alert.level == EMPTY


def out_of_range(scene: Scene, cold: Cold, band: str) -> None:
    """One alert an excursion. By night its ladder waits until it is confirmed, over, or not answered.

    A cooler that holds no jar on record wakes nobody: it waits for the day, and begins anew with jars in it.
    """
    window = scene.open_alert(WINDOW, cold.subject)
    if window is not None:
        close(scene, window, None, "a reading is out of range")
    run = cold.runs[-1]
    kind = FROZEN if band == FREEZING else WARM
    rank = 2 if band == OVER else 1
    sure = rank > 1 or len(run.readings) > 1 or not is_quiet(scene.now_us, scene.unit.watch, scene.zone)
    first_us = None if sure else scene.now_us + scene.unit.watch.ladder_minutes * MINUTE_US
    alert = scene.open_alert(kind, cold.subject)
    cause = f"since {run.first_out_us}{struck_since(cold, run.first_out_us)}"
    if alert is not None and _is_of_empty(alert) and cold.jars:
        close(scene, alert, None, "jars are in it now")
        alert, cause = None, f"{cause}, jars in"
    if alert is None:
        raise_alert(
            scene,
            kind,
            cold.subject,
            _text(scene, cold, band),
            cause=cause,
            cases=cold.cases,
            numbers=cold.numbers,
            rank=rank,
            first_us=first_us,
            level=None if cold.jars else EMPTY,
        )
    elif rank > alert.rank or (sure and not alert.pushes):
        worsen(scene, alert, _text(scene, cold, band), rank)
    elif not alert.pushes and first_us is not None:
        worsen(scene, alert, _text(scene, cold, band), rank, first_us=first_us)  # out again, after all


def refuted_until(scene: Scene, alert: Alert) -> int | None:
    """A reading in range came before anybody was woken: it waits until the next one is missed."""
    cold = look(scene, alert.subject.partition(" ")[2])
    if cold is None or alert.pushes or cold.bands[-1] != OK:
        return None
    due_us = due_of(scene, cold)
    until_us = None if due_us is None else due_us + round(scene.limits.cold_missed_minutes * MINUTE_US)
    return until_us if until_us is not None and until_us > scene.now_us else None


def _text(scene: Scene, cold: Cold, band: str) -> str:
    last = cold.last
    limit = scene.limits.cold_freezing_c if band == FREEZING else scene.limits.cold_limit_c
    key = "alert.cooler_freezing" if band == FREEZING else "alert.cooler_warm"
    return scene.word(
        key,
        cooler=cold.life.name,
        celsius=f"{last.celsius:g}",
        at=scene.clock(last.at_us),
        received=_received(scene, last),
        limit=f"{limit:.1f}",
        jars=jars_text(scene, cold),
        by=last.by,
    )


def text_now(scene: Scene, alert: Alert) -> str:
    """What an alert of a cooler says when it is told again: the newest reading."""
    cold = look(scene, alert.subject.partition(" ")[2])
    if cold is None:
        return words_of(scene, alert)
    band = cold.bands[-1]
    if band not in (OK, COOLING):
        return to_take(scene, alert.subject, _text(scene, cold, band))
    at, value = scene.clock(cold.last.at_us), f"{cold.last.celsius:g}"
    shown = {"cooler": cold.life.name, "celsius": value, "at": at, "jars": jars_text(scene, cold)}
    return to_take(scene, alert.subject, scene.word("alert.cooler_once", **shown))


def _received(scene: Scene, last: Reading) -> str:
    """A reading told later than it was taken says both."""
    if last.received_us - last.at_us < scene.limits.due_late_minutes * MINUTE_US:
        return ""
    return scene.word("watch.received", at=scene.clock(last.received_us))


def end_excursion(scene: Scene, cold: Cold) -> None:
    """A second reading in range running ends it; its owner hears the bounds, nothing between is made up."""
    judged = [band for band in cold.bands if band != COOLING]
    if judged[-2:] != [OK, OK]:
        return
    for kind in (WARM, FROZEN):
        alert = scene.open_alert(kind, cold.subject)
        if alert is not None:
            close(scene, alert, _bounds_text(scene, cold))


def _bounds_text(scene: Scene, cold: Cold) -> str:
    run = cold.runs[-1]
    most = run.at_most_us
    return scene.word(
        "alert.cooler_in_range",
        cooler=cold.life.name,
        celsius=f"{cold.last.celsius:g}",
        at=scene.clock(cold.last.at_us),
        least=minutes_text(scene, run.at_least_us),
        most=scene.word("watch.unknown") if most is None else minutes_text(scene, most),
        peak=f"{run.peak_celsius:g}",
    )


def hear_emptied(scene: Scene, draft: Draft) -> None:
    """The last jar has left a cooler: what was told of it is over, and its jars carry what was read."""
    body = draft.body
    if isinstance(body, JarsMoved):
        left = set(body.out_of)
    elif isinstance(body, CustodyReceived):
        jars = [scene.sample(id_) for id_ in body.about]
        left = {cooler for jar in jars if (cooler := jar.text("cooler")) is not None}
    else:
        return
    for cooler in sorted(left):
        called = [one for one in _called(scene, cooler) if not _is_of_empty(one)]
        if called and not look_unread(scene, cooler).jars:
            first, *rest = sorted(called, key=lambda one: -len(one.pushes))  # told once, to most who heard
            close(scene, first, scene.word("watch.emptied", subject=first.subject))
            for alert in rest:
                close(scene, alert, None, "no jar is in it any more")
