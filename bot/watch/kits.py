"""Which kits in service fall below what is still wanted of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..model.people import Unit
from ..model.sample import Sample
from ..rules.kit import drafted_use, readiness, stock_of
from ..rules.par import ParTable


@dataclass(frozen=True)
class KitShort:
    """A kit that is good for fewer jars than are wanted of it; `drafted` jars nobody confirmed."""

    kit: str
    wanted: int
    good_for: int
    limits: tuple[str, ...]
    drafted: int


def kits_short(
    unit: Unit,
    table: ParTable,
    wanted: Mapping[str, int],
    taken: Mapping[str, Iterable[Sample]],
) -> list[KitShort]:
    """Each kit of `wanted` (kit to jars still wanted of it) that is good for fewer, by name.

    `taken`: the jars numbered from a kit's block since it was counted. What they used by method is taken
    off for the alert, though nobody confirmed it: an alert may be early, a record may not be made up. A
    kit that nobody counted is short of nothing that is known: it is due, and no alert.
    """
    found = []
    for name in sorted(wanted.keys() & unit.kits.keys()):
        kit, stock = unit.kits[name], stock_of(unit.stock, name)
        if stock.begun_us is None:
            continue
        drafted = drafted_use(table, kit, stock, taken.get(name, ()))
        used = {item: stock.used.get(item, 0) + count for item, count in drafted.items()}
        left = stock.model_copy(update={"used": stock.used | used})
        ready = readiness(table, kit, left, unit.with_role("responder"))
        if ready.at_most < wanted[name]:
            limits = tuple(item.name for item in ready.limits)
            found.append(KitShort(name, wanted[name], ready.at_most, limits, drafted.get("jar", 0)))
    return found
