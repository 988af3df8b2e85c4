"""What every sheet and file is made from, and who may have it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeAlias, TypeVar

from storage.database import Tx

from ..dialogue.turn import Trade
from ..model.case import Case
from ..model.people import Person, Unit
from ..model.sample import Sample
from ..reports.sheets import Terms
from ..rules.roles import Action, may

Made = TypeVar("Made")
TradeOf: TypeAlias = Callable[[Unit], Trade]


@dataclass(frozen=True)
class Makers:
    """What the house makes of a case elsewhere: its papers as PDF, its bundle at a path.

    `bundle` gives the bundle's own hash.
    """

    paper: Callable[[str, str], Awaitable[bytes]]
    bundle: Callable[[str, Path], Awaitable[str]]


@dataclass(frozen=True)
class Reader:
    """One person looking at the store as of one instant."""

    tx: Tx
    unit: Unit
    person: Person
    trade: Trade
    now_us: int
    originals: Path
    makers: Makers

    @property
    def terms(self) -> Terms:
        """What lines are written with."""
        return Terms(self.trade.table, self.trade.limits, self.trade.zone, self.now_us)

    def is_offered(self, jar: Sample) -> bool:
        """True while a hand-over of this jar to them is open: its seal is for them to read."""
        return jar.offer is not None and jar.offer.to == self.person.name

    def sees(self, case: Case) -> bool:
        """True where this case is theirs to see."""
        if may(self.person, Action.SEE_ALL_CASES):
            return True
        return not case.people or self.person.name in case.people


@dataclass(frozen=True)
class Find(Generic[Made]):
    """How something is found: what a role must be allowed, whose case it is of, and how it is made.

    `evidence`: that it was seen is on record. `case_of` gives the case's name from what is asked for.
    """

    make: Callable[[Reader, str], Awaitable[Made]]
    action: Action
    case_of: Callable[[str], str] | None = None
    evidence: bool = False
