"""A whole jar in one text, its parts in any order: number, then words, figures and places.

The sample table says which words announce a field; what no part claims is handed back as it stood.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from ..model.entries import FactTold
from ..rules.fields import Field
from .dated import begin_of_words, count_of_times, doubted, find_dated
from .keywords import NO, NOT
from .readers.base import Ask, Unread
from .readers.clock_time import looks_like_time
from .readers.day_forms import begins_day
from .readers.position import Found, find_position
from .readers.words import NumberTold, read_number
from .readings import CHANGED_OF_ALL, Source, position_value, read_field

_COMMA = re.compile(r"[,;](?=\s|$)")
_NUMBER = re.compile(r"(?:\d{1,3}|[A-Za-z]{1,3}-?\d{1,4})\Z")
_JOINED = re.compile(r"([^\W\d]+)[:=#](.+)")  # "seal=5103"
_NUMBERED = frozenset(("no", "no.", "nr", "nr.", "number"))  # "seal no 5103"
_NOISE = frozenset(("and", "with", "at", "by", "shut", "done", "jar", "degrees", "deg"))
_SPOKEN = frozenset(("is", "a", "it", "its", "the", "in"))  # "3 is a sheen"
_NOT = frozenset(("no", "not", "without", "never"))  # what follows is denied, so it is no part
_DENIED = frozenset(("no", "not", "none", "nope", *NO, *NOT))
_OK = frozenset(("ok", "okay", "ok."))
_CLOCK_TAILS = frozenset(("am", "pm", "z", "utc"))
_UNITS = frozenset(("%", "eighths", "c", "f", "m", "ft", "ml", "l", "oz", "percent"))
_YES_NO = (
    frozenset(("yes", "no", "y", "n", "changed", "new", "fresh", "done", "same", "old", "unchanged", "wiped"))
    | CHANGED_OF_ALL
)
_BEFORE_GLOVES = frozenset(("new", "fresh", "same", "unchanged")) | CHANGED_OF_ALL
_COUNTS = {
    word: str(count)
    for count, words in enumerate(("two dos deux dois duas to", "three tres trois três tre"), 2)
    for word in words.split()
}
BREAK = "\x00"  # stands where a part was taken out: words do not run on over it


@dataclass
class Scan:
    """What a line says. `left` are the words that no part claimed; `asks` what a human must settle."""

    number: NumberTold | None = None
    facts: list[FactTold] = field(default_factory=list)
    asks: list[tuple[str, Ask, str]] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    ok: bool = False
    timed: bool = False
    spoken: bool = False

    def has(self, field_id: str) -> bool:
        """True where this field was told in the line already."""
        return any(fact.field == field_id for fact in self.facts)


def scan(text: str, source: Source, numbered: bool = True, timed: bool = False, spoken: bool = False) -> Scan:
    """Everything that the line says; where `numbered`, nothing unless a number stands first.

    `spoken`: it answers a walk, so that "with the pad" is one; behind a number it is so anyway.
    `timed`: the jar's own time is known, so that a time behind a cooler's reading is the cooler's.
    """
    found = Scan(timed=timed, spoken=spoken or numbered)
    rest = text
    if numbered:
        first, _, after = text.strip().partition(" ")
        first = first.rstrip(".,;:")
        number = read_number(first) if _NUMBER.match(first) else None
        if isinstance(number, NumberTold) and not begins_day(first, after.partition(" ")[0]):
            found.number, rest = number, after
        else:
            return found
    rest = _take_place(rest, source, found)
    rest = _take_dated(rest, source, found)
    _Words(_COMMA.sub(" ", rest).split(), source, found).read()
    for fact in doubted(found.facts, found.left, text, source):
        found.facts.remove(fact)
        found.asks.append((fact.field, Ask("read.time.which_day", {"raw": fact.raw}), fact.raw))
    return found


def _take_place(text: str, source: Source, found: Scan) -> str:
    # In the words for the place it is the place; in any others it is something else's.
    place = find_position(text[: begin_of_words(text, source.trade.table, but="place")])
    if isinstance(place, Found):
        raw = text[place.start : place.end].strip(" ,;")
        found.facts.append(FactTold(field="position", value=position_value(place.told), raw=raw))
        return f"{text[: place.start]} {BREAK} {text[place.end :]}"
    if isinstance(place, Ask):
        raw = place.values.get("raw", text)
        found.asks.append(("position", place, raw))
        return text.replace(raw, f" {BREAK} ", 1)
    return text


def _take_dated(text: str, source: Source, found: Scan) -> str:
    """The times with their days are taken out; a second one for the same field is named as left."""
    while (dated := find_dated(text, source, found.timed or found.has("time"))) is not None:
        if found.has(dated.field) or any(name == dated.field for name, _, _ in found.asks):
            break
        _keep(dated.field, dated.read, found, dated.said)
        text = f"{text[: dated.begin]} {BREAK} {text[dated.end :]}"
    return text


def _keep(field_id: str, read: tuple[FactTold, ...] | Ask, found: Scan, said: str) -> None:
    if isinstance(read, Ask):
        found.asks.append((field_id, read, said))
    else:
        found.facts.extend(fact for fact in read if not found.has(fact.field))


def _answer_length(after: list[str]) -> int:
    """Of "changed", "not changed" and the like, 0 where none follows."""
    if len(after) > 1 and (after[0] == "not" or (after[0] in NOT and after[1] in CHANGED_OF_ALL)):
        return 2
    return 1 if after and after[0] in _YES_NO else 0


class _Words:
    """The words of a line, claimed part by part from the left."""

    def __init__(self, tokens: list[str], source: Source, found: Scan) -> None:
        self._table = source.trade.table
        self._tokens = [part for token in tokens for part in self._parted(token)]
        self._lower = [token.lower().rstrip(".!:=#") for token in self._tokens]
        self._at = 0
        self._source = source
        self._found = found

    def _parted(self, token: str) -> tuple[str, ...]:
        """A word that announces a field, and what was typed against it."""
        joined = _JOINED.fullmatch(token) if not token.isalnum() else None
        known = joined is not None and joined[1].lower() in self._table.by_word
        return joined.groups() if joined is not None and known else (token,)

    def read(self) -> None:
        """Every word is claimed or handed back."""
        while self._at < len(self._tokens):
            if self._lower[self._at] in _NOT:
                both = self._tokens[self._at : self._at + 2]
                self._found.left.extend(word for word in both if word != BREAK)
                self._at += 2
            elif not (
                self._choice() or self._announced() or self._new_gloves() or self._clock() or self._small()
            ):
                self._found.left.append(self._tokens[self._at])
                self._at += 1

    def _choice(self) -> bool:
        for length in (3, 2, 1):
            words = tuple(self._lower[self._at : self._at + length])
            named = self._table.option_words.get(words) if len(words) == length else None
            if named is not None and not self._found.has(named[0].id):
                raw = " ".join(self._tokens[self._at : self._at + length])
                _keep(named[0].id, self._of(named[0], raw), self._found, raw)
                self._at += length
                if named[1].id == "duplicate":
                    self._duplicate_of()
                return True
        return False

    def _duplicate_of(self) -> None:
        """`Duplicate 07` says of which without the word of."""
        number = "".join(self._lower[self._at : self._at + 1])
        if _NUMBER.match(number) and not looks_like_time(number):
            one = self._table.by_id["duplicate_of"]
            _keep(one.id, self._of(one, number), self._found, number)
            self._at += 1

    def _of(self, one: Field, raw: str) -> tuple[FactTold, ...] | Ask:
        read = read_field(one, raw, self._source)
        return () if isinstance(read, Unread) else read

    def _announced(self) -> bool:
        one = self._table.by_word.get(self._lower[self._at])
        if one is None or self._found.has(one.id):
            return False
        if one.reader == "photo" and self._is_denied():
            self._found.left.extend(self._tokens[self._at : self._at + 2])
            self._at += 2
            return True
        count = self._wind_length(one) if one.reader == "wind" else self._length_of_value(one)
        word, after = self._tokens[self._at], self._tokens[self._at + 1 : self._at + 1 + count]
        value = " ".join(part for part in after if part != BREAK)
        if not value and after:  # "place" and a position, which was taken
            self._at += 1 + count
            return True
        if not value and one.alone is not None:
            self._found.facts.append(FactTold(field=one.id, value=one.alone, raw=word))
            self._at += 1
            return True
        value = value[3:] if one.id == "drawn_by" and value.lower().startswith("by ") else value
        first, _, rest = value.partition(" ")
        value = rest if one.reader == "seal" and rest and first.lower() in _NUMBERED else value
        said = f"{word} {value}".strip() if one.reader == "photo" or word.lower() in one.keeps_word else value
        read = read_field(one, said, self._source) if said else Unread()
        if isinstance(read, Unread):
            return False
        _keep(one.id, read, self._found, said)
        self._at += 1 + count
        return True

    def _is_denied(self) -> bool:
        """`photo no` declares none; `photo no gloves` denies the gloves, `photo no 2` is one."""
        denial, behind, value = [*self._lower[self._at + 1 : self._at + 4], "", "", ""][:3]
        valued = value[:1].isdigit() or value in _YES_NO
        another = denial != "not" and behind in self._table.by_word and not valued
        return denial in _DENIED and not another and not behind[:1].isdigit()

    def _new_gloves(self) -> bool:
        """`new gloves` says what `gloves new` does, unless more words hang on it: "need new gloves"."""
        word, after = self._lower[self._at], [*self._lower[self._at + 1 : self._at + 3], "", ""]
        one = self._table.by_word.get(after[0])
        if one is None or one.id != "gloves" or word not in _BEFORE_GLOVES or self._found.has(one.id):
            return False
        last = self._tokens[self._at - 1] if self._at else BREAK
        alone = self._begins_part(after[1]) or self._is_noise(after[1])
        if not alone or self._found.left[-1:] == [last]:
            return False
        _keep(one.id, self._of(one, word), self._found, word)
        self._at += 2
        return True

    def _begins_part(self, word: str) -> bool:
        """It announces, names or times something, or ends the words before it."""
        known = word in self._table.by_word or (word,) in self._table.option_words
        return known or word == BREAK or looks_like_time(word) or word in _OK

    def _length_of_value(self, one: Field) -> int:
        after = self._lower[self._at + 1 :]
        if one.greedy:
            return len(after)
        match one.reader:
            case "cooler":
                return self._cooler_length(after)
            case "text":
                bare = self._lower[self._at] in one.keeps_word
                return 0 if bare and self._ends_at(after[:1]) else self._text_length(after)
            case "seal":
                return self._seal_length(after)
            case "yes_no":
                return _answer_length(after)
            case "photo":
                return 1 if after and after[0].isdigit() and len(after[0]) < 3 else 0
            case "time":
                return self._clock_length(after)
            case _:
                return 2 if len(after) > 1 and after[1] in _UNITS else 1

    def _wind_length(self, one: Field) -> int:
        """The most words, up to four, that read as one wind."""
        for count in range(min(4, len(self._tokens) - self._at - 1), 0, -1):
            said = " ".join(self._tokens[self._at + 1 : self._at + 1 + count])
            if isinstance(read_field(one, said, self._source), tuple):
                return count
        return 1

    def _seal_length(self, after: list[str]) -> int:
        """A number is one word; tape runs on over its initials, behind the word seal too."""
        if self._lower[self._at] == "tape":
            return self._text_length(after)
        if len(after) > 1 and after[0] in _NUMBERED and after[1][-1:].isdigit():
            return 2
        return 1 + self._text_length(after[1:]) if after[:1] == ["tape"] else 1

    def _ends_at(self, after: list[str]) -> bool:
        """True where nothing that belongs to a bare word ("bilge 1005") follows it."""
        return not after or after[0] == BREAK or looks_like_time(after[0]) or after[0] in _OK

    def _text_length(self, after: list[str]) -> int:
        """Up to the next word that announces, names or times something else."""
        for count, word in enumerate(after):
            if count == 0 and word in self._table.by_word:
                return 0
            if count and self._begins_part(word):
                return count
        return len(after)

    def _cooler_length(self, after: list[str]) -> int:
        """The name, its check bottle's reading, and a time that follows the reading or "at"."""
        count = 1
        warm = False
        timed = self._found.timed or count_of_times(self._lower) > 1
        for word in after[1:]:
            if word == "at" or (word in _UNITS and warm):
                count += 1
            elif looks_like_time(word) and (after[count - 1] == "at" or (warm and timed)):
                return count + 1
            elif not warm and word[:1] in "-+0123456789" and not looks_like_time(word):
                count, warm = count + 1, True
            else:
                break
        return count

    def _clock_length(self, after: list[str]) -> int:
        if not after or not looks_like_time(after[0]):
            return 0
        count = 1
        if len(after) > count and after[count] in _CLOCK_TAILS:
            count += 1
        if after[count : count + 2] in (["old", "time"], ["new", "time"]):
            count += 2
        return count

    def _clock(self) -> bool:
        here = self._lower[self._at :]
        count = 0 if self._lower[self._at - 1 : self._at] == ["seals"] else self._clock_length(here)
        if not count or self._found.has("time") or any(name == "time" for name, _, _ in self._found.asks):
            return False
        said = " ".join(self._tokens[self._at : self._at + count])
        _keep("time", self._of(self._table.by_id["time"], said), self._found, said)
        self._at += count
        return True

    def _small(self) -> bool:
        word = self._lower[self._at]
        following = self._lower[self._at + 1] if self._at + 1 < len(self._lower) else ""
        count, one = _COUNTS.get(word, word), self._table.by_word.get(following)
        if count.isdigit() and one is not None and one.reader == "photo":
            _keep(one.id, self._of(one, count), self._found, word)
            self._at += 2
            return True
        if word in _OK:
            self._found.ok = True
        elif not self._is_noise(word):
            return False
        self._at += 1
        return True

    def _is_noise(self, word: str) -> bool:
        """Marks, and words that say nothing by themselves."""
        if word in _NOISE or word == BREAK or (word in _SPOKEN and self._found.spoken):
            return True
        return not any(letter.isalnum() for letter in word)
