"""Kits: due to be looked at, due to be counted, to be restocked after use. Reminders, and never an alert."""

from __future__ import annotations

from ..model.due import Due
from ..model.entries import CaseClosed, Draft, KitInspected, KitUsed
from ..model.kit import Stock
from ..model.people import Kit
from ..rules.alerts import after_quiet, is_reachable
from ..rules.kit import due_again, stock_of
from .scene import Scene

KIT_DUE = "kit_due"
KIT_RESTOCK = "kit_restock"


def hear_kit(scene: Scene, draft: Draft) -> None:
    """Counted, its next look and count are due by cadence; used, it is to be restocked."""
    body = draft.body
    if not isinstance(body, KitInspected | KitUsed):
        return
    kit = scene.unit.kits.get(body.kit)
    if kit is None or kit.training:
        return
    if isinstance(body, KitUsed):
        _await_restock(scene, kit.name)
        return
    due = due_again(stock_of(scene.unit.stock, kit.name), scene.limits)
    for at_us in (due.look_us, due.count_us):
        if at_us is not None:
            _file(scene, KIT_DUE, kit.name, at_us)


def hear_closed(scene: Scene, draft: Draft) -> None:
    """The response is over: the kits of a real case are to be restocked before they go out again."""
    case = scene.case(draft.chain)
    if not isinstance(draft.body, CaseClosed) or case is None or case.exercise:
        return
    for name in case.kits:
        kit = scene.unit.kits.get(name)
        if kit is not None and not kit.training and stock_of(scene.unit.stock, name).begun_us is not None:
            _await_restock(scene, name)


def _await_restock(scene: Scene, kit: str) -> None:
    """Its row says since when, so that a kit seen to before the morning is let alone."""
    _file(scene, KIT_RESTOCK, f"{kit} {scene.now_us}", scene.now_us)


def _file(scene: Scene, kind: str, subject: str, at_us: int) -> None:
    """Nobody is woken for a kit; what follows from a text now comes after the answer to it."""
    at_us = max(at_us, scene.now_us + 1)
    scene.file(kind, subject, after_quiet(at_us, scene.unit.watch, scene.zone))


def remind_to_look(scene: Scene, due: Due) -> None:
    """Whoever counted it last hears that its look or its count is due; not where it was seen to since."""
    found = _kit(scene, due.subject)
    if found is None:
        return
    kit, stock = found
    again = due_again(stock, scene.limits)
    for sort, at_us in (("count", again.count_us), ("look", again.look_us)):
        if at_us is not None and after_quiet(at_us, scene.unit.watch, scene.zone) == due.due_us:
            _remind(scene, KIT_DUE, kit, stock, scene.word(f"watch.kit.{sort}", kit=kit.name))
            return


def remind_to_restock(scene: Scene, due: Due) -> None:
    """Whoever counted it last hears that it was used; not where it was looked at since."""
    name, _, since_us = due.subject.rpartition(" ")
    found = _kit(scene, name)
    if found is None or (found[1].seen_us or 0) >= int(since_us):
        return
    kit, stock = found
    _remind(scene, KIT_RESTOCK, kit, stock, scene.word("watch.kit.restock", kit=kit.name))


def _kit(scene: Scene, name: str) -> tuple[Kit, Stock] | None:
    """The kit that a row is about, None where it is none of theirs any more."""
    kit = scene.unit.kits.get(name)
    return None if kit is None else (kit, stock_of(scene.unit.stock, kit.name))


def _remind(scene: Scene, kind: str, kit: Kit, stock: Stock, text: str) -> None:
    scene.remind(kind, f"kit {kit.name}", keepers(scene, stock), text)


def keepers(scene: Scene, stock: Stock) -> tuple[str, ...]:
    """Whoever told of the kit last and can be reached, else the custodians, else the supervisors."""
    heard = [(one.at_us, name) for told in stock.heard.values() for name, one in told.items()]
    for _, name in sorted(heard, reverse=True):
        if is_reachable(scene.unit, name):
            return (name,)
    people = scene.unit.reachable("custodian") or scene.unit.reachable("supervisor")
    return tuple(person.name for person in people)
