"""The cold window: told while jars are still cold, when the forecast's early bound comes before a look."""

from __future__ import annotations

from ..model.due import Due
from ..model.entries import Draft
from ..model.sample import Sample
from ..model.times import HOUR_US, MINUTE_US
from ..rules.cold import OK
from ..rules.forecast.grade import early_bound_us
from ..rules.sending import taken_in_us, trips
from .cold import FROZEN, WARM, WINDOW, Cold, exercise_in, jars_text, look, struck_since
from .ladder import close, raise_alert
from .readings import due_of
from .scene import Scene

COURIER = "courier"  # a type of hand-over
ICE = "ice_due"
ICE_AHEAD_US = HOUR_US  # its reminder comes so long before
ICE_MINUTES = 10  # ice is asked for so long before the bound, by the clock's full ten minutes


def weigh_window(scene: Scene, due: Due) -> None:
    """Where one draw in ten is warm before a look is told for, holder and ladder hear it; else it is over."""
    cold = look(scene, due.subject)
    if cold is None or not cold.jars or cold.bands[-1] != OK:
        return
    alert = scene.open_alert(WINDOW, cold.subject)
    bound_us = early_bound_us(cold.life, scene.now_us)
    looks = [] if bound_us is None else [one for one in _looks(scene, cold) if one[0] > bound_us]
    if bound_us is not None:
        _await_ice(scene, cold.life.name, bound_us)
    if bound_us is None or not looks:
        if alert is not None:
            close(scene, alert, scene.word("alert.cold_window.over", cooler=cold.life.name))
        return
    if alert is not None or any(scene.open_alert(kind, cold.subject) for kind in (WARM, FROZEN)):
        return
    text = _text(scene, cold, bound_us, min(looks, key=lambda one: one[0]))
    scene.remind(WINDOW, cold.subject, (cold.last.by,), text, exercise=exercise_in(scene, cold))
    text = scene.word("alert.cold_window", text=text, jars=jars_text(scene, cold))
    cause = f"after {cold.last.at_us}{struck_since(cold, cold.last.at_us)}"
    raise_alert(scene, WINDOW, cold.subject, text, cause=cause, cases=cold.cases, numbers=cold.numbers)


def _looks(scene: Scene, cold: Cold) -> list[tuple[int, str, str]]:
    """(instant, wording, to whom): the next reading; of jars on their way, collection or arrival."""
    next_us = due_of(scene, cold)
    found = [] if next_us is None else [(next_us, "text", "")]
    ways = {_way(scene, jar) for jar in cold.jars}
    return found + sorted(way for way in ways if way is not None and way[0] > scene.now_us)


def _way(scene: Scene, jar: Sample) -> tuple[int, str, str] | None:
    """By the hours that the unit told of courier and laboratory; None where it told none."""
    laboratory, custody = scene.unit.laboratory, jar.custody
    if laboratory is None or custody is None or jar.instant("arrived_at") is not None:
        return None
    if jar.offer is not None and jar.offer.type == COURIER:
        trip = next(trips(laboratory, scene.now_us, scene.zone), None)
        return None if trip is None else (trip.collected_us, "hand_over", jar.offer.to)
    at_us = taken_in_us(laboratory, custody.since_us, scene.zone) if custody.type == COURIER else None
    return None if at_us is None else (at_us, "arrival", "")


def hear_moving(scene: Scene, draft: Draft) -> None:
    """What is offered to a courier, or taken by one, is held against the forecasts that stand."""
    body = draft.body
    jars = [scene.sample(id_) for id_ in body.about] if scene.unit.laboratory is not None else []
    for name in {jar.text("cooler") for jar in jars if _way(scene, jar) is not None}:
        if name is not None:
            scene.file(WINDOW, name, scene.now_us + 1)


def remind_of_ice(scene: Scene, due: Due) -> None:
    """Who read it last hears by when ice is to be renewed, by the forecast that still stands."""
    cold = look(scene, due.subject)
    bound_us = None if cold is None or not cold.jars else early_bound_us(cold.life, scene.now_us)
    if cold is None or bound_us is None or _ice_us(bound_us) - ICE_AHEAD_US != due.due_us:
        return
    text = scene.word(
        "watch.ice",
        cooler=cold.life.name,
        ice=scene.clock(_ice_us(bound_us)),
        limit=f"{scene.limits.cold_limit_c:.1f}",
        by=scene.clock(bound_us),
        jars=jars_text(scene, cold),
    )
    scene.remind(ICE, cold.subject, (cold.last.by,), text, exercise=exercise_in(scene, cold))


def _await_ice(scene: Scene, cooler: str, bound_us: int) -> None:
    """Ice that is wanted sooner than an hour from now stands in what is told at once."""
    if _ice_us(bound_us) - ICE_AHEAD_US > scene.now_us:
        scene.file(ICE, cooler, _ice_us(bound_us) - ICE_AHEAD_US)


def _ice_us(bound_us: int) -> int:
    ten = ICE_MINUTES * MINUTE_US
    return (bound_us - 1) // ten * ten


def _text(scene: Scene, cold: Cold, bound_us: int, comes: tuple[int, str, str]) -> str:
    at_us, wording, to = comes
    shown = {
        "cooler": cold.life.name,
        "limit": f"{scene.limits.cold_limit_c:.1f}",
        "by": scene.clock(bound_us),
        "next": scene.clock(at_us),
        "ice": scene.clock(max(scene.now_us, _ice_us(bound_us))),
    }
    return scene.word(f"alert.cold_window.{wording}", **shown, **({"to": to} if to else {}))
