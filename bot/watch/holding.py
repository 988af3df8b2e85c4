"""Holding times that run out: the holder is reminded at half, a day and hours before; past is told on."""

from __future__ import annotations

from ..model.due import Due
from ..model.entries import Draft, SampleCorrected, SampleTold
from ..model.sample import Sample
from ..rules.holding import Notice, holding, next_warning, warnings_of
from .custody import exercise_of
from .ladder import close, raise_alert, worsen
from .scene import Scene
from .send import await_sending

HOLDING = "holding_time"
ENDS = ("leached_at", "extracted_at", "analysed_at", "holding")  # what may end a figure, or change it
MOVES = ("holding", "time", "matrix", "arrived_at", "leached_at", "extracted_at", "analysed_at")


def await_holding(scene: Scene, jar: Sample) -> None:
    """The jar's next warning is due; nothing where no clock runs on it."""
    table = scene.holding
    coming = None if table is None else next_warning(jar, table, scene.limits, scene.now_us)
    if coming is not None:
        scene.file(HOLDING, jar.id, coming.at_us)


def hear_holding(scene: Scene, draft: Draft) -> None:
    """What was told of a jar may start a clock, or move one."""
    body = draft.body
    told = (
        body.facts
        if isinstance(body, SampleTold)
        else (body.fact,)
        if isinstance(body, SampleCorrected)
        else ()
    )
    if any(fact.field in MOVES for fact in told):
        jar = scene.sample(draft.body.about[0])
        _end(scene, jar)
        await_holding(scene, jar)
        await_sending(scene, jar)


def _end(scene: Scene, jar: Sample) -> None:
    """What was told of a figure is over once nothing of the jar runs out or waits past it any more."""
    table, subject = scene.holding, f"jar {jar.case} {jar.number}"
    if table is None or all(fact not in jar.facts for fact in ENDS):
        return
    legs = holding(jar, table, scene.limits, scene.now_us)
    alert = scene.open_alert(HOLDING, subject)
    if alert is not None and not any(str(leg.due_us) in alert.cause and leg.done_us is None for leg in legs):
        number = scene.jars_said(jar.case, jar.number)
        close(scene, alert, scene.word("watch.holding.over", number=number))


def warn_of_holding(scene: Scene, due: Due) -> None:
    """The warning that is due is given, once, and the next one waits."""
    jar = scene.sample(due.subject)
    table = scene.holding
    if jar.struck is not None or table is None:
        return
    running = holding(jar, table, scene.limits, scene.now_us)
    for notice in warnings_of(jar, running, scene.limits):
        if notice.at_us == due.due_us:
            _warn(scene, jar, notice)
    await_holding(scene, jar)


def _warn(scene: Scene, jar: Sample, notice: Notice) -> None:
    leg = notice.running
    number, at = scene.jars_said(jar.case, jar.number), scene.clock(leg.due_us or notice.at_us)
    shown = {"number": number, "rule": leg.clock.rule, "at": at}
    subject = f"jar {jar.case} {jar.number}"
    text = scene.word(f"watch.holding.{notice.sort}", **shown)
    if notice.sort in ("hours", "past"):
        cause = f"{notice.sort} {leg.due_us}"
        alert = scene.open_alert(HOLDING, subject)
        if alert is not None:
            worsen(scene, alert, text, alert.rank + 1)
        raise_alert(scene, HOLDING, subject, text, cause=cause, cases=(jar.case,), numbers=(jar.number,))
    if notice.sort != "past":
        scene.remind(HOLDING, subject, (jar.holder,), text, exercise=exercise_of(scene, [jar]))
