"""What every body of an entry shares, and how a field is told."""

from __future__ import annotations

from typing import ClassVar, NamedTuple

from ..base import Frozen, JsonValue

UNIT_CHAIN = "unit"


class Body(Frozen):
    """The base of all bodies: `version` rises when a body's meaning changes."""

    version: ClassVar[int] = 1
    sample: str | None = None

    @property
    def about(self) -> tuple[str, ...]:
        """The ids of the samples that this entry changes."""
        return () if self.sample is None else (self.sample,)


class OfSamples(Body):
    """A body that speaks of several jars at once, all of its chain's case."""

    samples: tuple[str, ...]

    @property
    def about(self) -> tuple[str, ...]:
        """The ids of the samples that this entry changes."""
        return self.samples


class OfCustody(OfSamples):
    """A body that changes with whom jars are, or what is known of their seals."""


class FactTold(Frozen):
    """One field as a person told it: the value read from it and the words themselves."""

    field: str
    value: JsonValue
    raw: str
    copied_from: str | None = None


class Draft(NamedTuple):
    """An entry that is not in its chain yet. Times in microseconds UTC; `event` as stated.

    `phone` is whose phone it came from, where that is not its author's.
    """

    chain: str
    body: Body
    author: str
    channel: str
    said_us: int
    received_us: int
    message: str | None = None
    event: str | None = None
    phone: str | None = None

    @property
    def kind(self) -> str:
        """The name of what happened."""
        return type(self.body).__name__
