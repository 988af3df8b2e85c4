"""Exercise scripts: what is said when, and what is asked for. Invented; common practice, no source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from pydantic import Field

from ..model.base import Frozen
from ..model.sample import Sample
from ..model.times import MINUTE_US
from .plan import PlanTable
from .plan import out_of_order as jar_out_of_order

REAL = "-REAL"  # what a real case that came out of a drill is called after the drill's name


class Step(Frozen):
    """One text, `at` minutes after the beginning, to the crew or to the instructor."""

    at: float = Field(ge=0)
    to: str = Field(pattern="^(crew|instructor)$")
    text: str


class Drill(Frozen):
    """A script; `wanted` is what the crew is asked for, kind to count."""

    name: str
    title: str
    minutes: float
    wanted: dict[str, int]
    step: tuple[Step, ...]


def parse_drill(text: str) -> Drill:
    """The script from its TOML. Raises pydantic's ValidationError where it is not one."""
    return Drill.model_validate(tomllib.loads(text))


def timed(drill: Drill, begin_us: int, pace: float, values: Mapping[str, object]) -> list[tuple[int, Step]]:
    """Each step with its instant, its text filled in; twice the pace is half the time."""
    return [
        (
            begin_us + int(step.at * MINUTE_US / pace),
            step.model_copy(update={"text": step.text.format_map(dict(values))}),
        )
        for step in drill.step
    ]


def out_of_order(samples: list[Sample], table: PlanTable) -> list[tuple[Sample, Sample]]:
    """(cleaner, dirtier) for each jar that the same person took after a dirtier one; the nearest such."""
    found = []
    told = [s for s in samples if s.struck is None and s.event_us is not None]
    for sample in sorted(told, key=lambda s: s.event_us or 0):
        before = [one for one in told if one is not sample and one.declared_by == sample.declared_by]
        dirtier = [one for one in before if jar_out_of_order(sample, one, table)]
        if dirtier:
            found.append((sample, max(dirtier, key=lambda one: one.event_us or 0)))
    return found
