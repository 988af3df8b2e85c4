"""Send by: a day before the last collection that reaches the laboratory before a holding time ends."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.due import Due
from ..model.sample import Sample
from ..model.times import DAY_US
from ..rules.holding import HoldingTable, Running, holding
from ..rules.numbers import ranges
from ..rules.sending import send_by_us
from .custody import exercise_of
from .scene import Scene

SEND_BY = "send_by"
UNDER_WAY = ("courier", "laboratory", "disposal")  # transfers after which it is too late to remind


@dataclass(frozen=True)
class Sending:
    """A jar that waits here, the leg that ends first, and its last collection in time, us UTC."""

    jar: Sample
    leg: Running
    by_us: int


def await_sending(scene: Scene, jar: Sample) -> None:
    """The case's reminder is due a day before; jars that go by the same collection share it."""
    found = None if scene.holding is None else _sending(scene, jar, scene.holding)
    if found is not None and found.by_us > scene.now_us:
        scene.file(SEND_BY, jar.case, max(found.by_us - DAY_US, scene.now_us + 1))


def _sending(scene: Scene, jar: Sample, table: HoldingTable) -> Sending | None:
    """None where no clock runs on it, it is under way, or the unit told of no laboratory."""
    laboratory = scene.unit.laboratory
    gone = jar.custody is not None and jar.custody.type in UNDER_WAY
    if laboratory is None or gone or jar.struck is not None or jar.instant("arrived_at") is not None:
        return None
    legs = [leg for leg in holding(jar, table, scene.limits, scene.now_us) if leg.state == "running"]
    first = min(legs, key=lambda leg: leg.due_us or 0, default=None)
    by_us = None if first is None else send_by_us(laboratory, first.due_us or 0, scene.zone)
    return None if first is None or by_us is None else Sending(jar, first, by_us)


def remind_to_send(scene: Scene, due: Due) -> None:
    """Each holder hears which of their jars go by that collection; those under way are left out."""
    if scene.holding is None:
        return
    groups: dict[tuple[str, str, int, int], list[Sample]] = {}
    for jar in scene.jars_of(due.subject):
        found = _sending(scene, jar, scene.holding)
        if found is not None and found.by_us - DAY_US <= due.due_us <= found.by_us:
            key = (jar.holder, found.leg.clock.rule, found.leg.due_us or 0, found.by_us)
            groups.setdefault(key, []).append(jar)
    for (holder, rule, ends_us, by_us), jars in sorted(groups.items()):
        text = scene.word(
            "watch.send_by",
            numbers=ranges(jar.number for jar in jars),
            case=due.subject,
            rule=rule,
            at=scene.clock(ends_us),
            sent=scene.clock(by_us),
        )
        scene.remind(SEND_BY, f"case {due.subject}", (holder,), text, exercise=exercise_of(scene, jars))
