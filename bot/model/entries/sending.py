"""The laboratory that jars are sent to, and what was told to it."""

from __future__ import annotations

from .base import Body

__all__ = [
    "LaboratorySet",
    "LaboratoryTold",
]


class LaboratorySet(Body):
    """The laboratory and the way to it from now on. Clock times "HH:MM" in the unit's zone.

    `hours` by weekday, mon to sun; a day left out is closed. `closed` are ISO dates. The courier collects
    on `courier_days` at `courier_cutoff` and needs `transit_hours` to the laboratory's door.
    """

    name: str = ""
    hours: dict[str, tuple[str, str]] = {}
    closed: tuple[str, ...] = ()
    courier_days: tuple[str, ...] = ("mon", "tue", "wed", "thu", "fri")
    courier_cutoff: str = "15:00"
    transit_hours: float = 20


class LaboratoryTold(Body):
    """Somebody said that the laboratory knows of what is coming, in their words."""

    words: str
