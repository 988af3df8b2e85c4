"""The first reading of a cooler with jars in it: asked of who holds them, then told on."""

from __future__ import annotations

from ..model.due import Due
from ..model.entries import Body, Draft, JarsMoved, SampleTold
from ..model.times import MINUTE_US
from ..rules.cold import COOLING, OK
from .cold import FROZEN, READING_OVERDUE, WARM, Cold, exercise_in, jars_text, look_unread
from .ladder import raise_alert
from .readings import due_of
from .scene import Scene
from .warm import out_of_range

READING_FIRST = "reading_first"
READING_FIRST_LATE = "reading_first_late"
TOGETHER_US = 10 * MINUTE_US  # jars that go in within so long are asked for once


def hear_put_in(scene: Scene, draft: Draft) -> None:
    """A jar went into a cooler and nobody said what that reads: it is looked whether anybody does."""
    cooler = _put_into(draft.body)
    if isinstance(cooler, str):
        asked_us = scene.now_us + round(scene.limits.cold_reread_minutes * MINUTE_US)
        scene.file(READING_FIRST, cooler, -(-asked_us // TOGETHER_US) * TOGETHER_US)


def _put_into(body: Body) -> object:
    if isinstance(body, JarsMoved):
        return body.into
    told = {fact.field: fact.value for fact in body.facts} if isinstance(body, SampleTold) else {}
    return None if "cooler_celsius" in told else told.get("cooler")


def ask_first(scene: Scene, due: Due) -> None:
    """Whoever holds its jars is asked for a reading, where there is none to go by; later it is told on."""
    cold = _unread(scene, due)
    if cold is None or not _is_first(scene, cold, due):
        return
    if cold.life.readings and cold.bands[-1] not in (OK, COOLING):
        out_of_range(scene, cold, cold.bands[-1])
    text = scene.word("watch.reading_first", cooler=cold.life.name, jars=jars_text(scene, cold))
    holders = (jar.holder for jar in cold.jars)
    scene.remind(READING_OVERDUE, cold.subject, holders, text, exercise=exercise_in(scene, cold))
    scene.file(
        READING_FIRST_LATE,
        cold.life.name,
        due.due_us + round(scene.limits.reading_overdue_minutes * MINUTE_US),
    )


def _is_first(scene: Scene, cold: Cold, due: Due) -> bool:
    """Of all rows since it was last read only the first asks, however many jars followed."""
    since_us = cold.last.received_us if cold.life.readings else 0
    told = (jar.facts["cooler"].received_us for jar in cold.jars if "cooler" in jar.facts)
    first_us = min((us for us in told if us > since_us), default=0)
    return due.due_us - first_us < round(scene.limits.cold_reread_minutes * MINUTE_US) + TOGETHER_US


def raise_never_read(scene: Scene, due: Due) -> None:
    """Jars are in a cooler that nobody read since they went in: told on, once."""
    cold = _unread(scene, due)
    if cold is None or any(scene.open_alert(kind, cold.subject) for kind in (WARM, FROZEN)):
        return
    text = scene.word(
        "alert.reading_first",
        cooler=cold.life.name,
        jars=jars_text(scene, cold),
        by=" ".join(dict.fromkeys(jar.holder for jar in cold.jars)),
    )
    cause = f"in {cold.life.stays[-1].from_us}"
    raise_alert(
        scene, READING_OVERDUE, cold.subject, text, cause=cause, cases=cold.cases, numbers=cold.numbers
    )


def _unread(scene: Scene, due: Due) -> Cold | None:
    """The cooler, where it holds jars and was never read, or read last out of range or too long ago."""
    cold = look_unread(scene, due.subject)
    if not cold.jars:
        return None
    if not cold.life.readings:
        return cold
    next_us = due_of(scene, cold)
    came_us = min(s.from_us for s in cold.life.stays if s.sample in {jar.id for jar in cold.jars})
    return cold if cold.last.at_us < came_us and next_us is not None and next_us < scene.now_us else None
