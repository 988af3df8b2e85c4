"""The tables of the trade and the words of each language, as they are shipped, for a unit."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from importlib.resources import files
from zoneinfo import ZoneInfo

from .dialogue.turn import Trade
from .dialogue.wording import Words
from .model.people import Unit
from .rules.area import Area
from .rules.drills import Drill, parse_drill
from .rules.fields import CaseTable, SampleTable, parse_case_table, parse_sample_table
from .rules.holding import HoldingTable, parse_holding_table
from .rules.limits import limits_in_force
from .rules.method import MethodTable, parse_method_table
from .rules.par import ParTable, parse_par_table
from .rules.plan import PlanTable, parse_plan_table
from .rules.worded import DEFAULT, OFFERED


@lru_cache(maxsize=8)
def catalogue(language: str) -> Words:
    """A language's words, from its gettext catalogues."""
    from babel.messages.pofile import read_po

    words: dict[str, str] = {}
    for part in (files("bot.dialogue") / "catalogues" / language).iterdir():
        with part.open("rb") as file:
            words |= {str(message.id): str(message.string) for message in read_po(file) if message.id}
    return Words(words, language)


def table_text(name: str) -> str:
    """A table of the trade as it is shipped."""
    return (files("bot.rules") / "tables" / name).read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def tables() -> tuple[SampleTable, CaseTable]:
    """The questions of a jar and of a case."""
    samples = parse_sample_table(table_text("sample.toml"), table_text("languages.toml"))
    return samples, parse_case_table(table_text("case.toml"))


@lru_cache(maxsize=1)
def par_table() -> ParTable:
    """The par list."""
    return parse_par_table(table_text("par.toml"))


@lru_cache(maxsize=1)
def plan_table() -> PlanTable:
    """The samples that a case is offered."""
    return parse_plan_table(table_text("plan.toml"))


@lru_cache(maxsize=1)
def method_table() -> MethodTable:
    """Which device fits what is sampled."""
    return parse_method_table(table_text("method.toml"))


@lru_cache(maxsize=1)
def drills() -> dict[str, Drill]:
    """The exercise scripts that are shipped, by name."""
    found = (files("bot.rules") / "tables" / "drills").iterdir()
    scripts = [parse_drill(part.read_text(encoding="utf-8")) for part in found if part.name.endswith(".toml")]
    return {drill.name: drill for drill in scripts}


@lru_cache(maxsize=1)
def holding_table() -> HoldingTable:
    """The holding times, rule by rule."""
    return parse_holding_table(table_text("holding.toml"))


class Trades:
    """The tables, words and limits in force for a unit; made again only when the unit changed."""

    def __init__(self, channels: Iterable[str] = ()) -> None:
        self._channels = frozenset(channels)
        self._sample, self._case = tables()
        self._unit: Unit | None = None
        self._trade: Trade | None = None

    def of(self, unit: Unit) -> Trade:
        """What thinking is done with for this unit."""
        if self._trade is None or self._unit is not unit:
            self._unit = unit
            self._trade = Trade(
                table=self._sample,
                case_table=self._case,
                par=par_table(),
                plan_table=plan_table(),
                method=method_table(),
                holding=holding_table(),
                words=catalogue(DEFAULT),
                languages={language: catalogue(language) for language in OFFERED},
                limits=limits_in_force(unit.limits),
                zone=ZoneInfo(unit.zone),
                area=Area.parse(unit.area) if isinstance(unit.area, dict) else None,
                channels=self._channels,
            )
        return self._trade
