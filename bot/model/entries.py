"""What happened, one body a kind: facts in the past tense, each with a version of its own.

A body is what an entry says; the chain, author, times and hashes around it are `Entry`.
A new kind is added here, and folded in `sample.py`, `case.py` or `people.py`.
"""

from __future__ import annotations

from typing import ClassVar

from .base import Frozen, JsonValue
from .message import Attachment

UNIT_CHAIN = "unit"


class Body(Frozen):
    """The base of all bodies: `version` rises when a body's meaning changes."""

    version: ClassVar[int] = 1
    sample: str | None = None


class FactTold(Frozen):
    """One field as a person told it: the value read from it and the words themselves."""

    field: str
    value: JsonValue
    raw: str
    copied_from: str | None = None


# --- the sample -------------------------------------------------------------------------------


class SampleDeclared(Body):
    """A jar is on record under the number written on it; `apart_from` is another jar so numbered."""

    sample: str
    number: str
    number_key: str
    apart_from: str | None = None


class SampleTold(Body):
    """Fields that were empty hold a value."""

    sample: str
    facts: tuple[FactTold, ...]


class SampleCorrected(Body):
    """A field holds a second value; the first stays, struck in place."""

    sample: str
    field: str
    old: str
    fact: FactTold
    why: str | None
    sort: str = "correction"


class CorrectionExplained(Body):
    """The reason of the last correction of a field, in its author's words (None: none given)."""

    sample: str
    field: str
    why: str | None


class EarlierStatementKept(Body):
    """What was said before a later correction and arrived after it stands beside the record."""

    sample: str
    facts: tuple[FactTold, ...]


class AccountGiven(Body):
    """Another person told of the same jar; both accounts stand."""

    sample: str
    facts: tuple[FactTold, ...]


class SampleConfirmed(Body):
    """Its author agreed to the read-back."""

    sample: str


class SampleStruck(Body):
    """A jar is off the count and stays visible."""

    sample: str
    why: str


class NumberSettled(Body):
    """A human said which jar bears this number; the doubt about this one is gone."""

    sample: str


class QueryRaised(Body):
    """What was told differs from a rule; no right value is proposed."""

    sample: str
    query: str
    field: str
    rule: str
    text: str


class QueryClosed(Body):
    """A person answered a query: by a value told again, or that it stands."""

    sample: str
    query: str
    how: str


class PhotoKept(Body):
    """A file is on disk; `sample` is None while nobody has said which jar it shows."""

    photo: Attachment
    caption: str = ""


class PhotoAssigned(Body):
    """A person said which jar a kept file shows."""

    sample: str
    photo_id: str
    photo: Attachment


class PhotoDeclared(Body):
    """A photo was said to exist; its file has not come."""

    sample: str


class EvidenceNumberAsked(Body):
    """The custodian or the office was asked for an evidence control number."""

    sample: str


class EvidenceNumberGiven(Body):
    """The custodian or the office gave this jar its evidence control number."""

    sample: str
    number: str


# --- the case ---------------------------------------------------------------------------------


class CaseOpened(Body):
    """A case is open. `opened` is ISO 8601 as stated; `told` holds what the caller knew."""

    name: str
    exercise: bool
    people: tuple[str, ...] = ()
    kits: tuple[str, ...] = ()
    opened: str
    told: dict[str, FactTold] = {}
    cites: tuple[str, ...] = ()


class CaseChanged(Body):
    """The people and kits of a case are these from now on."""

    people: tuple[str, ...]
    kits: tuple[str, ...]


class SafetyAnswered(Body):
    """Somebody's own words on who is in charge of safety, or whether phones are allowed."""

    question: str
    words: str
    answer: str


class EntryStopped(Body):
    """A message spoke of going in; the stop text was sent."""

    words: str


class GasNoted(Body):
    """A gas figure was told; nothing is concluded from it."""

    words: str


class NoteMade(Body):
    """Words that no question asked for."""

    words: str


# --- the unit ---------------------------------------------------------------------------------


class UnitSet(Body):
    """Name, zone, operating area and region of the unit from now on."""

    name: str
    zone: str
    area: JsonValue = None
    region: str | None = None


class PersonSet(Body):
    """A person, their roles and addresses (as salted commitments) from now on."""

    name: str
    roles: tuple[str, ...]
    addresses: tuple[str, ...] = ()
    gloves: str | None = None
    language: str | None = None
    active: bool = True


class KitSet(Body):
    """A kit with its number block and seal range from now on."""

    name: str
    numbers: tuple[int, int] | None = None
    seals: tuple[str, str] | None = None
    training: bool = False


class CoolerSet(Body):
    """A cooler and its class from now on."""

    name: str
    cooler_class: str


class WatchSet(Body):
    """Quiet hours, ladder and digest times from now on."""

    quiet: tuple[str, str] | None = None
    ladder: tuple[str, ...] = ()
    ladder_minutes: int = 10
    digest: dict[str, str] = {}


class LimitSet(Body):
    """A number of the trade is this from now on, for this unit."""

    name: str
    value: JsonValue


class CoolerRead(Body):
    """A cooler's check bottle read this. `at` is ISO 8601 with offset; Celsius."""

    cooler: str
    celsius: float
    raw: str
    at: str
    at_us: int
    unit_derived: bool = False
    ice_left: str | None = None
    for_sample: str | None = None


class StrangerHeard(Body):
    """An address that nobody is enrolled under wrote; it is attributed to nobody."""

    address: str
    answered: bool


class AlertRaised(Body):
    """Something needs a person now."""

    alert: str
    alert_kind: str
    subject: str
    level: str
    told: tuple[str, ...]


class HeadsSealed(Body):
    """All chains stood like this at the unit's midnight that ended `day`."""

    day: str
    heads: dict[str, tuple[int, str]]
    words: str


class LinkIssued(Body):
    """A one-time sign-in link was made for an address (its commitment)."""

    address: str


def _all_bodies(base: type[Body]) -> dict[str, type[Body]]:
    return {kind.__name__: kind for kind in base.__subclasses__()}


BODIES: dict[str, type[Body]] = _all_bodies(Body)


class Draft(Frozen):
    """An entry that is not in its chain yet. Times in microseconds UTC; `event` as stated."""

    chain: str
    body: Body
    author: str
    channel: str
    said_us: int
    received_us: int
    message: str | None = None
    event: str | None = None

    @property
    def kind(self) -> str:
        """The name of what happened."""
        return type(self.body).__name__
