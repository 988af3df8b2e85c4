"""Hand-overs that wait, and jars that nobody put into the cold."""

from __future__ import annotations

from ..model.alert import Alert
from ..model.due import Due
from ..model.entries import (
    CustodyOffered,
    Draft,
    JarsMoved,
    SampleTold,
)
from ..model.sample import Sample
from ..model.times import MINUTE_US
from .ladder import close, raise_alert
from .scene import Scene

PENDING = "custody_pending"
PENDING_LONG = "custody_pending_long"
NOT_IN_COLD = "not_in_cold"
FRESH_MINUTES = 5  # a jar told late gets so long before it is asked for


def hear_offer(scene: Scene, draft: Draft) -> None:
    """Both sides are reminded where the hand-over waits, and it is told on where it waits long."""
    body = draft.body
    if isinstance(body, CustodyOffered):
        subject = " ".join((body.offer, *body.samples))
        scene.file(PENDING, subject, draft.received_us + _us(scene.limits.pending_minutes))
        scene.file(PENDING_LONG, subject, draft.received_us + _us(scene.limits.pending_told_minutes))


def _us(minutes: float) -> int:
    return round(minutes * MINUTE_US)


def remind_both(scene: Scene, due: Due) -> None:
    """Who offers and who receives are told which jars wait between them."""
    jars = _pending(scene, due)
    if not jars or jars[0].offer is None:
        return
    offer, numbers = jars[0].offer, numbers_of(scene, jars)
    subject, drill = _called(jars), exercise_of(scene, jars)
    to_giver = scene.word("watch.pending.giver", numbers=numbers, to=offer.to)
    to_receiver = scene.word("watch.pending.receiver", numbers=numbers, giver=offer.by, first=jars[0].number)
    scene.remind(PENDING, subject, (offer.by,), to_giver, exercise=drill)
    scene.remind(PENDING, subject, (offer.to,), to_receiver, exercise=drill)


def raise_pending(scene: Scene, due: Due) -> None:
    """A hand-over that waits long is told on; `cause` is the offer, so that each is told on once."""
    jars = _pending(scene, due)
    if not jars or jars[0].offer is None:
        return
    offer = jars[0].offer
    minutes = (scene.now_us - offer.received_us) // MINUTE_US
    text = scene.word(
        "watch.pending",
        numbers=numbers_of(scene, jars),
        giver=offer.by,
        to=offer.to,
        minutes=minutes,
    )
    numbers = [jar.number for jar in jars]
    raise_alert(scene, PENDING, _called(jars), text, cause=offer.id, cases=(jars[0].case,), numbers=numbers)


def hear_moved(scene: Scene, draft: Draft) -> None:
    """What the hand-over of these jars called somebody for is over once none of them waits."""
    for alert in scene.alerts(("alerts_open",)):
        if alert.kind == PENDING and alert.cause == getattr(draft.body, "offer", None):
            waiting = [number for number in alert.numbers if _waits(scene, alert, number)]
            if not waiting:
                numbers = scene.jars_said(alert.cases[0], *alert.numbers)
                close(scene, alert, scene.word("watch.pending.over", numbers=numbers))


def _waits(scene: Scene, alert: Alert, number: str) -> bool:
    case = alert.cases[0]
    found = scene.find(("number", case, str(int(number)) if number.isdigit() else number.upper()))
    return any(jar.offer is not None and jar.offer.id == alert.cause for jar in found)


def _pending(scene: Scene, due: Due) -> list[Sample]:
    offer, *ids = due.subject.split()
    jars = [scene.sample(id_) for id_ in ids]
    return [jar for jar in jars if jar.offer is not None and jar.offer.id == offer and jar.struck is None]


def _called(jars: list[Sample]) -> str:
    return f"hand-over {jars[0].case} {jars[0].number}"


def numbers_of(scene: Scene, jars: list[Sample]) -> str:
    """The numbers of these jars of one case, as on their lids."""
    return scene.jars_said(jars[0].case, *(jar.number for jar in jars))


def exercise_of(scene: Scene, jars: list[Sample]) -> bool:
    """True where all of these jars are of exercises."""
    cases = [scene.case(jar.case) for jar in jars]
    return bool(cases) and all(case is not None and case.exercise for case in cases)


def hear_told(scene: Scene, draft: Draft) -> None:
    """A jar whose time was told and no cooler is asked after, in a while."""
    body = draft.body
    if not isinstance(body, SampleTold) or not any(fact.field == "time" for fact in body.facts):
        return
    jar = scene.sample(body.sample or "")
    if "cooler" in jar.facts or jar.event_us is None:
        return
    after_us = jar.event_us + _us(scene.limits.not_in_cold_minutes)
    scene.file(NOT_IN_COLD, jar.id, max(after_us, draft.received_us + _us(FRESH_MINUTES)))


def hear_taken_out(scene: Scene, draft: Draft) -> None:
    """Jars came out of a cooler and went into none: they are asked after, in a while."""
    body = draft.body
    for id_ in body.about if isinstance(body, JarsMoved) and body.into is None else ():
        scene.file(NOT_IN_COLD, id_, scene.now_us + _us(scene.limits.not_in_cold_minutes))


def remind_of_cold(scene: Scene, due: Due) -> None:
    """Its holder hears which jar is not yet in the cold; not where it is by now, or was struck."""
    jar = scene.sample(due.subject)
    if jar.struck is not None or "cooler" in jar.facts or jar.event_us is None:
        return
    number = scene.jars_said(jar.case, jar.number)
    text = scene.word("watch.not_in_cold", number=number, at=scene.clock(jar.event_us))
    subject = f"jar {jar.case} {jar.number}"
    scene.remind(NOT_IN_COLD, subject, (jar.holder,), text, exercise=exercise_of(scene, [jar]))
