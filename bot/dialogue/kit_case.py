"""What is said of a kit when a case is opened with it: only what somebody should know before they go."""

from __future__ import annotations

from ..model.case import Case
from ..rules.kit import readiness, stock_of
from .kit_said import result
from .turn import Turn


def kit_news(turn: Turn, case: Case, said: str) -> list[str]:
    """A name that is no kit, a kit that others have out too, a kit that is short: a sentence each."""
    words = [word.strip(".;") for word in said.replace(",", " ").split()]
    known = {name.lower() for name in turn.unit.kits}
    unknown = [word for word in words if word.lower() not in known and word.lower() not in ("kit", "and")]
    found = []
    if unknown and turn.unit.kits:
        names = " ".join(sorted(turn.unit.kits))
        found.append(turn.word("kit.case.unknown", words=" ".join(unknown)[:30], names=names))
    crew = turn.unit.with_role("responder")
    for name in case.kits:
        kit, stock = turn.unit.kits[name], stock_of(turn.unit.stock, name)
        for other in turn.every_case():
            apart = not set(other.people) & set(case.people)
            if other.name != case.name and name in other.kits and apart and other.exercise == case.exercise:
                people = " ".join(other.people)
                found.append(turn.word("kit.case.out", kit=name, case=other.name, people=people))
        if stock.begun_us is not None and _is_short(turn, name):
            found.append(f"{turn.word('kit.stands', kit=name)} {result(turn, kit, crew, brief=True)}")
    return found


def _is_short(turn: Turn, name: str) -> bool:
    stock = stock_of(turn.unit.stock, name)
    crew = turn.unit.with_role("responder")
    ready = readiness(turn.trade.par, turn.unit.kits[name], stock, crew)
    return ready.at_most < stock.jars
