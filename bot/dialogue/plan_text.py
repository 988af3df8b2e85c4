"""A plan in words: what is offered, what became of it, what is still wanted. It never says who it was."""

from __future__ import annotations

from collections.abc import Iterable

from ..model.case import Case
from ..model.plan import Plan, Refusal
from ..rules.gsm import septets
from ..rules.plan import Line, Matrix, matrix_of
from .turn import Turn

LONG, SHORT = 190, 80  # septets of a list: a plan of ninety suspects is still three SMS
REFUSAL = ("words", "who", "when", "split")


def plan_matrix(turn: Turn, case: Case) -> Matrix:
    """The plan against every jar of its case."""
    return matrix_of(case.plan, turn.jars_of(case.name), turn.trade.plan_table, turn.trade.limits)


def line_name(turn: Turn, line: Line, plan: Plan) -> str:
    """What people call a line; a suspect's by its name and tank as they were told."""
    if line.suspect is not None:
        return line.what
    sort, _, shore = line.what.partition(" ")
    if shore:
        return turn.word(f"plan.line.{sort}", shore=turn.word(f"plan.shore.{shore}"))
    if line.kind == "material_blank":
        return turn.word(f"plan.line.material_blank.{plan.text('oil') or 'other'}")
    if line.what == "spill" and line.taken:
        return turn.word("plan.line.spill.one")
    small = line.what == "spill" and line.count < turn.trade.limits.plan_spill_points
    return turn.word("plan.line.spill.small" if small else f"plan.line.{line.what}")


def wanted_text(turn: Turn, lines: Iterable[Line], plan: Plan, most: int = LONG) -> str:
    """Lines with how many of each are missing; a suspect's tanks stand behind its name once."""
    parts: list[str] = []
    last = None
    for line in lines:
        if line.suspect is None:
            parts.append(f"{line.missing} {line_name(turn, line, plan)}")
        elif line.suspect == last and line.tank is not None:
            parts[-1] += f" {line.tank}"
        else:
            parts.append(line.what)
        last = line.suspect
    return listed(turn, parts, most)


def listed(turn: Turn, parts: list[str], most: int) -> str:
    """Comma by comma; what would grow longer than `most` septets is counted."""
    kept: list[str] = []
    for part in parts:
        if kept and septets_of(", ".join((*kept, part))) > most:
            break
        kept.append(shortened(part, most))
    more = len(parts) - len(kept)
    return ", ".join(kept) + (turn.word("plan.more", count=more) if more else "")


def septets_of(text: str) -> int:
    """How long a text is in an SMS; what has no place in one counts as one."""
    taken = septets(text)
    return taken if isinstance(taken, int) else len(text)


def shortened(text: str, most: int) -> str:
    """The text, or its beginning where it is longer; the whole stands on record."""
    return text if len(text) <= most else f"{text[: most - 2]}.."


def say_plan(turn: Turn, case: Case, prefix: str = "") -> None:
    """What is offered, or what is still wanted and what became of the rest."""
    plan, matrix = case.plan, plan_matrix(turn, case)
    begun = any(line.taken or line.refused or line.impossible for line in matrix.lines) or matrix.beside
    wanted = wanted_text(turn, matrix.missing, plan)
    if not begun:
        turn.say(prefix + turn.word("plan.offer", case=case.name, wanted=wanted, jars=matrix.jars))
        return
    key = "plan.state" if matrix.missing else "plan.state.none"
    text = turn.word(key, case=case.name, wanted=wanted, jars=matrix.jars)
    turn.say(" ".join((prefix + text, *_became(turn, plan, matrix))))


def _became(turn: Turn, plan: Plan, matrix: Matrix) -> list[str]:
    taken = [f"{' '.join(line.taken)} {line_name(turn, line, plan)}" for line in matrix.lines if line.taken]
    refused = list(dict.fromkeys(one.what for one in plan.refused))
    gone = [one.name for one in plan.suspects.values() if one.left is not None]
    impossible = [turn.word("plan.left", name=name) for name in gone]
    impossible += [f"{one.what} ({shortened(one.why, 30)})" for one in plan.impossible]
    said = []
    for sort, parts in (
        ("taken", taken),
        ("refused", refused),
        ("impossible", impossible),
        ("beside", list(matrix.beside)),
    ):
        if parts:
            said.append(turn.word(f"plan.{sort}", list=listed(turn, parts, SHORT)))
    return said


def lacking(refusal: Refusal) -> tuple[str, ...]:
    """What of a refusal nobody has said yet."""
    return tuple(field for field in REFUSAL if field not in refusal.told)


def owed(turn: Turn, plan: Plan) -> str:
    """The first refusal that lacks something, and how to tell it; empty where none does."""
    for refusal in plan.refused:
        fields = lacking(refusal)
        if fields:
            names = ", ".join(turn.word(f"plan.{field}.name") for field in fields)
            return turn.word("plan.owed", name=refusal.what, fields=names)
    return ""
