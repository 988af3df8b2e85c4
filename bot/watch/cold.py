"""Coolers: warm or freezing, a reading that is due, missed, overdue; one alert a cooler, never one a jar."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.alert import Alert, handle_of
from ..model.cold import Life, Reading, key_of
from ..model.due import COLD_WINDOW, Due
from ..model.entries import CoolerRead, Draft
from ..model.sample import Sample
from ..model.times import HOUR_US, MINUTE_US
from ..rules.alerts import after_quiet, is_quiet
from ..rules.cold import (
    COOLING,
    FREEZING,
    OK,
    OVER,
    Excursion,
    band,
    bands,
    excursions,
    is_fridge,
    next_reading_due_us,
    water_in,
)
from ..rules.numbers import ranges
from .ladder import close, raise_alert, words_of, worsen
from .scene import Scene

READING_DUE = "reading_due"
READING_MISSED = "reading_missed"
READING_OVERDUE = "reading_overdue"
WARM, FROZEN, WINDOW = "cooler_warm", "cooler_freezing", COLD_WINDOW


@dataclass(frozen=True)
class Cold:
    """A cooler as it stands: its life, the band of each reading, the jars in it now."""

    life: Life
    bands: tuple[str, ...]
    runs: tuple[Excursion, ...]
    jars: tuple[Sample, ...]

    @property
    def subject(self) -> str:
        """What its alerts are about."""
        return f"cooler {self.life.name}"

    @property
    def last(self) -> Reading:
        """The newest reading."""
        return self.life.readings[-1]

    @property
    def cases(self) -> tuple[str, ...]:
        """The cases of the jars in it."""
        return tuple(sorted({jar.case for jar in self.jars}))

    @property
    def numbers(self) -> tuple[str, ...]:
        """The numbers on the lids of the jars in it."""
        return tuple(sorted(jar.number for jar in self.jars))


def look(scene: Scene, cooler: str) -> Cold | None:
    """The cooler as it stands, None where it was never read."""
    life = scene.life(cooler)
    if not life.readings:
        return None
    inside = dict.fromkeys(life.inside(scene.now_us))
    frozen = (r for r in life.readings if r.celsius <= scene.limits.cold_freezing_c)
    held = dict.fromkeys(id_ for reading in frozen for id_ in life.inside(reading.at_us))
    known = {jar.id: jar for jar in scene.jars((*inside, *held))}
    jars = tuple(known[id_] for id_ in inside if is_still_in(known[id_], life.name))
    water = water_in(life, known)
    return Cold(life, bands(life, scene.limits, water), excursions(life, scene.limits, water), jars)


def is_still_in(jar: Sample, cooler: str) -> bool:
    """Not where it was struck, or was handed over into another place since."""
    place = None if jar.custody is None else jar.custody.place
    return jar.struck is None and (place is None or key_of(place).removeprefix("COOLER ") == key_of(cooler))


def hear_reading(scene: Scene, draft: Draft) -> None:
    """What the newest reading says is followed; one told late only stands in the record."""
    body = draft.body
    if not isinstance(body, CoolerRead):
        return
    lately = scene.last_readings(body.cooler)
    if body.at_us < lately[-1][0]:
        return
    if _all_is_well(scene, body.cooler, lately):
        file_awaited(scene, body.cooler, _by_day(scene, body.at_us + _every(scene, body.cooler)))
        return
    cold = look(scene, body.cooler)
    if cold is None:
        return
    _end_overdue(scene, cold)
    band = cold.bands[-1]
    if band == OK:
        end_excursion(scene, cold)
    elif band != COOLING:
        _out_of_range(scene, cold, band)
    await_reading(scene, cold)


def _all_is_well(scene: Scene, cooler: str, lately: list[tuple[int, float]]) -> bool:
    """In range again and again, and no alert of it waits: what most readings say, without its whole life."""
    in_range = all(band(celsius, scene.limits) == OK for _, celsius in lately[-2:])
    kinds = (WARM, FROZEN, WINDOW, READING_OVERDUE)
    handle = handle_of(cooler)
    return in_range and not any(a.kind in kinds for a in scene.alerts(("alerts_called", handle)))


def _out_of_range(scene: Scene, cold: Cold, band: str) -> None:
    """One alert an excursion. By night its ladder waits until it is confirmed, over, or not answered."""
    window = scene.open_alert(WINDOW, cold.subject)
    if window is not None:
        close(scene, window, None, "a reading is out of range")
    run = cold.runs[-1]
    kind = FROZEN if band == FREEZING else WARM
    rank = 2 if band == OVER else 1
    sure = rank > 1 or len(run.readings) > 1 or not is_quiet(scene.now_us, scene.unit.watch, scene.zone)
    first_us = None if sure else scene.now_us + scene.unit.watch.ladder_minutes * MINUTE_US
    alert = scene.open_alert(kind, cold.subject)
    if alert is None:
        raise_alert(
            scene,
            kind,
            cold.subject,
            _text(scene, cold, band),
            cause=f"since {run.first_out_us}{struck_since(cold, run.first_out_us)}",
            cases=cold.cases,
            numbers=cold.numbers,
            rank=rank,
            first_us=first_us,
        )
    elif rank > alert.rank or (sure and not alert.pushes):
        worsen(scene, alert, _text(scene, cold, band), rank)


def struck_since(cold: Cold, since_us: int) -> str:
    """Makes a cause another one where readings since then were struck: what they ended may begin anew."""
    count = sum(1 for one in cold.life.corrected if not one.beside and one.at_us >= since_us)
    return f", {count} struck" if count else ""


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
        return _text(scene, cold, band)
    at, value = scene.clock(cold.last.at_us), f"{cold.last.celsius:g}"
    shown = {"cooler": cold.life.name, "celsius": value, "at": at, "jars": jars_text(scene, cold)}
    return scene.word("alert.cooler_once", **shown)


def _received(scene: Scene, last: Reading) -> str:
    """A reading told later than it was taken says both."""
    if last.received_us - last.at_us < scene.limits.due_late_minutes * MINUTE_US:
        return ""
    return scene.word("watch.received", at=scene.clock(last.received_us))


def jars_text(scene: Scene, cold: Cold) -> str:
    """The jars in it by their numbers, each case with its own."""
    if not cold.jars:
        return scene.word("watch.no_jars")
    of_case = {case: ranges(j.number for j in cold.jars if j.case == case) for case in cold.cases}
    if len(of_case) == 1:
        return scene.word("watch.jars", numbers=next(iter(of_case.values())))
    return scene.word("watch.jars", numbers=", ".join(f"{case} {said}" for case, said in of_case.items()))


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


def minutes_text(scene: Scene, us: int) -> str:
    """Like 55 min or 5 h 02."""
    hours, minutes = divmod(us // MINUTE_US, 60)
    key = "watch.hours" if hours else "watch.minutes"
    return scene.word(key, hours=hours, minutes=f"{minutes:02}" if hours else minutes)


# --- the next reading -------------------------------------------------------------------------------


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
    due_us = next_reading_due_us(cold.life, scene.limits, fridge=fridge)
    return due_us if due_us is None or cold.bands[-1] != OK else _by_day(scene, due_us)


def _is_fridge(scene: Scene, cooler: str) -> bool:
    set_up = scene.unit.coolers.get(cooler)
    return set_up is not None and is_fridge(set_up.cooler_class)


def _every(scene: Scene, cooler: str) -> int:
    """How long after one in range the next reading is due, in microseconds: a fridge is read less often."""
    limits = scene.limits
    hours = limits.fridge_reading_hours if _is_fridge(scene, cooler) else limits.cold_reading_hours
    return int(hours * HOUR_US)


def _by_day(scene: Scene, due_us: int) -> int:
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
    text = scene.word(
        "alert.reading_overdue", text=_missed_text(scene, cold), cooler=cold.life.name, by=cold.last.by
    )
    cause = f"after {cold.last.at_us}{struck_since(cold, cold.last.at_us)}"
    raise_alert(
        scene, READING_OVERDUE, cold.subject, text, cause=cause, cases=cold.cases, numbers=cold.numbers
    )


def _missed_text(scene: Scene, cold: Cold) -> str:
    at = scene.clock(cold.last.at_us)
    return scene.word("watch.reading_missed", cooler=cold.life.name, at=at, count=len(cold.jars))


def _end_overdue(scene: Scene, cold: Cold) -> None:
    alert: Alert | None = scene.open_alert(READING_OVERDUE, cold.subject)
    if alert is not None:
        at, value = scene.clock(cold.last.at_us), f"{cold.last.celsius:g}"
        close(scene, alert, scene.word("watch.reading_came", cooler=cold.life.name, celsius=value, at=at))


def exercise_in(scene: Scene, cold: Cold) -> bool:
    """True where all jars in it are of exercises."""
    cases = [scene.case(name) for name in cold.cases]
    return bool(cases) and all(case is not None and case.exercise for case in cases)
