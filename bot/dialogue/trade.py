"""What thinking is done with: the tables, the words of each language, the limits in force."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from zoneinfo import ZoneInfo

from ..model.message import Choice
from ..model.times import utc
from ..rules.area import Area
from ..rules.fields import CaseTable, Field, SampleTable
from ..rules.holding import HoldingTable
from ..rules.limits import Limits
from ..rules.method import MethodTable
from ..rules.par import ParTable
from ..rules.plan import PlanTable
from ..rules.worded import DEFAULT
from .wording import Words


@dataclass(frozen=True)
class Trade:
    """What thinking is done with: the tables, the words and the limits in force."""

    table: SampleTable
    case_table: CaseTable
    par: ParTable
    plan_table: PlanTable
    method: MethodTable
    holding: HoldingTable
    words: Words
    limits: Limits
    zone: ZoneInfo
    area: Area | None = None
    channels: frozenset[str] = frozenset()
    languages: Mapping[str, Words] = field(default_factory=dict)
    _spoken: dict[str, Trade] = field(default_factory=dict)
    _choices: dict[str, tuple[Choice, ...]] = field(default_factory=dict)

    def offset_minutes(self, at_us: int) -> int:
        """The unit's offset from UTC at an instant."""
        offset = utc(at_us).astimezone(self.zone).utcoffset()
        return 0 if offset is None else int(offset.total_seconds() // 60)

    def spoken(self, language: str | None) -> Trade:
        """The same in the words of a person's language. Raises KeyError for one that is not offered."""
        wanted = language or DEFAULT
        if wanted == self.words.language:
            return self
        if wanted not in self._spoken:
            self._spoken[wanted] = replace(self, words=self.languages[wanted], _spoken={}, _choices={})
        return self._spoken[wanted]

    def say_again(self, language: str | None, text: str) -> str:
        """A text of this trade's words in a person's language."""
        return self.spoken(language).words.said_again(text, self.words.language)

    def choices(self, asked: Field) -> tuple[Choice, ...]:
        """The choices that a field's question offers, each with its label."""
        if asked.id not in self._choices:
            self._choices[asked.id] = tuple(
                Choice(id=id_, label=self.words.say(f"choice.{asked.id}.{id_}")) for id_ in asked.asked
            )
        return self._choices[asked.id]
