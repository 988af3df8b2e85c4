"""What a kit's jars used, drafted by method for a person to confirm; and the list to restock it by."""

from __future__ import annotations

import re
from collections.abc import Mapping

from ..model.base import JsonValue
from ..model.entries import UNIT_CHAIN, FactTold, KitRestocked, KitUsed
from ..model.people import Kit
from ..rules.kit import Short, drafted_use, readiness, stock_of
from .keywords import NO, SKIPS
from .kit_alert import watch_kit
from .kit_line import crew_of, may_count, named_kit, table_of, unknown_words
from .kit_said import result, wanted_words
from .readers.kit import KitRead, read_items
from .turn import Turn

WORDS = ("restock", "used", "restocked")
_WHAT = r"(?:what\s+(?:do|should|must|to)\s+(?:i|we)?\s*)?"
_BUY = re.compile(rf"^{_WHAT}buy\b[\s?]*(?P<kit>\S*)[\s?]*$", re.IGNORECASE)
MOST = 8  # kits that one text lists


def hear_restock(turn: Turn, text: str) -> bool:
    """RESTOCK drafts and lists; USED and RESTOCKED with counts are on record."""
    buy = _BUY.match(text)
    first, *words = f"restock {buy['kit']}".split() if buy else text.split() or [""]
    word = first.lower()
    if word not in WORDS:
        return False
    kit, rest = named_kit(turn, words or [""])
    if kit is None:
        return _without_kit(turn, word, words)
    turn.exercise = kit.training
    if word == "restock":
        _list(turn, kit)
    elif not may_count(turn, text):
        return True
    elif not rest:
        _draft(turn, kit)
    elif word == "restocked" and [one.lower().rstrip(".") for one in rest] == ["all"]:
        short = _short(turn, kit)
        sizes = tuple(size for one in short for size in one.sizes)
        _put_back(turn, kit, {one.item.id: one.short for one in short}, sizes)
    else:
        _tell_counts(turn, kit, word, " ".join(rest))
    return True


def _without_kit(turn: Turn, word: str, words: list[str]) -> bool:
    """All kits that lack something, or which one is meant; other words that begin so are no kit's."""
    if words and (word == "used" or len(words) > 2):
        return False
    kits = [kit for _, kit in sorted(turn.unit.kits.items()) if not kit.training]
    names = " ".join(kit.name for kit in kits)
    if words or word != "restock" or not kits:
        turn.say(turn.word("kit.inspect.which", names=names) if names else turn.word("kit.none"))
        return True
    turn.exercise = False
    lines = [
        turn.word("kit.restock.line", kit=kit.name, parts=wanted_words(short))
        for kit in kits
        if (short := _short(turn, kit))
    ]
    turn.say(" ".join(lines[:MOST]) or turn.word("kit.restock.nothing"))
    return True


def _short(turn: Turn, kit: Kit) -> tuple[Short, ...]:
    stock = stock_of(turn.unit.stock, kit.name)
    return readiness(turn.trade.par, kit, stock, crew_of(turn)).short


def _list(turn: Turn, kit: Kit) -> None:
    """What use nobody confirmed yet comes first: a list without it would be short."""
    if stock_of(turn.unit.stock, kit.name).begun_us is None:
        turn.say(turn.word("kit.how", kit=kit.name))
        return
    if drafted(turn, kit):
        _draft(turn, kit)
        return
    short = _short(turn, kit)
    if not short:
        turn.say(f"{turn.word('kit.restock.none', kit=kit.name)} {result(turn, kit, crew_of(turn))}")
        return
    parts = wanted_words(short)
    like = f"{short[0].item.name} {short[0].short}"
    turn.say(turn.word("kit.restock.list", kit=kit.name, parts=parts, like=like))


def drafted(turn: Turn, kit: Kit) -> dict[str, int]:
    """What the jars taken with this kit used by method, as far as nobody confirmed it: a draft."""
    return drafted_use(turn.trade.par, kit, stock_of(turn.unit.stock, kit.name), turn.taken_with(kit.name))


def _draft(turn: Turn, kit: Kit) -> None:
    """The draft is shown; its counts hold only when a person says so."""
    counts = drafted(turn, kit)
    if not counts:
        turn.say(turn.word("kit.used.nothing", kit=kit.name))
        return
    parts = _counts(turn, kit, counts)
    shown: JsonValue = {"counts": {**counts}, "until_us": turn.message.received_us}
    told = FactTold(field="kit_used", value=shown, raw=turn.text)
    turn.note(question="kit_used", about=kit.name, answers={"kit_used": told})
    jars = counts.get("jar", 0)
    turn.say(turn.word("kit.used.draft", kit=kit.name, jars=jars, parts=parts), asks="kit_used")


def _counts(turn: Turn, kit: Kit, counts: Mapping[str, int]) -> str:
    table = table_of(turn, kit)
    items = sorted(counts.items(), key=lambda pair: table.by_id[pair[0]].buy)
    return ", ".join(f"{table.by_id[item].name} {count}" for item, count in items)


def hear_kit_used(turn: Turn, text: str) -> bool:
    """The answer to a draft: OK makes it hold, other counts hold instead, SKIP leaves it a draft."""
    if turn.conversation.question != "kit_used":
        return False
    kit = turn.unit.kits.get(turn.conversation.about or "")
    word = text.lower().strip().rstrip(".!")
    if kit is None or not word:
        return False
    if turn.conversation.waiting and turn.conversation.shown_us > _drafted_us(turn):
        turn.note(question=None, about=None, answers={})  # a jar was read back since: OK is about that
        return False
    turn.exercise = kit.training
    if word in ("ok", "okay", "yes", "y"):
        _use_draft(turn, kit)
        return True
    if word in SKIPS or word in ("no", "n", "stop", "later", *NO):
        turn.note(question=None, about=None, answers={})
        turn.say(turn.word("kit.used.left", kit=kit.name))
        return True
    read = _read(turn, kit, text)
    if not read.told or read.unknown:
        turn.exercise = None
        return False
    _tell_counts(turn, kit, "used", text)
    return True


def _drafted_us(turn: Turn) -> int:
    """When the draft that is open was shown."""
    told = turn.conversation.answers.get("kit_used")
    shown_us = told.value["until_us"] if told is not None and isinstance(told.value, dict) else None
    return shown_us if isinstance(shown_us, int) else 0


def _use_draft(turn: Turn, kit: Kit) -> None:
    """The counts that were shown hold; what came since is drafted another time."""
    told = turn.conversation.answers.get("kit_used")
    shown = told.value if told is not None else None
    if not isinstance(shown, dict) or not isinstance(shown["counts"], dict):
        _draft(turn, kit)
        return
    counts = {item: count for item, count in shown["counts"].items() if isinstance(count, int)}
    _use(turn, kit, counts, until_us=_drafted_us(turn))


def _read(turn: Turn, kit: Kit, text: str) -> KitRead:
    jars = stock_of(turn.unit.stock, kit.name).jars
    return read_items(text, table_of(turn, kit), jars, turn.trade.limits.kit_times_par, counts_only=True)


def _tell_counts(turn: Turn, kit: Kit, word: str, text: str) -> None:
    """Counts that a person told are on record; of what is unclear nothing is."""
    read = _read(turn, kit, text)
    counts = {one.item: one.count for one in read.told if one.count}
    sizes = tuple(size for one in read.told for size in one.sizes)
    doubts = [turn.word(one.key, **one.values) for one in read.doubts]
    doubts += unknown_words(turn, read.unknown)
    if not counts:
        turn.say(" ".join(doubts) or turn.word("kit.used.how", word=word.upper(), kit=kit.name))
    elif word == "used":
        _use(turn, kit, counts, " ".join(doubts))
    else:
        _put_back(turn, kit, counts, sizes, " ".join(doubts))


def _use(
    turn: Turn, kit: Kit, counts: dict[str, int], doubts: str = "", until_us: int | None = None
) -> None:
    """The use is on record, more than was counted too: then it is said."""
    stock = stock_of(turn.unit.stock, kit.name)
    over = [
        turn.word("kit.used.over", item=table_of(turn, kit).by_id[item].name, count=count, had=had)
        for item, count in counts.items()
        if (had := stock.count(item)) is not None and count > had
    ]
    turn.write(UNIT_CHAIN, KitUsed(kit=kit.name, counts=counts, until_us=until_us))
    watch_kit(turn, kit)
    if turn.conversation.question == "kit_used":
        turn.note(question=None, about=None, answers={})
    said = turn.word("kit.used.told", kit=kit.name, parts=_counts(turn, kit, counts))
    short = _short(turn, kit)
    if short:
        like = f"{short[0].item.name} {short[0].short}"
        rest = turn.word("kit.restock.list", kit=kit.name, parts=wanted_words(short), like=like)
    else:
        rest = turn.word("kit.restock.none", kit=kit.name)
    turn.say(" ".join(part for part in (said, *over, doubts, rest) if part))


def _put_back(turn: Turn, kit: Kit, counts: dict[str, int], sizes: tuple[str, ...], doubts: str = "") -> None:
    """What was put in is on record, and the kit's result follows."""
    if not counts:
        turn.say(turn.word("kit.restock.none", kit=kit.name))
        return
    turn.write(UNIT_CHAIN, KitRestocked(kit=kit.name, counts=counts, sizes=sizes))
    watch_kit(turn, kit)
    said = turn.word("kit.restocked", kit=kit.name, parts=_counts(turn, kit, counts))
    rest = result(turn, kit, crew_of(turn))
    turn.say(" ".join(part for part in (said, doubts, rest) if part))
