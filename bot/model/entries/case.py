"""What happens in a case."""

from __future__ import annotations

from .base import Body, FactTold

__all__ = [
    "CaseChanged",
    "CaseClosed",
    "CaseOpened",
    "CaseReopened",
    "CorrectionKept",
    "EditProposed",
    "EntryStopped",
    "GasNoted",
    "NoteMade",
    "SafetyAnswered",
]


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


class CaseClosed(Body):
    """A case is offered no more; `why` in the words of whoever closed it."""

    why: str


class CaseReopened(Body):
    """A closed case goes on where it stood."""

    why: str


class CorrectionKept(Body):
    """A correction came before its jar, told under this number; it goes with the jar when that comes."""

    number_key: str
    words: str


class EditProposed(Body):
    """The author edited a sent message `of`; these words are proposed, and what was sent first stands."""

    words: str
    of: str


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
