"""The par list: what a kit holds that is ready for N jars, and what a jar uses of it."""

from __future__ import annotations

import tomllib
from difflib import get_close_matches
from functools import cached_property
from math import ceil

from pydantic import ConfigDict

from ..model.base import Frozen
from ..model.entries import Addition

BASIC_JARS = 16  # the basic kit, common practice, no source
NEAR = 0.6  # share of letters in common from which a name counts as near


class ParItem(Frozen):
    """One thing of the list; the columns are explained in the table itself."""

    id: str
    words: tuple[str, ...]
    group: str
    place: str
    per_jar: float | None = None
    plus: int = 0
    least: int = 0
    holds: float | None = None
    vital: bool = False
    reader: str = "count"
    wrapped: bool = False
    plain: bool = False
    look: str | None = None
    buy: int
    called: bool = False
    source: str

    @property
    def name(self) -> str:
        """How texts name it."""
        return self.words[0]

    def par(self, jars: int) -> int:
        """How many belong in a kit that is to serve this many jars."""
        # Rounded first, so that 0.1 * 30 is 3 and not a little more.
        scaled = 0 if self.per_jar is None else ceil(round(self.per_jar * jars, 9)) + self.plus
        return max(self.least, scaled)


class ParTable(Frozen):
    """The whole list, and `use`: item to count by method ("each": every jar, "handover": each one)."""

    model_config = ConfigDict(frozen=True, extra="forbid", ignored_types=(cached_property,))
    item: tuple[ParItem, ...]
    use: dict[str, dict[str, int]]

    @cached_property
    def by_id(self) -> dict[str, ParItem]:
        """Every item by its id."""
        return {item.id: item for item in self.item}

    @cached_property
    def by_word(self) -> dict[tuple[str, ...], ParItem]:
        """The item that one, two or three words in a row name."""
        return {tuple(phrase.split()): item for item in self.item for phrase in item.words}

    def with_more(self, more: tuple[Addition, ...]) -> ParTable:
        """The list with a unit's own additions; one that bears a listed id changes that item's figure."""
        if not more:
            return self
        items = {item.id: item for item in self.item}
        for one in more:
            known = items.get(one.item)
            change = one.model_dump(exclude={"item", "words"}, exclude_none=True)
            if known is not None:
                items[one.item] = known.model_copy(update=change)
                continue
            words = one.words or (one.item.lower().replace("_", " "),)
            own = {"group": "record", "place": "carrier", "buy": 29, "source": "the unit's own"} | change
            items[one.item] = ParItem(id=one.item, words=words, **own)
        return ParTable(item=tuple(items.values()), use=self.use)

    def near(self, word: str) -> list[str]:
        """The names nearest to a word that is none, best first, at most three."""
        names = {" ".join(words): item.name for words, item in self.by_word.items()}
        close = get_close_matches(word.lower(), names, n=6, cutoff=NEAR)
        return list(dict.fromkeys(names[one] for one in close))[:3]

    def used_by(self, method: str | None) -> dict[str, int]:
        """What one jar taken this way used, as far as the table knows: a draft."""
        return self.use["each"] | self.use.get(method or "", {})


def parse_par_table(text: str) -> ParTable:
    """The list from its TOML. Raises pydantic's ValidationError where it is not one."""
    return ParTable.model_validate(tomllib.loads(text))
