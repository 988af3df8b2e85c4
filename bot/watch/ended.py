"""Alerts that end by their own condition: a stranger enrolled, a plan without a gap, a jar struck."""

from __future__ import annotations

from collections.abc import Callable

from ..model.alert import Alert
from ..model.case import Case
from ..model.due import Due
from ..model.entries import (
    AddressesEnrolled,
    AlertRaised,
    DoneSaid,
    Draft,
    GapExplained,
    PersonBack,
    SampleStruck,
)
from ..model.sample import Sample
from ..model.times import DAY_US, HOUR_US
from ..rules.plan import Matrix, matrix_of
from .ladder import close
from .people import SILENT, has_answered
from .scene import Scene
from .seals import SEAL_BROKEN, SEAL_MISMATCH

PLAN_GAP, STRANGER, REFUSAL = "plan_gap", "stranger_in_case", "refusal"
CUSTODY_GAP, ENTRY_STOP = "custody_gap", "entry_stop"
JAR_KINDS = (SEAL_BROKEN, SEAL_MISMATCH, CUSTODY_GAP, "holding_time")


def hear_struck(scene: Scene, draft: Draft) -> None:
    """A jar is off the count: nothing is left to do for what was called about it."""
    if isinstance(draft.body, SampleStruck):
        jar = scene.sample(draft.body.about[0])
        number = scene.jars_said(jar.case, jar.number)
        _end_of_jar(scene, jar, JAR_KINDS, scene.word("watch.jar_struck", number=number))


def hear_explained(scene: Scene, draft: Draft) -> None:
    """A person explained the minutes that a hand-over left open; they stay on record as a gap."""
    for id_ in draft.body.about if isinstance(draft.body, GapExplained) else ():
        jar = scene.sample(id_)
        number = scene.jars_said(jar.case, jar.number)
        _end_of_jar(scene, jar, (CUSTODY_GAP,), scene.word("watch.gap_explained", number=number))


def _end_of_jar(scene: Scene, jar: Sample, kinds: tuple[str, ...], text: str) -> None:
    for kind in kinds:
        alert = scene.open_alert(kind, f"jar {jar.case} {jar.number}")
        if alert is not None:
            close(scene, alert, text)


def hear_out_of_danger(scene: Scene, draft: Draft) -> None:
    """Who texted of going in says that they are back."""
    if isinstance(draft.body, PersonBack):
        alert = scene.open_alert(ENTRY_STOP, draft.author)
        if alert is not None:
            at = scene.clock(draft.said_us)
            close(scene, alert, scene.word("watch.back", person=draft.author, at=at))


def hear_enrolled(scene: Scene, draft: Draft) -> None:
    """Who wrote as a stranger is enrolled: what was told of their texts is over."""
    body = draft.body
    if not isinstance(body, AddressesEnrolled):
        return
    for alert in scene.alerts(("alert_of", STRANGER, "strangers")):
        if alert.is_open and alert.cause in body.addresses:
            close(scene, alert, scene.word("watch.enrolled", name=body.name))


def hear_done(scene: Scene, draft: Draft) -> None:
    """DONE was said and nothing is missing: the gap that was told is over."""
    if isinstance(draft.body, DoneSaid) and not draft.body.missing:
        for alert in scene.alerts(("alert_of", PLAN_GAP, draft.chain)):
            if alert.is_open:
                _close_gap(scene, alert)


def has_no_gap(scene: Scene, alert: Alert) -> bool:
    """True where the plan lacks nothing by now, DONE said again or not; the alert is closed then."""
    case = scene.case(alert.subject)
    if case is None:
        return _end_with_case(scene, alert, alert.subject)
    if scene.plan is None or _matrix(scene, case).missing:
        return False
    _close_gap(scene, alert)
    return True


def was_taken(scene: Scene, alert: Alert) -> bool:
    """True where what was refused was taken after all, or cannot be any more; the alert is closed then."""
    case = scene.case(alert.incident)
    if case is None:
        return _end_with_case(scene, alert, alert.incident)
    if scene.plan is None:
        return False
    refused = [one for one in _matrix(scene, case).lines if alert.subject in (one.what, one.suspect)]
    gone = case.plan.suspects.get(alert.subject)
    if refused and all(one.taken for one in refused):
        numbers = scene.jars_said(case.name, *(number for one in refused for number in one.taken))
        close(scene, alert, scene.word("watch.refusal.taken", name=alert.subject, numbers=numbers))
    elif gone is not None and gone.left is not None:
        close(scene, alert, scene.word("watch.refusal.left", name=alert.subject))
    else:
        return False
    return True


def stood_a_day(scene: Scene, alert: Alert) -> bool:
    """True where a stranger who said nothing of the crew stood in a day's digest; it is closed then."""
    if alert.level != "digest" or scene.now_us - alert.raised_us < DAY_US:
        return False
    close(scene, alert, None, "it stood in a day's digest")
    return True


def _matrix(scene: Scene, case: Case) -> Matrix:
    assert scene.plan is not None  # noqa: S101 - the caller looked
    return matrix_of(case.plan, scene.jars_of(case.name), scene.plan, scene.limits)


def _end_with_case(scene: Scene, alert: Alert, case: str) -> bool:
    """A closed case wants no jar any more; an alert of none or of several is let stand."""
    if not case:
        return False
    close(scene, alert, scene.word("watch.case_closed", case=case))
    return True


def _close_gap(scene: Scene, alert: Alert) -> None:
    close(scene, alert, scene.word("watch.gap_taken", case=alert.subject))


# --- what no entry ends -------------------------------------------------------------------------------

OVER_LOOK = "alert_over"
LOOK_US = HOUR_US
# What ends an alert of a kind where no entry tells of it: a function that closes it.
OVER: dict[str, Callable[[Scene, Alert], bool]] = {
    SILENT: has_answered,
    PLAN_GAP: has_no_gap,
    REFUSAL: was_taken,
    STRANGER: stood_a_day,
}


def await_end(scene: Scene, draft: Draft) -> None:
    """An alert of such a kind is looked at every hour, whatever rung its ladder stands on."""
    body = draft.body
    if not isinstance(body, AlertRaised) or body.alert_kind not in OVER:
        return
    if body.alert_kind != STRANGER or body.level == "digest":
        scene.file(OVER_LOOK, body.alert, scene.now_us + LOOK_US)


def look_again(scene: Scene, due: Due) -> None:
    """It is closed where it is over; else it is looked at again."""
    alert = scene.alert(due.subject)
    if alert is not None and alert.is_open and not OVER[alert.kind](scene, alert):
        scene.file(OVER_LOOK, alert.id, due.due_us + LOOK_US)
