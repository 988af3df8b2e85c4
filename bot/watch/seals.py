"""Alerts of a jar's seal, or a box's, that end by their own condition."""

from __future__ import annotations

from collections.abc import Iterator

from ..model.alert import Alert
from ..model.entries import (
    ContainerOpened,
    ContainerSealed,
    CustodyReceived,
    CustodyRefused,
    DifferenceAnswered,
    Draft,
    OfferWithdrawn,
    Resealed,
    SampleCorrected,
    SealRead,
)
from ..model.sample import Sample
from .ladder import close
from .scene import Scene

SEAL_BROKEN, SEAL_MISMATCH = "seal_broken", "seal_mismatch"


def hear_seal(scene: Scene, draft: Draft) -> None:
    """A new seal stands beside the broken one and nothing waits for an answer: what was called is over."""
    if not isinstance(draft.body, Resealed | DifferenceAnswered):
        return
    for jar in (scene.sample(id_) for id_ in draft.body.about):
        new = None if jar.custody is None else jar.custody.reseal
        alert = scene.open_alert(SEAL_BROKEN, _subject(jar))
        if alert is not None and new is not None and not _waits(jar):
            number = scene.jars_said(jar.case, jar.number)
            close(scene, alert, scene.word("watch.resealed", number=number, seal=new, by=draft.author))


def hear_box(scene: Scene, draft: Draft) -> None:
    """A broken box was sealed anew, or opened so that each jar stands for itself: what was called is over."""
    body = draft.body
    if not isinstance(body, ContainerSealed | ContainerOpened):
        return
    case = scene.sample(body.about[0]).case
    for kind in (SEAL_BROKEN, SEAL_MISMATCH):
        alert = scene.open_alert(kind, f"{case} {body.container}")
        if alert is not None:
            key = "watch.box_opened" if isinstance(body, ContainerOpened) else "watch.box_sealed"
            close(scene, alert, scene.word(key, box=scene.jars_said(case, body.container), by=draft.author))


def hear_read_again(scene: Scene, draft: Draft) -> None:
    """A seal that was read otherwise is read as on record, or its author corrected the record."""
    body = draft.body
    agrees = isinstance(body, SealRead) and body.agrees is True and body.offer is None
    corrected = isinstance(body, SampleCorrected) and body.field == "seal"
    for id_ in body.about if agrees or corrected else ():
        jar = scene.sample(id_)
        if jar.offer is None:  # one that is offered moves first: the receiver reads it again
            key = "watch.read_again" if agrees else "watch.seal_corrected"
            text = scene.word(key, number=scene.jars_said(jar.case, jar.number), by=draft.author)
            for alert in _mismatches(scene, jar):
                close(scene, alert, text)


def hear_settled(scene: Scene, draft: Draft) -> None:
    """The hand-over in which a seal was read otherwise is over, taken or not."""
    body = draft.body
    if not isinstance(body, CustodyReceived | CustodyRefused | OfferWithdrawn):
        return
    key = "watch.moved" if isinstance(body, CustodyReceived) else "watch.not_moved"
    for jar in (scene.sample(id_) for id_ in body.about):
        for alert in _mismatches(scene, jar):
            close(scene, alert, scene.word(key, number=scene.jars_said(jar.case, jar.number), to=jar.holder))


def _mismatches(scene: Scene, jar: Sample) -> Iterator[Alert]:
    """The open ones of the jar, and of the box that it is in."""
    box = None if jar.custody is None else jar.custody.box
    for subject in (_subject(jar), *(() if box is None else (f"{jar.case} {box.name}",))):
        alert = scene.open_alert(SEAL_MISMATCH, subject)
        if alert is not None:
            yield alert


def _subject(jar: Sample) -> str:
    return f"jar {jar.case} {jar.number}"


def _waits(jar: Sample) -> bool:
    """The giver has not answered yet what the receiver read."""
    return jar.offer is not None and jar.offer.differs and not jar.offer.answered
