"""Which fields a sample has, when each is wanted, and where it applies (the sample table)."""

from __future__ import annotations

import tomllib
import unicodedata
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any, Protocol

from pydantic import ConfigDict

from ..model.base import Frozen
from ..model.sample import Sample


class Tells(Protocol):
    """What knows, by a field's id, the word told for it."""

    def text(self, field: str) -> str | None:
        """The word told, None or empty where none was."""


class Option(Frozen):
    """One choice, with the words that people say for it."""

    id: str
    words: tuple[str, ...]


class Field(Frozen):
    """One field. It applies where any map in `only` fits: other field to its values ("" unknown)."""

    id: str
    stage: str
    reader: str
    words: tuple[str, ...] = ()
    keeps_word: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    choices: tuple[Option, ...] = ()
    only: tuple[dict[str, tuple[str, ...]], ...] = ()
    limits: tuple[float, float] | None = None
    same: bool = False
    greedy: bool = False
    walked: bool = True
    instead_of: str | None = None
    alone: str | None = None
    listed_as: str | None = None

    @property
    def free(self) -> bool:
        """True where any words are an answer."""
        return self.reader in ("text", "appearance")

    def applies(self, sample: Tells) -> bool:
        """True where this field has a meaning for this sample or plan, as far as it is told."""
        for where in self.only:
            for other, values in where.items():  # plain loops: every text asks this of every field
                if (sample.text(other) or "") not in values:
                    break
            else:
                return True
        return not self.only

    def holds(self, sample: Sample) -> bool:
        """True where something is on record for it."""
        if self.id == "photo":
            return bool(sample.photos)
        if self.id == "position":
            return "position" in sample.facts or "place" in sample.facts
        if self.id == "seal":
            return "seal" in sample.facts or "seal_reason" in sample.facts
        return self.id in sample.facts


class SampleTable(Frozen):
    """The fields in the order of the hand, and the two orders in which texts list them."""

    model_config = ConfigDict(frozen=True, extra="forbid", ignored_types=(cached_property,))
    not_stated: tuple[str, ...]
    read_back: tuple[str, ...]
    field: tuple[Field, ...]

    @cached_property
    def by_id(self) -> dict[str, Field]:
        """Every field by its id."""
        return {field.id: field for field in self.field}

    @cached_property
    def by_word(self) -> dict[str, Field]:
        """The field that a word announces inside a whole line."""
        return {word: field for field in self.field for word in field.words}

    @cached_property
    def option_words(self) -> dict[tuple[str, ...], tuple[Field, Option]]:
        """The choice that one, two or three words in a row name."""
        return {
            tuple(phrase.split()): (field, option)
            for field in self.field
            for option in field.choices
            for phrase in option.words
        }

    def missing(self, sample: Sample) -> list[str]:
        """The *now* fields that apply and hold nothing, in the order texts list them."""
        fields = (self.by_id[id_] for id_ in self.not_stated if id_ in self.by_id)
        return [f.id for f in fields if f.stage == "now" and not f.holds(sample) and f.applies(sample)]

    def listed(self, sample: Sample) -> list[str]:
        """`missing` under the names that programs read."""
        return [self.by_id[id_].listed_as or id_ for id_ in self.missing(sample)]

    @cached_property
    def now(self) -> tuple[Field, ...]:
        """What is asked before the jar leaves the hand, with what is asked instead of a skipped field."""
        return tuple(f for f in self.field if f.stage == "now" or f.instead_of is not None)

    @cached_property
    def later(self) -> tuple[Field, ...]:
        """What is wanted by the first transfer, then before the transmittal, then what is optional."""
        stages = ("transfer", "transmittal", "optional")
        return tuple(field for stage in stages for field in self.field if field.stage == stage)


def parse_sample_table(text: str, languages: str = "") -> SampleTable:
    """The table from its TOML, with the words of other languages from theirs.

    Raises pydantic's ValidationError where it is none, and KeyError where a language names no choice of it.
    """
    table = tomllib.loads(text)
    fields = {field["id"]: field for field in table["field"]}
    for parts in tomllib.loads(languages).values():
        for part, words in parts.items():
            for id_, more in words.items():
                where = fields[id_] if part == "field" else _option(fields[part], id_)
                known = where.setdefault("words", [])
                known.extend(form for form in _forms(more) if form not in known)
    return SampleTable.model_validate(table)


def _option(field: dict[str, Any], id_: str) -> dict[str, Any]:
    by_id: dict[str, dict[str, Any]] = {option["id"]: option for option in field["choices"]}
    return by_id[id_]


def _forms(words: Iterable[str]) -> Iterator[str]:
    """Each word as it is written, and as it is typed in a hurry."""
    for word in words:
        yield word
        yield plain(word)


def plain(word: str) -> str:
    """The word without accents: é as e, å as a, and ø as o."""
    apart = unicodedata.normalize("NFKD", word.replace("ø", "o"))
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


class CaseTable(Frozen):
    """The questions that open a case (stage *now*), and those that its plan asks, in order."""

    model_config = ConfigDict(frozen=True, extra="forbid", ignored_types=(cached_property,))
    field: tuple[Field, ...]

    @cached_property
    def opening(self) -> tuple[Field, ...]:
        """What is asked before a case is open."""
        return tuple(field for field in self.field if field.stage == "now")

    @cached_property
    def planned(self) -> dict[str, Field]:
        """What is asked when the plan is asked for, by id."""
        return {field.id: field for field in self.field if field.stage == "plan"}


def parse_case_table(text: str) -> CaseTable:
    """The table from its TOML. Raises pydantic's ValidationError where it is not one."""
    return CaseTable.model_validate(tomllib.loads(text))
