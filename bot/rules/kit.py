"""What a counted kit is good for: for how many jars, what limits it, what is short, when it is due again.

The arithmetic is par less count; every figure of it stands in the par list (common practice, no source).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from ..model.kit import Stock
from ..model.people import Kit, Person
from ..model.sample import Sample
from ..model.times import DAY_US
from .limits import Limits
from .par import BASIC_JARS, ParItem, ParTable

_SEAL = re.compile(r"([A-Za-z]{0,3}-?)(\d{1,10})")


@dataclass(frozen=True)
class Short:
    """So many of an item are wanted to reach its par; `sizes` of gloves that nobody stocked."""

    item: ParItem
    par: int
    have: int
    short: int
    sizes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Readiness:
    """What a count says. `jars` is None while something that limits it is not counted; then `at_most` holds.

    `limits`: items that allow no more jars than that; `short` in buying order; `without`: size to people.
    """

    jars: int | None
    at_most: int
    limits: tuple[ParItem, ...]
    short: tuple[Short, ...]
    uncounted: tuple[ParItem, ...]
    disputed: tuple[ParItem, ...]
    without: dict[str, tuple[str, ...]]
    unsized: tuple[str, ...]


def list_of(table: ParTable, kit: Kit, stock: Stock) -> tuple[ParItem, ...]:
    """The items that belong in this kit: seals where it has a range of them, else tamper-evident tape."""
    off = "tamper_tape" if kit.seals is not None else "seal"
    return tuple(item for item in table.with_more(stock.more).item if item.id != off)


def readiness(table: ParTable, kit: Kit, stock: Stock, crew: Iterable[Person]) -> Readiness:
    """What the kit is good for by what was counted; what nobody counted is never taken as there."""
    items = [item for item in list_of(table, kit, stock) if not item.called and item.par(stock.jars) > 0]
    crew = tuple(crew)
    without = _without(stock, crew)
    counts = {item.id: stock.count(item.id) for item in items}
    uncounted = tuple(item for item in items if counts[item.id] is None)
    good_for = {item.id: _good_for(item, counts[item.id]) for item in items}
    known = [jars for jars in good_for.values() if jars is not None]
    at_most = min([*known, stock.jars])
    limits = tuple(item for item in items if good_for[item.id] == at_most and at_most < stock.jars)
    open_ones = any(item.vital or item.holds is not None for item in uncounted)
    return Readiness(
        jars=None if open_ones else at_most,
        at_most=at_most,
        limits=limits,
        short=_short(items, stock, counts, tuple(without)),
        uncounted=uncounted,
        disputed=tuple(item for item in items if stock.disputed(item.id)),
        without=without,
        unsized=tuple(person.name for person in crew if not person.gloves),
    )


def _good_for(item: ParItem, count: int | None) -> int | None:
    """For how many jars this item lasts, None where it limits nothing or was not counted."""
    if count is None or (item.holds is None and not item.vital):
        return None
    if item.holds is not None:
        return int(count * item.holds + 1e-9)
    return 0 if count == 0 else None


def _short(
    items: list[ParItem], stock: Stock, counts: dict[str, int | None], sizes: tuple[str, ...]
) -> tuple[Short, ...]:
    found = []
    for item in items:
        have, par = counts[item.id], item.par(stock.jars)
        if have is None:
            continue
        if item.reader == "sizes" and sizes:
            found.append(Short(item, have + len(sizes), have, len(sizes), sizes))
        elif have < par:
            found.append(Short(item, par, have, par - have))
    return tuple(sorted(found, key=lambda one: one.item.buy))


def _without(stock: Stock, crew: tuple[Person, ...]) -> dict[str, tuple[str, ...]]:
    """Which sizes the crew wears that no counted box has; nothing while gloves are not counted."""
    told = stock.told("gloves")
    if told is None:
        return {}
    worn: dict[str, list[str]] = {}
    for person in crew:
        if person.gloves and person.gloves.upper() not in (*told.sizes, *stock.boxes):
            worn.setdefault(person.gloves.upper(), []).append(person.name)
    return {size: tuple(names) for size, names in sorted(worn.items())}


def seal_numbers(first: str, last: str) -> range | None:
    """The numbers from one printed seal to another; None where they are no range."""
    one, other = _SEAL.fullmatch(first), _SEAL.fullmatch(last)
    if one is None or other is None or one[1].upper() != other[1].upper():
        return None
    low, high = int(one[2]), int(other[2])
    return range(low, high + 1) if low <= high else None


def seal_gaps(ranges: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """The seals that lie between the first and the last that were told, and were not told."""
    told: dict[str, set[int]] = {}
    width: dict[str, int] = {}
    for first, last in ranges:
        numbers, parts = seal_numbers(first, last), _SEAL.fullmatch(first)
        if numbers is not None and parts is not None:
            told.setdefault(parts[1], set()).update(numbers)
            width[parts[1]] = len(parts[2])
    return tuple(
        f"{letters}{number:0{width[letters]}d}"
        for letters, numbers in told.items()
        for number in range(min(numbers), max(numbers))
        if number not in numbers
    )


@dataclass(frozen=True)
class Due:
    """When a kit is to be looked at and to be counted again, microseconds UTC; None: now."""

    look_us: int | None
    count_us: int | None
    after_use: bool


def due_again(stock: Stock, limits: Limits) -> Due:
    """By cadence and after each use; never counted is due now."""
    if stock.begun_us is None or stock.seen_us is None:
        return Due(None, None, after_use=False)
    if stock.used_us is not None and stock.used_us >= stock.seen_us:
        return Due(None, None, after_use=True)
    look_us = stock.seen_us + int(limits.kit_look_days * DAY_US)
    return Due(look_us, stock.begun_us + int(limits.kit_count_days * DAY_US), after_use=False)


def drafted_use(table: ParTable, kit: Kit, stock: Stock, jars: Iterable[Sample]) -> dict[str, int]:
    """What these jars and hand-overs used by method, item to count: a draft that a person confirms.

    Of each item only what came after it was last counted, or after use was last confirmed.
    """
    listed = {item.id for item in list_of(table, kit, stock)}
    jars = tuple(jars)
    events = [(jar.received_us, table.used_by(jar.text("method"))) for jar in jars]
    events += [(at_us, table.use.get("handover", {})) for at_us in _moves_us(jars)]
    found: Counter[str] = Counter()
    for at_us, used in events:
        for item, count in used.items():
            if item in listed and at_us > _known_until(stock, item):
                found[item] += count
    return dict(found)


def _moves_us(jars: Iterable[Sample]) -> set[int]:
    """When these jars last changed hands; those that did so together are one hand-over."""
    moved = (jar.custody for jar in jars if jar.custody is not None and jar.custody.type != "collected")
    return {custody.since_us for custody in moved}


def _known_until(stock: Stock, item: str) -> int:
    """When this item's count was last made sure of."""
    counted = max((one.at_us for one in stock.heard.get(item, {}).values()), default=-1)
    return max(counted, -1 if stock.used_us is None else stock.used_us)


def stock_of(stocks: dict[str, Stock], kit: str) -> Stock:
    """What is known of a kit's contents: of one that nobody counted, nothing."""
    return stocks.get(kit) or Stock(kit=kit, jars=BASIC_JARS)


@dataclass(frozen=True)
class KitShort:
    """A kit that is good for fewer jars than are wanted of it; `drafted` jars nobody confirmed."""

    kit: str
    wanted: int
    good_for: int
    limits: tuple[str, ...]
    drafted: int


def kit_short(
    table: ParTable, kit: Kit, stock: Stock, crew: Iterable[Person], wanted: int, taken: Iterable[Sample]
) -> KitShort | None:
    """How a kit falls below the jars still wanted of it, None where it does not.

    `taken`: the jars numbered from its block since it was counted. What they used by method is taken off
    here, though nobody confirmed it: an alert may be early, a record may not be made up. A kit that nobody
    counted is short of nothing that is known: it is due, and no alert.
    """
    if stock.begun_us is None:
        return None
    drafted = drafted_use(table, kit, stock, taken)
    used = {item: stock.used.get(item, 0) + count for item, count in drafted.items()}
    left = stock.model_copy(update={"used": stock.used | used, "jars": max(stock.jars, wanted)})
    ready = readiness(table, kit, left, crew)
    if ready.at_most >= wanted:
        return None
    limits = tuple(item.name for item in ready.limits)
    return KitShort(kit.name, wanted, ready.at_most, limits, drafted.get("jar", 0))
