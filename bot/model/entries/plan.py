"""What is told of the plan: what it depends on, who may be the source, what was refused or cannot be had."""

from __future__ import annotations

from .base import Body, FactTold

__all__ = [
    "DoneSaid",
    "PlanTold",
    "PromiseMade",
    "RefusalTold",
    "SampleImpossible",
    "SampleRefused",
    "SuspectMoved",
    "SuspectNamed",
    "Warned",
]


class PlanTold(Body):
    """What the plan depends on; a value of None was skipped and is not asked again."""

    facts: tuple[FactTold, ...]


class SuspectNamed(Body):
    """A vessel or place that may be the source, with its tanks or lines; naming it accuses nobody."""

    name: str
    tanks: tuple[str, ...] = ()
    words: str


class SuspectMoved(Body):
    """A suspect sails at a time (`how` "sails"), has left ("left") or is back ("back")."""

    name: str
    how: str
    words: str
    at: str | None = None
    at_us: int | None = None


class SampleRefused(Body):
    """Somebody refused a sample of the plan; `what` is a line of it or a suspect with all its lines."""

    what: str
    words: str = ""
    at: str | None = None


class PromiseMade(Body):
    """Somebody promised something to a ship or a place, in their words; whoever takes over is told of it."""

    to: str
    words: str


class RefusalTold(Body):
    """More of a refusal (`refusal` is its entry's place in the case): words, who, when, split."""

    refusal: int
    fact: FactTold


class SampleImpossible(Body):
    """A line of the plan cannot be had, in the words of the one who says so."""

    what: str
    why: str


class Warned(Body):
    """Somebody was told of a rule in this case; they are not told of it again."""

    rule: str
    jar: str | None = None


class DoneSaid(Body):
    """Somebody said that the sampling is done; `missing` is what the plan still wanted then."""

    words: str
    missing: tuple[str, ...] = ()
