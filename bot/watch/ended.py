"""Alerts that end by their own condition: a seal replaced, a stranger enrolled, a plan without a gap."""

from __future__ import annotations

from ..model.alert import Alert
from ..model.entries import AddressesEnrolled, DifferenceAnswered, DoneSaid, Draft, Resealed
from ..model.sample import Sample
from ..rules.plan import matrix_of
from .ladder import close
from .scene import Scene

SEAL_BROKEN, PLAN_GAP, STRANGER = "seal_broken", "plan_gap", "stranger_in_case"


def hear_seal(scene: Scene, draft: Draft) -> None:
    """A new seal stands beside the broken one and nothing waits for an answer: what was called is over."""
    if not isinstance(draft.body, Resealed | DifferenceAnswered):
        return
    for jar in (scene.sample(id_) for id_ in draft.body.about):
        new = None if jar.custody is None else jar.custody.reseal
        alert = scene.open_alert(SEAL_BROKEN, f"jar {jar.case} {jar.number}")
        if alert is not None and new is not None and not _waits(jar):
            close(scene, alert, scene.word("watch.resealed", number=jar.number, seal=new, by=draft.author))


def _waits(jar: Sample) -> bool:
    """The giver has not answered yet what the receiver read."""
    return jar.offer is not None and jar.offer.differs and not jar.offer.answered


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
    if case is None or scene.plan is None:
        return False
    if matrix_of(case.plan, scene.jars_of(case.name), scene.plan, scene.limits).missing:
        return False
    _close_gap(scene, alert)
    return True


def _close_gap(scene: Scene, alert: Alert) -> None:
    close(scene, alert, scene.word("watch.gap_taken", case=alert.subject))
