"""An alert as its entries make it: who was told, whose it is, and whether it is over."""

from __future__ import annotations

from . import entries as said
from .base import Frozen, KeptValue
from .entries import Draft


class Push(Frozen):
    """One text of the watch to one person."""

    to: str
    at_us: int


class Alert(Frozen):
    """What needs a person. Instants in microseconds UTC.

    `ladder_us` is when its ladder began or begins, `rungs` how many of its rungs were climbed since,
    `told_us` when anybody was last told.
    """

    id: str
    kind: str
    subject: str
    level: str
    text: str
    cause: str
    cases: tuple[str, ...]
    numbers: tuple[str, ...]
    rank: int
    exercise: bool
    told: tuple[str, ...]
    raised_us: int
    ladder_us: int
    rungs: int
    told_us: int
    repeats: int
    pushes: tuple[Push, ...]
    owner: str | None = None
    taken_us: int | None = None
    closed_us: int | None = None
    closed_how: str | None = None
    said: KeptValue = None  # how `text` was made, so that others are told it in their own language

    @property
    def handle(self) -> str:
        """What people call it by: the last word of its subject, in small letters."""
        return handle_of(self.subject)

    @property
    def incident(self) -> str:
        """What its pushes are counted under: the case, or nothing where it is about none or several."""
        return self.cases[0] if len(self.cases) == 1 else ""

    @property
    def is_open(self) -> bool:
        """True while something is left to do for it."""
        return self.closed_us is None

    @property
    def is_taken(self) -> bool:
        """True where somebody owns it and the ladder has not begun anew since."""
        return self.taken_us is not None


def handle_of(subject: str) -> str:
    """The last word of a subject, in small letters: "cooler M" is called "m"."""
    return subject.split()[-1].lower() if subject.split() else ""


def raised(body: said.AlertRaised, received_us: int) -> Alert:
    """The alert as it was raised."""
    return Alert(
        id=body.alert,
        kind=body.alert_kind,
        subject=body.subject,
        level=body.level,
        text=body.text,
        said=body.said,
        cause=body.cause,
        cases=body.cases,
        numbers=body.numbers,
        rank=body.rank,
        exercise=body.exercise,
        told=body.told,
        raised_us=received_us,
        ladder_us=received_us if body.first_us is None else body.first_us,
        rungs=1 if body.told else 0,
        told_us=received_us,
        repeats=0,
        pushes=tuple(Push(to=name, at_us=received_us) for name in body.told),
    )


def fold_alert(alert: Alert | None, draft: Draft) -> Alert | None:
    """The alert after this entry; None where the entry speaks of one that no entry raised."""
    body, now_us = draft.body, draft.received_us
    if isinstance(body, said.AlertRaised):
        return raised(body, now_us)
    if alert is None:
        return None
    match body:
        case said.AlertTold():
            pushes = tuple(Push(to=name, at_us=now_us) for name in body.told)
            rung = 0 if alert.is_taken else 1
            change: dict[str, object] = {
                "pushes": alert.pushes + pushes,
                "rungs": alert.rungs + rung,
                "told_us": now_us,
                "repeats": body.repeat,
            }
        case said.AlertTaken():
            change = {"owner": body.owner, "taken_us": now_us, "told_us": now_us}
        case said.AlertWorsened():
            begins = now_us if body.first_us is None else body.first_us
            change = {"text": body.text, "said": body.said, "rank": body.rank}
            change |= {"numbers": body.numbers or alert.numbers}
            change |= {"ladder_us": begins, "rungs": 0, "taken_us": None}
        case said.AlertClosed():
            change = {"closed_us": now_us, "closed_how": body.how}
        case _:
            return alert
    return alert.model_copy(update=change)


def alert_of(body: said.Body) -> str | None:
    """The id of the alert that an entry speaks of, None where it speaks of none."""
    if isinstance(
        body,
        (said.AlertRaised, said.AlertTold, said.AlertTaken, said.AlertWorsened, said.AlertClosed),
    ):
        return body.alert
    return None
