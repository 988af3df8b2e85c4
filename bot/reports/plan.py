"""What programs read of a plan: `show plan --json`. Fields may be added, never renamed."""

from __future__ import annotations

from typing import Any

from ..model.case import Case
from ..model.plan import Plan, Refusal
from ..model.times import iso_utc
from ..rules.plan import Line, Matrix


def plan_line(case: Case, matrix: Matrix) -> dict[str, Any]:
    """A case's plan as programs read it; what was not told is None."""
    plan = case.plan
    return {
        "case": case.name,
        "exercise": case.exercise,
        "wanted": [_line(line, line.count) for line in matrix.lines],
        "taken": [
            {"what": line.what, "kind": line.kind, "sample": number}
            for line in matrix.lines
            for number in line.taken
        ],
        "refused": [_refusal(one) for one in plan.refused],
        "impossible": [*_left(plan), *({"what": one.what, "why": one.why} for one in plan.impossible)],
        "missing": [_line(line, line.missing) for line in matrix.missing],
        "beside": list(matrix.beside),
        "suspects": [
            {"name": one.name, "tanks": list(one.tanks), "sails": one.sails[0] if one.sails else None}
            for one in plan.suspects.values()
        ],
        "told": {name: fact.raw for name, fact in sorted(plan.told.items()) if fact.value is not None},
        "struck": [{"field": fact.field, "raw": fact.raw} for fact in plan.before],
    }


def _line(line: Line, count: int) -> dict[str, Any]:
    return {"what": line.what, "kind": line.kind, "count": count}


def _left(plan: Plan) -> list[dict[str, Any]]:
    return [
        {"what": one.name, "why": f"left {one.left}".strip()}
        for one in plan.suspects.values()
        if one.left is not None
    ]


def _refusal(refusal: Refusal) -> dict[str, Any]:
    when = refusal.told.get("when")
    return {
        "what": refusal.what,
        "words": refusal.raw("words"),
        "by": refusal.raw("who"),
        "at": when.value if when is not None else None,
        "split": refusal.raw("split"),
        "told_by": refusal.told_by,
        "received_at": iso_utc(refusal.received_us),
    }
