"""Which device fits what is sampled, how it is reached and how much of it there is (`tables/method.toml`)."""

from __future__ import annotations

import tomllib
from functools import cached_property

from pydantic import ConfigDict

from ..model.base import Frozen
from ..model.sample import Sample


class Situation(Frozen):
    """What is sampled, by what is told of the jar or by the words for it."""

    id: str
    kinds: tuple[str, ...] = ()
    matrices: tuple[str, ...] = ()
    tanks: tuple[str, ...] = ()
    words: tuple[str, ...]

    def fits(self, jar: Sample) -> bool:
        """True where everything that this situation asks for is told of the jar."""
        tank = (jar.text("tank") or "").lower().split()
        return (
            bool(self.kinds or self.matrices)
            and (not self.kinds or jar.text("kind") in self.kinds)
            and (not self.matrices or jar.text("matrix") in self.matrices)
            and (not self.tanks or bool(set(tank) & set(self.tanks)))
        )


class Word(Frozen):
    """What people say of access or amount."""

    id: str
    axis: str
    words: tuple[str, ...]


class Advice(Frozen):
    """One row. `devices` in the order they are tried, `blank` the unused thing for a jar of its own."""

    id: str
    situation: str
    access: str = ""
    amount: str = ""
    devices: tuple[str, ...]
    blank: str = ""


class MethodTable(Frozen):
    """Situations, words and rows."""

    model_config = ConfigDict(frozen=True, extra="forbid", ignored_types=(cached_property,))

    situation: tuple[Situation, ...]
    word: tuple[Word, ...]
    advice: tuple[Advice, ...]

    def pick(self, situation: str, access: str = "", amount: str = "") -> Advice:
        """The first row that fits; every situation has one that asks for nothing more."""
        for row in self.advice:
            fits = row.situation == situation and row.access in ("", access) and row.amount in ("", amount)
            if fits:
                return row
        raise KeyError(situation)

    def of_jar(self, jar: Sample) -> str:
        """The situation by what is told of a jar."""
        return next((one.id for one in self.situation if one.fits(jar)), "other")

    @cached_property
    def phrases(self) -> dict[str, tuple[str, str]]:
        """(axis, id) by what people say for it, the longest first."""
        phrases = {word: (one.axis, one.id) for one in self.word for word in one.words}
        phrases |= {word: ("situation", one.id) for one in self.situation for word in one.words}
        return {phrase: phrases[phrase] for phrase in sorted(phrases, key=len, reverse=True)}

    def read(self, text: str) -> dict[str, str] | None:
        """Situation, access and amount that the whole text names; None where it says anything else."""
        said = " ".join(text.lower().replace(",", " ").rstrip(".!?").split())
        read: dict[str, str] = {}
        while said:
            found = next((phrase for phrase in self.phrases if _begins(said, phrase)), None)
            if found is None:
                return None
            axis, name = self.phrases[found]
            read.setdefault(axis, name)
            said = said[len(found) :].removeprefix(" and").strip()
        return read or None


def _begins(said: str, phrase: str) -> bool:
    return said == phrase or said.startswith(f"{phrase} ")


def parse_method_table(text: str) -> MethodTable:
    """The table from its TOML. Raises pydantic's ValidationError where it is not one."""
    return MethodTable.model_validate(tomllib.loads(text))
