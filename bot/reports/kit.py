"""Kits as programs read them, and the restock list as a table."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from io import StringIO
from typing import Any

from ..model.kit import Stock
from ..model.people import Kit, Unit
from ..model.times import iso_utc
from ..rules.kit import Readiness, due_again, list_of, readiness, stock_of
from ..rules.limits import Limits, limits_in_force
from ..rules.par import ParItem, ParTable


def kit_line(kit: Kit, unit: Unit, table: ParTable, used: set[int]) -> dict[str, Any]:
    """A kit by its last inspection; what nobody counted in it stands as null and makes nothing ready."""
    stock = stock_of(unit.stock, kit.name)
    ready = readiness(table, kit, stock, unit.with_role("responder"))
    short = {one.item.id: one.short for one in ready.short}
    low, high = kit.numbers or (1, 0)
    return {
        "name": kit.name,
        "training": kit.training,
        "wanted_for_jars": stock.jars,
        "ready_for_jars": ready.jars,
        "limited_by": [item.id for item in ready.limits],
        "items": [_item(stock, item, short) for item in _listed(table, kit, stock)],
        "shortfalls": [one.item.id for one in ready.short],
        "gloves_without": {size: list(names) for size, names in ready.without.items()},
        "begun_at": iso_utc(stock.begun_us) if stock.begun_us is not None else None,
        "seen_at": iso_utc(stock.seen_us) if stock.seen_us is not None else None,
        "used_at": iso_utc(stock.used_us) if stock.used_us is not None else None,
        "due": _due(stock, limits_in_force(unit.limits)),
        "vehicle": stock.vehicle,
        "cooler": stock.cooler,
        "places": {person: place for person, (place, _) in sorted(stock.places.items())},
        "photos": list(stock.photos),
        "numbers": list(kit.numbers) if kit.numbers else None,
        "numbers_left": high - low + 1 - len(used),
        "seals_left": stock.count("seal"),
        "seals": list(kit.seals) if kit.seals else None,
    }


def _due(stock: Stock, limits: Limits) -> dict[str, Any]:
    """When it is to be looked at and counted again; nulls: now."""
    due = due_again(stock, limits)
    return {
        "look": iso_utc(due.look_us) if due.look_us is not None else None,
        "count": iso_utc(due.count_us) if due.count_us is not None else None,
        "after_use": due.after_use,
    }


def _listed(table: ParTable, kit: Kit, stock: Stock) -> list[ParItem]:
    return [item for item in list_of(table, kit, stock) if item.par(stock.jars) > 0 or item.id in stock.heard]


def _item(stock: Stock, item: ParItem, short: dict[str, int]) -> dict[str, Any]:
    told = stock.told(item.id)
    counted = None if item.called else stock.count(item.id)
    return {
        "item": item.id,
        "name": item.name,
        "par": item.par(stock.jars),
        "counted": counted,
        "short": short.get(item.id, 0 if counted is not None else None),
        "note": _note(stock, item),
        "place": told.place if told is not None and told.place is not None else item.place,
        "by": {person: one.told.raw for person, one in sorted(stock.heard.get(item.id, {}).items())},
        "source": item.source,
    }


def _note(stock: Stock, item: ParItem) -> str | None:
    """What a count alone does not say, in the words it was told in."""
    told = stock.told(item.id)
    notes = []
    if item.called:
        notes.append("loaded at call-out")
    elif told is None:
        notes.append("not counted")
    if told is not None and told.out and told.why is not None:
        notes.append(f"{told.out} {told.why}, not counted")
    if told is not None and told.latex:
        notes.append(f"latex {' '.join(told.latex)}, not counted")
    if stock.disputed(item.id):
        notes.append("two people counted differently, the lower holds")
    return "; ".join(notes) or None


RESTOCK_COLUMNS = ("kit", "item", "par", "counted", "short", "sizes", "place", "source")


def restock_csv(unit: Unit, table: ParTable, kits: tuple[str, ...]) -> str:
    """What these kits lack by their last count, a row an item in buying order, as CSV (RFC 4180)."""
    out = StringIO()
    sheet = csv.writer(out)
    sheet.writerow(RESTOCK_COLUMNS)
    for name in kits:
        stock = stock_of(unit.stock, name)
        for one in readiness(table, unit.kits[name], stock, unit.with_role("responder")).short:
            row = (name, one.item.name, one.par, one.have, one.short, " ".join(one.sizes))
            sheet.writerow((*row, one.item.place, one.item.source))
    return out.getvalue()


def restock_paper(
    unit: Unit, table: ParTable, kits: tuple[str, ...], frame: Mapping[str, Any], stated: Callable[[int], str]
) -> dict[str, Any]:
    """The restock list as its paper takes it; `stated` writes an instant on the unit's clock."""
    return {**frame, "kits": [_sheet(unit, table, name, stated) for name in kits]}


def _sheet(unit: Unit, table: ParTable, name: str, stated: Callable[[int], str]) -> dict[str, Any]:
    stock = stock_of(unit.stock, name)
    ready = readiness(table, unit.kits[name], stock, unit.with_role("responder"))
    people = sorted({person for heard in stock.heard.values() for person in heard})
    return {
        "name": name,
        "ready": _in_words(stock, ready),
        "counted": stated(stock.begun_us) if stock.begun_us is not None else None,
        "by": ", ".join(people),
        "vehicle": stock.vehicle,
        "rows": [
            {
                "name": one.item.name,
                "sizes": " ".join(one.sizes),
                "short": one.short,
                "counted": one.have,
                "par": one.par,
                "place": one.item.place,
            }
            for one in ready.short
        ],
        "uncounted": [item.name for item in ready.uncounted] if stock.begun_us is not None else [],
    }


def _in_words(stock: Stock, ready: Readiness) -> str:
    if stock.begun_us is None:
        return "not counted yet"
    limits = ", ".join(item.name for item in ready.limits)
    if ready.jars is None:
        return f"at most {ready.at_most} jars of {stock.jars} by what is counted"
    return f"ready for {ready.jars} jars of {stock.jars}" + (f", limited by {limits}" if limits else "")
