"""What needed a person, and who took it; who is out until when, and who is on watch."""

from __future__ import annotations

from ..base import KeptValue
from .base import Body

__all__ = [
    "AlertClosed",
    "AlertRaised",
    "AlertTaken",
    "AlertTold",
    "AlertWorsened",
    "PersonBack",
    "PersonOut",
    "Reminded",
    "ShiftOffered",
    "ShiftSummed",
    "WatchStood",
]


class AlertRaised(Body):
    """Something needs a person now. `told` heard at once; with nobody told the ladder begins at `first_us`.

    `cause` is what a second alert of the same cause would have in common with this one; `cases` and
    `numbers` name the jars it is about; `rank` grows as the thing gets worse. `said` is how `text` was made.
    """

    alert: str
    alert_kind: str
    subject: str
    level: str
    told: tuple[str, ...]
    text: str = ""
    cause: str = ""
    cases: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    rank: int = 0
    first_us: int | None = None
    exercise: bool = False
    said: KeptValue = None


class AlertTold(Body):
    """These people were told of an alert again, or first, `repeat` counting from 0."""

    alert: str
    told: tuple[str, ...]
    level: str
    repeat: int


class AlertTaken(Body):
    """The alert is `owner`'s; where the author is another, it was handed over to them."""

    alert: str
    owner: str


class AlertWorsened(Body):
    """The same thing is worse, or was left unread: the ladder begins anew at `first_us`, or at once."""

    alert: str
    text: str
    rank: int
    numbers: tuple[str, ...] = ()
    first_us: int | None = None
    said: KeptValue = None


class AlertClosed(Body):
    """Nothing is left to do for it: by its own condition, or by a person who says why."""

    alert: str
    how: str
    why: str = ""


class Reminded(Body):
    """Somebody was reminded of what is due before it is an alert."""

    reminder: str
    alert_kind: str
    subject: str
    told: tuple[str, ...]
    text: str


class PersonOut(Body):
    """They are out, until then where they said so. `till` is ISO 8601 with offset."""

    till: str | None = None
    till_us: int | None = None
    afloat: bool = False
    words: str = ""


class PersonBack(Body):
    """They say that they are back."""


class WatchStood(Body):
    """They are on watch until then: coolers are read by night too."""

    until_us: int


class ShiftOffered(Body):
    """Somebody hands their shift over: these alerts stood open then, each theirs until the other has it."""

    to: str
    alerts: tuple[str, ...]
    text: str


class ShiftSummed(Body):
    """What a shift left behind as it was handed over at `at_us`, from whom to whom; it is never made again.

    Beside the alerts: who holds what, coolers, hand-overs that wait, what plans lack, promises, what is due.
    """

    by: str
    to: str
    at_us: int
    left: KeptValue
    text: str
