"""The samples a case is offered, and how they stand against the jars: wanted, taken, refused, impossible.

Nothing here says which suspect it was: they stand in the order they were named, with a line for each tank.
Source of the practice, row by row: `tables/plan.toml`.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Sequence

from ..model.base import Frozen
from ..model.plan import Plan, Suspect
from ..model.sample import Sample
from .limits import Limits


class Row(Frozen):
    """One sort of sample: `count`, `small_sheen` and `per` are names of limits."""

    id: str
    kind: str
    count: str | None = None
    small_sheen: str | None = None
    per: str | None = None
    words: tuple[str, ...]
    source: str


class Shore(Frozen):
    """A type of shore, and the matrix of jars from it."""

    id: str
    matrix: str
    words: tuple[str, ...]


class Step(Frozen):
    """A step of the order: kinds, of these matrices where any are named."""

    kinds: tuple[str, ...]
    matrices: tuple[str, ...] = ()


class PlanTable(Frozen):
    """The rows, shores and the order."""

    row: tuple[Row, ...]
    shore: tuple[Shore, ...]
    step: tuple[Step, ...]


def parse_plan_table(text: str) -> PlanTable:
    """The table from its TOML. Raises pydantic's ValidationError where it is not one."""
    return PlanTable.model_validate(tomllib.loads(text))


class Line(Frozen):
    """One line of a plan: how many, which jars (by number) were taken for it, what else became of it."""

    what: str
    kind: str
    count: int
    suspect: str | None = None
    tank: str | None = None
    taken: tuple[str, ...] = ()
    refused: bool = False
    impossible: bool = False

    @property
    def missing(self) -> int:
        """How many are still wanted: none of what was refused or cannot be had, which fills no gap."""
        return 0 if self.refused or self.impossible else max(0, self.count - len(self.taken))


class Matrix(Frozen):
    """A whole plan; `beside` are source jars that no line speaks of."""

    lines: tuple[Line, ...]
    beside: tuple[str, ...] = ()

    @property
    def missing(self) -> tuple[Line, ...]:
        """The lines of which something is still wanted."""
        return tuple(line for line in self.lines if line.missing)

    @property
    def jars(self) -> int:
        """How many jars are still wanted."""
        return sum(line.missing for line in self.lines)


def matrix_of(plan: Plan, jars: Iterable[Sample], table: PlanTable, limits: Limits) -> Matrix:
    """The plan with what became of each line; struck jars count for nothing."""
    standing = [jar for jar in jars if jar.struck is None]
    lines = _offered(plan, table, limits)
    taken, beside = _placed(lines, standing, plan, table)
    refused = {one.what for one in plan.refused}
    impossible = {one.what for one in plan.impossible}
    told = []
    for line in lines:
        gone = line.suspect is not None and plan.suspects[line.suspect].left is not None
        change = {
            "taken": tuple(taken.get(line.what, ())),
            "count": max(line.count, _lots(standing)) if line.kind == "material_blank" else line.count,
            "refused": bool({line.what, line.suspect} & refused),
            "impossible": gone or bool({line.what, line.suspect} & impossible),
        }
        told.append(line.model_copy(update=change))
    return Matrix(lines=tuple(told), beside=tuple(beside))


def _offered(plan: Plan, table: PlanTable, limits: Limits) -> list[Line]:
    """Cleanest first; duplicates by the rate of all that is oil."""
    lines = [_counted(row, plan, limits) for row in table.row if row.count is not None]
    shores = [shore for shore in table.shore if shore.id in plan.text("shore").split()]
    clean = [Line(what=f"reference {shore.id}", kind="unoiled_reference", count=1) for shore in shores]
    oiled = [Line(what=f"oiled {shore.id}", kind="spill", count=1) for shore in shores]
    place = next((at for at, line in enumerate(lines) if line.kind == "spill"), len(lines))
    lines = [*lines[:place], *clean, *lines[place:], *oiled]
    lines.extend(line for suspect in plan.suspects.values() for line in _sources(suspect))
    oil = sum(line.count for line in lines if line.kind in ("spill", "source"))
    for row in table.row:
        if row.per is not None:
            count = math.ceil(oil / _figure(row.per, limits))
            lines.append(Line(what=row.id, kind=row.kind, count=count))
    return lines


def _counted(row: Row, plan: Plan, limits: Limits) -> Line:
    small = plan.text("oil") == "sheen" and plan.text("extent") == "small"
    name = row.small_sheen if small and row.small_sheen is not None else row.count
    return Line(what=row.id, kind=row.kind, count=_figure(name or "", limits))


def _figure(name: str, limits: Limits) -> int:
    """The limit that a row names. KeyError: a table that names none."""
    figures = {
        "plan_blanks": limits.plan_blanks,
        "plan_backgrounds": limits.plan_backgrounds,
        "plan_spill_points": limits.plan_spill_points,
        "plan_sheen_points": limits.plan_sheen_points,
        "plan_jars_per_duplicate": limits.plan_jars_per_duplicate,
    }
    return figures[name]


def _sources(suspect: Suspect) -> list[Line]:
    if not suspect.tanks:
        return [Line(what=suspect.name, kind="source", count=1, suspect=suspect.name)]
    return [
        Line(what=f"{suspect.name} {tank}", kind="source", count=1, suspect=suspect.name, tank=tank)
        for tank in suspect.tanks
    ]


def _lots(jars: Sequence[Sample]) -> int:
    """How many lots of nets or pads were told: each has its own blank."""
    lots = (jar.text("device_lot") for jar in jars if jar.text("kind") != "material_blank")
    return len({lot.lower() for lot in lots if lot is not None})


def _placed(
    lines: Sequence[Line], jars: Sequence[Sample], plan: Plan, table: PlanTable
) -> tuple[dict[str, list[str]], list[str]]:
    """Which jars were taken for which line, and the source jars of none."""
    taken: dict[str, list[str]] = {}
    beside: list[str] = []
    lots: set[str] = set()
    shores = {shore.matrix: shore.id for shore in table.shore}
    known = {line.what for line in lines}
    for jar in jars:
        if _same_lot_again(jar, lots):
            continue
        what = _line_of(jar, plan, shores, known)
        if what in known:
            taken.setdefault(what, []).append(jar.number)
        elif jar.text("kind") == "source":
            beside.append(jar.number)
    return taken, beside


def _same_lot_again(jar: Sample, lots: set[str]) -> bool:
    """True for a second material blank of one lot: it stands for no other lot."""
    lot = jar.text("device_lot") if jar.text("kind") == "material_blank" else None
    if lot is None:
        return False
    again = lot.lower() in lots
    lots.add(lot.lower())
    return again


def _line_of(jar: Sample, plan: Plan, shores: dict[str, str], known: set[str]) -> str:
    kind, matrix = jar.text("kind") or "", jar.text("matrix") or ""
    if kind == "source":
        return source_line(jar, plan)
    if kind == "unoiled_reference":
        return f"reference {shores.get(matrix, '')}"
    oiled = f"oiled {shores.get(matrix, '')}"
    return oiled if kind == "spill" and oiled in known else kind


def source_line(jar: Sample, plan: Plan) -> str:
    """The line of a source jar by the suspect and tank told for it, empty where they name none surely."""
    tank = _bare(jar.text("tank") or "")
    suspect = _suspect_of(jar, plan, tank)
    if suspect is None:
        return ""
    alone = _bare(f" {tank} ".replace(f" {suspect.name.lower()} ", " "))
    for own in suspect.tanks:
        if alone and alone == _bare(own):
            return f"{suspect.name} {own}"
    return "" if suspect.tanks else suspect.name


def _suspect_of(jar: Sample, plan: Plan, tank: str) -> Suspect | None:
    """The one that the jar names, else the only one with such a tank, else the only one there is."""
    said = " ".join(" ".join(jar.text(field) or "" for field in ("vessel", "tank", "place")).lower().split())
    everyone = sorted(plan.suspects.values(), key=lambda one: len(one.name), reverse=True)
    named = [one for one in everyone if f" {one.name.lower()} " in f" {said} "]
    if named:
        rivals = [one for one in named[1:] if one.name.lower() not in named[0].name.lower()]
        return None if rivals else named[0]
    owners = [one for one in everyone if tank and tank in {_bare(own) for own in one.tanks}] or everyone
    return owners[0] if len(owners) == 1 else None


def _bare(tank: str) -> str:
    """The name on the plate without the words around it."""
    return " ".join(word for word in tank.lower().split() if word not in ("tank", "the"))


def step_of(jar: Sample, table: PlanTable) -> int | None:
    """Which step of the order a jar is, None where what was told of it does not say."""
    kind, matrix = jar.text("kind"), jar.text("matrix")
    for place, step in enumerate(table.step):
        if kind in step.kinds and (not step.matrices or matrix in step.matrices):
            return place
    return None


def out_of_order(jar: Sample, before: Sample | None, table: PlanTable) -> bool:
    """True where a cleaner jar follows a dirtier one of the same hand, as far as both tell it."""
    if before is None:
        return False
    here, there = step_of(jar, table), step_of(before, table)
    if here is None or there is None or here >= there:
        return False
    return before.event_us is None or jar.event_us is None or before.event_us <= jar.event_us
