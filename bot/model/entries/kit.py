"""What is told of kits: what belongs in them, what was counted, what was used and put back."""

from __future__ import annotations

from ..base import Frozen
from ..message import Attachment
from .base import Body

__all__ = [
    "GlovesTold",
    "KitInspected",
    "KitRestocked",
    "KitStocked",
    "KitUsed",
]


class Addition(Frozen):
    """A unit's own item, or its own figure for a listed one; None leaves the list's."""

    item: str
    words: tuple[str, ...] = ()
    least: int | None = None
    per_jar: float | None = None
    place: str | None = None
    vital: bool | None = None
    source: str | None = None


class ItemTold(Frozen):
    """One item of a kit as a person found it, with the words themselves.

    `count` is all that was there, `out` those of them that do not count and `why` (the person's word for it);
    `sizes` of gloves, `latex` the sizes that are latex; `seals` ranges as printed; `celsius` a thermometer
    in ice slurry; `date` ISO 8601, until when a meter is good.
    """

    item: str
    count: int | None = None
    ok: bool | None = None
    out: int = 0
    why: str | None = None
    sizes: tuple[str, ...] = ()
    latex: tuple[str, ...] = ()
    seals: tuple[tuple[str, str], ...] = ()
    celsius: float | None = None
    date: str | None = None
    place: str | None = None
    raw: str = ""


class KitStocked(Body):
    """From now on this kit is to serve so many jars, with these additions, riding and cooled with these."""

    kit: str
    jars: int = 16
    vehicle: str | None = None
    cooler: str | None = None
    more: tuple[Addition, ...] = ()


class KitInspected(Body):
    """Somebody told what is in a kit. `fresh` begins an inspection: no earlier count holds any more."""

    kit: str
    fresh: bool = False
    told: tuple[ItemTold, ...] = ()
    place: str | None = None
    photos: tuple[Attachment, ...] = ()


class KitUsed(Body):
    """A person confirmed that so many of these items were used.

    `until_us`: when the draft that they said OK to was shown; None: everything so far.
    """

    kit: str
    counts: dict[str, int]
    until_us: int | None = None


class KitRestocked(Body):
    """A person put so many of these items back in; `sizes` of the boxes of gloves among them."""

    kit: str
    counts: dict[str, int]
    sizes: tuple[str, ...] = ()


class GlovesTold(Body):
    """A person's own glove size, "" where they left it out; it is asked once."""

    person: str
    size: str
