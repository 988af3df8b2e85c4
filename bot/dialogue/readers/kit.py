"""What is in a kit, as people type it: items with counts, sizes, ranges, and what does not count."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ...model.entries import ItemTold
from ...rules.kit import seal_numbers
from ...rules.par import ParItem, ParTable
from .amounts import TemperatureTold, read_temperature
from .base import Ask, folded

FINE = frozenset(("ok", "okay", "fine", "good", "whole", "yes", "dry", "there", "present", "clean", "shut"))
NONE = frozenset(("none", "no", "nil", "missing", "gone", "empty", "zero"))
OUT = frozenset(
    ("opened", "open", "chipped", "cracked", "broken", "dirty", "wet", "damp", "dead", "torn", "loose")
)
TREATED = frozenset(("waxed", "tarred"))
PLAIN = frozenset(("unwaxed", "untarred", "plain"))
AT = frozenset(("at", "on", "inside"))
FILLER = frozenset(
    (
        *("both", "all", "them", "and", "&", "x", "of", "until", "due"),
        *("box", "boxes", "roll", "rolls", "kg", "pcs"),
    )
)
SIZES = frozenset(("XXS", "XS", "S", "M", "L", "XL", "XXL", "XXXL", "6", "7", "8", "9", "10", "11", "12"))
_COUNT = re.compile(r"[-+]?\d{1,7}")
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?")
_RANGE = re.compile(r"([A-Za-z]{0,3}-?\d{1,10})-([A-Za-z]{0,3}-?\d{1,10})")
_FROM_TO = re.compile(r"\b([A-Za-z]{0,3}\d{3,10})\s*(?:-|\bto\b|\bthrough\b)\s*([A-Za-z]{0,3}\d{3,10})\b")
_SEAL = re.compile(r"[A-Za-z]{0,3}-?\d{1,10}")
_DATE = re.compile(r"(\d{4})-(0[1-9]|1[0-2])(?:-(0[1-9]|[12]\d|3[01]))?")


@dataclass(slots=True)
class KitRead:
    """What was read: items told, what must be asked about some of them, and words that name no item."""

    told: list[ItemTold] = field(default_factory=list)
    doubts: list[Ask] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)


@dataclass(slots=True)
class _Item:
    """An item being read."""

    item: ParItem
    count: str | None = None
    ok: bool = False
    none: bool = False
    out: int | None = None
    why: str | None = None
    plain: bool = False
    stands: bool = False
    sizes: list[str] = field(default_factory=list)
    latex: list[str] = field(default_factory=list)
    in_latex: bool = False
    seals: list[tuple[str, str]] = field(default_factory=list)
    celsius: float | None = None
    date: str | None = None
    place: list[str] = field(default_factory=list)
    in_place: bool = False
    words: list[str] = field(default_factory=list)


def read_items(
    text: str,
    table: ParTable,
    jars: int,
    times_par: float,
    one: ParItem | None = None,
    counts_only: bool = False,
) -> KitRead:
    """Everything that the words tell of a kit; `one` is the item that they are about until they name another.

    `jars` and `times_par` say which counts are absurd: these are asked again, "stands" makes them hold.
    With `counts_only` seals and gloves need no range and no sizes.
    """
    reading = _Reading(table, one)
    joined = _FROM_TO.sub(r"\1-\2", folded(text))
    words = [word for part in re.split(r"[\s;:=]+|,(?!\d)", joined) if (word := part.rstrip(".,!?"))]
    place = 0
    while place < len(words):
        place += reading.take(words[place:])
    reading.close()
    found = KitRead(unknown=reading.unknown)
    for item in reading.items:
        _settle(item, found, jars, times_par, counts_only)
    return found


class _Reading:
    """The words taken one after another; a number before its item waits for it."""

    def __init__(self, table: ParTable, one: ParItem | None) -> None:
        self._by_word = table.by_word
        self.items: list[_Item] = []
        self.unknown: list[str] = []
        self._now = _Item(one) if one is not None else None
        self._first = self._now
        self._number: str | None = None
        self._after_unknown = False
        if self._now is not None:
            self.items.append(self._now)

    def take(self, words: list[str]) -> int:
        """Take the next word or words; how many were taken."""
        named = self._named(words)
        if named is not None:
            self._after_unknown = False
            if self._now is None or self._now.item.id != named[0].id or self._number is not None:
                self._begin(*named)
            return named[1]
        word = words[0]
        if self._now is not None and self._told(self._now, word, words[1:2]):
            self._now.words.append(word)
            return 1
        if _COUNT.fullmatch(word) and not self._after_unknown and self._named(words[1:]) is not None:
            self._number = word
        elif word.lower() not in FILLER:
            self._not_known(word)
        return 1

    def close(self) -> None:
        """The words are over."""
        if self._first is not None and not self._first.words and len(self.items) > 1:
            self.items.remove(self._first)

    def _named(self, words: list[str]) -> tuple[ParItem, int] | None:
        lower = [word.lower() for word in words[:3]]
        if lower[:1] == ["ice"] and self._now is not None and self._now.item.reader == "slurry":
            return None
        for many in (3, 2, 1):
            item = self._by_word.get(tuple(lower[:many])) if len(lower) >= many else None
            if item is not None:
                return item, many
        return None

    def _begin(self, item: ParItem, many: int) -> None:
        self._now = _Item(item)
        if self._number is not None:
            self._now.count, self._number = self._number, None
        self._now.words.append(item.name)
        self.items.append(self._now)

    def _not_known(self, word: str) -> None:
        """Figures and more words after one that names no item belong to it."""
        last, self._after_unknown = self._after_unknown, True
        if last and (_NUMBER.fullmatch(word) or word.lower() in FINE):
            self.unknown[-1] += f" {word}"
        else:
            self.unknown.append(word)
            self._now = None

    def _told(self, now: _Item, word: str, after: list[str]) -> bool:
        """True where the word says something of this item."""
        if now.in_place:
            now.place.append(word)
            return True
        lower = word.lower()
        special = READERS.get(now.item.reader)
        if special is not None and special(now, word):
            return True
        if _COUNT.fullmatch(word):
            return self._counted(now, word, after)
        if _NUMBER.fullmatch(word) and now.count is None:
            now.count = word
            return True
        return _said(now, lower)

    def _counted(self, now: _Item, word: str, after: list[str]) -> bool:
        if now.count is None and not (after and after[0].lower() in OUT and now.ok):
            if now.why is not None and now.out is None and now.words and now.words[-1].lower() == now.why:
                now.out = int(word)
            else:
                now.count = word
            return True
        if now.why is not None and now.out is None:
            now.out = int(word)
            return True
        if after and after[0].lower() in OUT:
            now.out = int(word)
            return True
        return False


def _said(now: _Item, lower: str) -> bool:
    if lower in AT or (lower == "in" and now.item.reader != "slurry"):
        now.in_place = True
    elif lower in FINE:
        now.ok = True
    elif lower in NONE:
        now.none = True
    elif lower in PLAIN:
        now.plain = True
    elif lower in OUT or (now.item.plain and lower in TREATED):
        now.why = lower
    elif lower == "stands":
        now.stands = True
    else:
        return False
    return True


def _sizes(now: _Item, word: str) -> bool:
    if word.lower() in ("latex", "nitrile"):
        now.in_latex = word.lower() == "latex"
        return True
    if word.upper() not in SIZES:
        return False
    (now.latex if now.in_latex else now.sizes).append(word.upper())
    return True


def _seals(now: _Item, word: str) -> bool:
    pair = _RANGE.fullmatch(word)
    if pair is not None:
        now.seals.append((pair[1], pair[2]))
        return True
    if _SEAL.fullmatch(word) and len(word) > 2:
        now.seals.append((word, word))
        return True
    return False


def _slurry(now: _Item, word: str) -> bool:
    if word.lower() in ("in", "ice", "slurry", "reads", "c"):
        return True
    told = read_temperature(word if word[-1:].lower() in "cf" else f"{word} C")
    if isinstance(told, TemperatureTold):
        now.celsius = told.celsius
    return isinstance(told, TemperatureTold)


def _date(now: _Item, word: str) -> bool:
    found = _DATE.fullmatch(word)
    if found is not None:
        now.date = word
    return found is not None


READERS = {"sizes": _sizes, "range": _seals, "slurry": _slurry, "date": _date}


def _settle(now: _Item, found: KitRead, jars: int, times_par: float, counts_only: bool) -> None:
    """The item is told, or what must be asked of it is said; what is asked is not counted."""
    item, name = now.item, now.item.name
    raw = " ".join(now.words)
    if now.sizes or now.latex or now.seals:
        _settle_listed(now, found, raw)
        return
    count = 0 if now.none else None
    if now.count is not None:
        if not _COUNT.fullmatch(now.count):
            found.doubts.append(Ask("kit.doubt.whole", {"item": name, "raw": now.count}))
            return
        count = int(now.count)
    if count is not None and count < 0:
        found.doubts.append(Ask("kit.doubt.negative", {"item": name, "raw": str(count)}))
        return
    most = max(20, int(times_par * max(1, item.par(jars))))
    if count is not None and count > most and not now.stands:
        found.doubts.append(Ask("kit.doubt.absurd", {"item": name, "raw": str(count)}))
        return
    listed = now.item.reader in ("sizes", "range") and count != 0 and not (counts_only and count)
    if listed or (count is None and not _fine_alone(now, jars)):
        found.doubts.append(_ask_for(now))
        return
    told = _told_of(now, count, raw)
    if now.why is not None and told.out == 0 and now.out is None:
        told = told.model_copy(update={"out": told.count if told.count is not None else 1})
    found.told.append(told)


def _fine_alone(now: _Item, jars: int) -> bool:
    """Said to be in order is enough where there is one of it."""
    single = now.item.par(jars) <= 1
    return single and (now.ok or now.plain or now.why is not None or _measured(now) or bool(now.place))


def _measured(now: _Item) -> bool:
    return now.celsius is not None or now.date is not None


def _ask_for(now: _Item) -> Ask:
    if now.item.reader == "sizes":
        return Ask("kit.doubt.sizes", {"item": now.item.name})
    if now.item.reader == "range":
        return Ask("kit.doubt.range", {"item": now.item.name})
    return Ask("kit.doubt.count", {"item": now.item.name})


def _told_of(now: _Item, count: int | None, raw: str) -> ItemTold:
    out = min(now.out or 0, count if count is not None else 1)
    return ItemTold(
        item=now.item.id,
        count=count,
        ok=True if now.ok or now.plain or now.place or _measured(now) else None,
        out=out,
        why=now.why,
        celsius=now.celsius,
        date=now.date,
        place=" ".join(now.place) or None,
        raw=raw,
    )


def _settle_listed(now: _Item, found: KitRead, raw: str) -> None:
    """Sizes are boxes, seals are ranges; a range that runs backwards is asked for again."""
    count = len(set(now.sizes))
    for first, last in now.seals:
        numbers = seal_numbers(first, last)
        if numbers is None or len(numbers) > 1000:
            found.doubts.append(Ask("kit.doubt.backwards", {"raw": f"{first}-{last}"}))
            return
        count += len(numbers)
    found.told.append(
        ItemTold(
            item=now.item.id,
            count=count,
            sizes=tuple(dict.fromkeys(now.sizes)),
            latex=tuple(dict.fromkeys(now.latex)),
            seals=tuple(now.seals),
            raw=raw,
        )
    )
