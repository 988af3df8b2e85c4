"""A kit's stock as the unit chain makes it: what was told of each item, by whom, in this inspection."""

from __future__ import annotations

from . import entries as said
from .base import Frozen
from .entries import Addition, Draft, ItemTold


class Heard(Frozen):
    """What one person told of an item, and when it came; `was` the count that they told before."""

    told: ItemTold
    at_us: int
    was: int | None = None


class Stock(Frozen):
    """What is known of a kit's contents. `heard`: item to person to what they told.

    `used` and `added` count since the item was counted, `boxes` are the sizes of gloves among these;
    `places`: person to (place, us).
    """

    kit: str
    jars: int = 16
    vehicle: str | None = None
    cooler: str | None = None
    more: tuple[Addition, ...] = ()
    begun_us: int | None = None
    seen_us: int | None = None
    used_us: int | None = None
    heard: dict[str, dict[str, Heard]] = {}
    places: dict[str, tuple[str, int]] = {}
    photos: tuple[str, ...] = ()
    used: dict[str, int] = {}
    added: dict[str, int] = {}
    boxes: tuple[str, ...] = ()

    def told(self, item: str) -> ItemTold | None:
        """What holds of an item: of two people's counts the lower, of one person's the last."""
        heard = self.heard.get(item)
        if not heard:
            return None
        return min(heard.values(), key=lambda one: (_usable(one.told), -one.at_us)).told

    def disputed(self, item: str) -> bool:
        """True where two people counted an item and do not agree."""
        counts = {_usable(one.told) for one in self.heard.get(item, {}).values()}
        return len(counts) > 1

    def count(self, item: str) -> int | None:
        """How many are there and usable, None where nobody counted them in this inspection."""
        told = self.told(item)
        if told is None:
            return None
        return max(0, _usable(told) - self.used.get(item, 0) + self.added.get(item, 0))


def _usable(told: ItemTold) -> int:
    """How many count: one where it was only said to be in order."""
    count = told.count if told.count is not None else int(bool(told.ok))
    return max(0, count - told.out)


def fold_stock(stock: Stock | None, draft: Draft) -> Stock:
    """The stock after this entry."""
    body = draft.body
    match body:
        case said.KitStocked():
            known = stock or Stock(kit=body.kit)
            return known.model_copy(update={name: getattr(body, name) for name in _SET})
        case said.KitInspected():
            return _inspected(stock or Stock(kit=body.kit), body, draft)
        case said.KitUsed():
            known = stock or Stock(kit=body.kit)
            until_us = draft.received_us if body.until_us is None else body.until_us
            return known.model_copy(update={"used": _sum(known.used, body.counts), "used_us": until_us})
        case said.KitRestocked():
            known = stock or Stock(kit=body.kit)
            added = {"added": _sum(known.added, body.counts), "boxes": (*known.boxes, *body.sizes)}
            return known.model_copy(update=added)
        case _:
            raise ValueError(f"{draft.kind} says nothing of a kit's stock")


_SET = ("jars", "vehicle", "cooler", "more")


def _sum(known: dict[str, int], counts: dict[str, int]) -> dict[str, int]:
    return known | {item: known.get(item, 0) + count for item, count in counts.items()}


def _inspected(stock: Stock, body: said.KitInspected, draft: Draft) -> Stock:
    change: dict[str, object] = {"seen_us": draft.received_us}
    heard, used, added, photos = stock.heard, stock.used, stock.added, stock.photos
    if body.fresh:
        heard, used, added, photos = {}, {}, {}, ()
        change["begun_us"] = draft.received_us
    told_now = {told.item for told in body.told}
    for told in body.told:
        before = heard.get(told.item, {})
        was = before[draft.author].told.count if draft.author in before else None
        heard = heard | {
            told.item: before | {draft.author: Heard(told=told, at_us=draft.received_us, was=was)}
        }
    # What is counted now was counted after everything used or put back before.
    change["heard"] = heard
    change["used"] = {item: count for item, count in used.items() if item not in told_now}
    change["added"] = {item: count for item, count in added.items() if item not in told_now}
    change["boxes"] = () if body.fresh or "gloves" in told_now else stock.boxes
    change["photos"] = (*photos, *(photo.sha256 for photo in body.photos))
    if body.place is not None:
        change["places"] = stock.places | {draft.author: (body.place, draft.received_us)}
    return stock.model_copy(update=change)
