"""Which rules a jar's newly told fields are held against."""

from __future__ import annotations

from ..model.case import Case
from ..model.keys import by_receipt
from ..model.people import Kit
from ..model.sample import Sample
from ..rules.checks import (
    Finding,
    hot_oil,
    number_block,
    place_in_area,
    seal_range,
    speed_between,
    time_order,
)
from ..rules.seals import is_blind
from .turn import Turn

SAID_IN_HOURS = 120  # minutes


def findings(turn: Turn, sample: Sample, changed: set[str]) -> list[Finding]:
    """Every difference in these fields; `number` is asked for by the one who declares."""
    case = turn.case_named(sample.case)
    found: list[Finding] = []
    if case is None:
        return found
    if "number" in changed:
        found.extend(number_block(sample.number_key, kits_of(turn, case)))
    if "seal" in changed and sample.seal is not None:
        found.extend(seal_findings(turn, sample, sample.seal))
    if "oil_temp" in changed:
        found.extend(hot_oil(sample, turn.trade.limits))
    if "time" in changed or "position" in changed:
        found.extend(_track(turn, sample, case, changed))
    return found


def wording_of(turn: Turn, finding: Finding) -> str:
    """The finding as its sentence."""
    values = dict(finding.values)
    if "minutes" in values:
        values["span"] = span_text(turn, int(values.pop("minutes")))
    return turn.word(f"query.{finding.rule}", **values)


def span_text(turn: Turn, minutes: int) -> str:
    """Minutes as people say them: 90 min, 2 h 5 min."""
    hours, rest = divmod(minutes, 60) if minutes >= SAID_IN_HOURS else (0, minutes)
    return turn.word("plan.span" if hours else "plan.span.min", hours=hours, minutes=rest)


def kits_of(turn: Turn, case: Case) -> list[Kit]:
    """The kits that this case uses, as far as the unit has them."""
    return [turn.board.unit.kits[name] for name in case.kits if name in turn.board.unit.kits]


def seal_findings(turn: Turn, sample: Sample, seal: str) -> list[Finding]:
    """The seal lies outside the case's kits, or is another jar's anywhere in the unit."""
    case = turn.case_named(sample.case)
    found = list(seal_range(seal, kits_of(turn, case))) if case is not None else []
    keys = (("seal", seal.upper()), ("reseal", seal.upper()))
    turn.need(keys)
    others = [s for key in keys for s in turn.find(key) if s.id != sample.id]
    if others:
        unseen = any(is_blind(other, turn.person.name) for other in others)
        rule = "seal_twice_unseen" if unseen else "seal_twice"
        found.append(Finding(field="seal", rule=rule, values={"other": others[0].number}))
    return found


def _track(turn: Turn, sample: Sample, case: Case, changed: set[str]) -> list[Finding]:
    mine = [s for s in turn.find(("by", sample.declared_by)) if s.id != sample.id and s.struck is None]
    mine = [s for s in mine if s.case == sample.case]  # an exercise says nothing of a real case
    found: list[Finding] = []
    if "time" in changed:
        told = [s for s in mine if s.event_us is not None and s.case == sample.case]
        before = max(told, key=lambda s: (s.said_us, *by_receipt(s)), default=None)
        found.extend(time_order(sample, case.opened_us, before, turn.trade.limits))
    if sample.place is not None:
        if "position" in changed:
            found.extend(place_in_area(sample.place, turn.trade.area))
        placed = [s for s in mine if s.place is not None]
        last = max(placed, key=lambda s: (s.event_us or s.said_us, *by_receipt(s)), default=None)
        found.extend(speed_between(sample, last, turn.trade.limits))
    return found
