"""What the unit is, and what happens to it."""

from __future__ import annotations

from ..base import JsonValue
from .base import Body

__all__ = [
    "CoolerRetired",
    "CoolerSet",
    "HeadsSealed",
    "KitRetired",
    "KitSet",
    "LimitSet",
    "LinkIssued",
    "PersonSet",
    "StrangerHeard",
    "UnitSet",
    "WatchSet",
]


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


class KitRetired(Body):
    """A kit is offered no more; what was taken with it stays as it is."""

    name: str


class CoolerRetired(Body):
    """A cooler is in use no more; what it read stays as it is."""

    name: str


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


class StrangerHeard(Body):
    """An address that nobody is enrolled under wrote; it is attributed to nobody.

    `reported` says as what the supervisors were told of it: "jar", or the name that it claims.
    """

    address: str
    answered: bool
    reported: str | None = None


class HeadsSealed(Body):
    """All chains stood like this at the unit's midnight that ended `day`."""

    day: str
    heads: dict[str, tuple[int, str]]
    words: str


class LinkIssued(Body):
    """A one-time sign-in link was made for an address (its commitment)."""

    address: str
