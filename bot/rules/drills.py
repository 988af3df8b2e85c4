"""Exercise scripts: what is said when, and what is asked for. Invented; common practice, no source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from pydantic import Field

from ..model.base import Frozen
from ..model.sample import Sample
from ..model.times import MINUTE_US

REAL = "-REAL"  # what a real case that came out of a drill is called after the drill's name
# Cleanest first, common practice, no source: what is handled later may carry oil to what is handled after.
_RANK = {"material_blank": 0, "field_blank": 0, "background": 1, "unoiled_reference": 1, "source": 4}


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


def rank(sample: Sample) -> int | None:
    """Where a jar stands in the order of taking, None while its kind is not stated."""
    kind = sample.text("kind")
    if kind in ("spill", "duplicate", "split"):
        return 2 if sample.text("matrix") == "sheen" else 3
    return None if kind is None else _RANK.get(kind)


def out_of_order(samples: list[Sample]) -> list[tuple[Sample, Sample]]:
    """(cleaner, dirtier) for each jar that the same person took after a dirtier one; the nearest such."""
    found = []
    told = [s for s in samples if s.struck is None and s.event_us is not None and rank(s) is not None]
    for sample in sorted(told, key=lambda s: s.event_us or 0):
        before = [
            one
            for one in told
            if one.declared_by == sample.declared_by
            and (one.event_us or 0) < (sample.event_us or 0)
            and (rank(one) or 0) > (rank(sample) or 0)
        ]
        if before:
            found.append((sample, max(before, key=lambda one: one.event_us or 0)))
    return found
