"""What a person is told once in a case: a cleaner jar after a dirtier one, gloves that were not changed."""

from __future__ import annotations

from ..model.case import Case
from ..model.entries import FactTold, Warned
from ..model.keys import by_receipt
from ..model.sample import Sample
from ..rules.plan import out_of_order
from .turn import Turn


def warn_once(turn: Turn, case: Case, rule: str, jar: str | None = None) -> bool:
    """True the first time this person is told of a rule in this case; it is on record that they were."""
    if f"{turn.person.name}/{rule}" in case.plan.warned:
        return False
    turn.write(case.name, Warned(rule=rule, jar=jar))
    return True


def order_words(turn: Turn, sample: Sample) -> list[str]:
    """A sentence where this jar is cleaner than the last of the same hand; ships sail, so it is no query."""
    case = turn.case_named(sample.case)
    if case is None or f"{turn.person.name}/order" in case.plan.warned:
        return []
    mine = [s for s in turn.find(("by", turn.person.name)) if s.id != sample.id and s.struck is None]
    mine = [s for s in mine if s.case == sample.case]
    before = max(mine, key=by_receipt, default=None)
    if before is None or not out_of_order(sample, before, turn.trade.plan_table):
        return []
    warn_once(turn, case, "order", sample.number)
    return [turn.word("order.warn", number=sample.number, before=before.number)]


def gloves_words(turn: Turn, case: Case, facts: tuple[FactTold, ...]) -> list[str]:
    """A sentence where gloves were said not to be changed; the jar stands."""
    if any(fact.field == "gloves" and fact.value == "no" for fact in facts) and warn_once(
        turn, case, "gloves"
    ):
        return [turn.word("gloves.warn")]
    return []
