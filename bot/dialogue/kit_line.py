"""A kit's line: what was counted in it, told in one text; what it is ready for, and what to buy."""

from __future__ import annotations

from ..model.entries import UNIT_CHAIN, ItemTold, KitInspected, NoteMade
from ..model.kit import Heard, Stock
from ..model.people import Kit, Person
from ..model.times import HOUR_US
from ..rules.kit import drafted_use, list_of, seal_gaps, stock_of
from ..rules.par import ParTable
from ..rules.roles import Action, may
from .kit_alert import watch_kit
from .kit_said import counted, result, when
from .readers.kit import KitRead, read_items
from .turn import Turn

KIT_WORDS = ("kit", "kits")
LOOKED = ("looked", "look", "seen")


def crew_of(turn: Turn) -> tuple[Person, ...]:
    """Everybody in service who takes jars: a box of gloves is stocked for each size that they wear."""
    return turn.unit.with_role("responder")


def hear_kit(turn: Turn, text: str) -> bool:
    """What a line that begins with KIT tells of one is on record; alone it asks how the kits stand."""
    first, *words = text.split() or [""]
    if first.lower() not in KIT_WORDS:
        return False
    if not words:
        _say_all(turn)
        return True
    kit, rest = named_kit(turn, words)
    if kit is None:
        return _no_kit(turn, words)
    turn.exercise = kit.training
    lower = [word.lower() for word in rest]
    if not rest and not turn.message.attachments:
        _say_one(turn, kit)
    elif not may_count(turn, text):
        return True
    elif lower[:1] and lower[0] in LOOKED and len(lower) == 1:
        _looked(turn, kit)
    elif lower[:1] in (["at"], ["in"], ["on"]) and len(rest) > 1:
        _placed(turn, kit, " ".join(rest[1:]))
    else:
        tell_items(turn, kit, " ".join(rest))
    return True


def may_count(turn: Turn, text: str) -> bool:
    """True where this person's role counts kits; else the words are kept as a note, and that is said."""
    if may(turn.person, Action.COUNT_KITS):
        return True
    turn.write(UNIT_CHAIN, NoteMade(words=text))
    turn.say(turn.word("kit.not_yours"))
    return False


def named_kit(turn: Turn, words: list[str]) -> tuple[Kit | None, list[str]]:
    """The kit that the words begin with, else the only one there is where they name an item."""
    kits = turn.unit.kits
    for name, kit in kits.items():
        if name.lower() == words[0].lower().rstrip(":,"):
            return kit, words[1:]
    in_case = [kits[name] for name in (turn.case.kits if turn.case is not None else ()) if name in kits]
    only = in_case if len(in_case) == 1 else list(kits.values())
    named = any(tuple(w.lower() for w in words[:many]) in turn.trade.par.by_word for many in (1, 2, 3))
    return (only[0], words) if named and len(only) == 1 else (None, words)


def _no_kit(turn: Turn, words: list[str]) -> bool:
    names = " ".join(sorted(turn.unit.kits))
    turn.say(turn.word("kit.which", said=words[0][:20], names=names) if names else turn.word("kit.none"))
    return True


def _say_all(turn: Turn) -> None:
    """Each kit in one sentence."""
    turn.exercise = False
    kits = [kit for _, kit in sorted(turn.unit.kits.items()) if not kit.training]
    lines = []
    for kit in kits[:8]:
        stock = stock_of(turn.unit.stock, kit.name)
        never = stock.begun_us is None
        told = turn.word("kit.never") if never else result(turn, kit, crew_of(turn), brief=True)
        lines.append(turn.word("kit.line", kit=kit.name, told=told))
    turn.say(" ".join(lines) or turn.word("kit.none"))


def _say_one(turn: Turn, kit: Kit) -> None:
    """How the kit stands, and that jars were taken with it since."""
    stock = stock_of(turn.unit.stock, kit.name)
    said = f"{turn.word('kit.stands', kit=kit.name)} {result(turn, kit, crew_of(turn))}"
    used = drafted_use(turn.trade.par, kit, stock, turn.taken_with(kit.name)) if stock.heard else {}
    if used.get("jar"):
        said += " " + turn.word("kit.taken_since", jars=used["jar"], kit=kit.name)
    turn.say(said)


def _looked(turn: Turn, kit: Kit) -> None:
    """Somebody looked it over without counting: it is due later, and nothing counts as counted."""
    turn.write(UNIT_CHAIN, KitInspected(kit=kit.name, photos=turn.message.attachments))
    turn.say(f"{turn.word('kit.looked', kit=kit.name)} {result(turn, kit, crew_of(turn), brief=True)}")


def _placed(turn: Turn, kit: Kit, place: str) -> None:
    """Where the kit is; another's word within the same hours stands beside it."""
    before = stock_of(turn.unit.stock, kit.name).places
    turn.write(UNIT_CHAIN, KitInspected(kit=kit.name, place=place))
    fresh_us = turn.message.received_us - int(turn.trade.limits.kit_fresh_hours * HOUR_US)
    others = [
        turn.word("kit.placed.other", person=person, place=where, at=when(turn, at_us))
        for person, (where, at_us) in sorted(before.items())
        if person != turn.person.name and at_us >= fresh_us and where.lower() != place.lower()
    ]
    said = turn.word("kit.placed", kit=kit.name, place=place)
    turn.say(" ".join((said, *others, turn.word("kit.placed.two")) if others else (said,)))


def tell_items(turn: Turn, kit: Kit, text: str) -> KitRead:
    """The items are on record and read back with what does not count, what is unread, and the result."""
    before = stock_of(turn.unit.stock, kit.name)
    table = table_of(turn, kit)
    read = read_items(text, table, before.jars, turn.trade.limits.kit_times_par)
    if not read.told and not turn.message.attachments:
        _ask_more(turn, kit, read)
        return read
    keep_items(turn, kit, tuple(read.told))
    turn.say(f"{read_items_back(turn, kit, before, read)} {result(turn, kit, crew_of(turn))}")
    ask_size(turn)
    return read


def table_of(turn: Turn, kit: Kit) -> ParTable:
    """The par list with the unit's additions for this kit."""
    stock = stock_of(turn.unit.stock, kit.name)
    whole = turn.trade.par.with_more(stock.more)
    if kit.seals is None:
        return whole
    kept = {item.id for item in list_of(turn.trade.par, kit, stock)}
    return ParTable(item=tuple(item for item in whole.item if item.id in kept), use=whole.use)


def _ask_more(turn: Turn, kit: Kit, read: KitRead) -> None:
    """Nothing could be taken: what is unclear is said, each with its way out."""
    sentences = [turn.word(one.key, **one.values) for one in read.doubts]
    sentences += unknown_words(turn, read.unknown)
    turn.say(" ".join(sentences) or turn.word("kit.how", kit=kit.name))


def keep_items(turn: Turn, kit: Kit, told: tuple[ItemTold, ...]) -> None:
    """What was told is on record, with the photos of its text; after long enough it begins an inspection."""
    stock = stock_of(turn.unit.stock, kit.name)
    body = KitInspected(kit=kit.name, fresh=is_over(turn, stock), told=told, photos=turn.message.attachments)
    turn.write(UNIT_CHAIN, body)
    watch_kit(turn, kit)


def is_over(turn: Turn, stock: Stock) -> bool:
    """True where what is told now begins another inspection: never begun, or last told of long ago."""
    last_us = max((one.at_us for heard in stock.heard.values() for one in heard.values()), default=None)
    fresh_us = int(turn.trade.limits.kit_fresh_hours * HOUR_US)
    return last_us is None or turn.message.received_us - last_us > fresh_us


def read_items_back(turn: Turn, kit: Kit, before: Stock, read: KitRead, *, led: bool = False) -> str:
    """What is on record now of these items; what differs, does not count or is unread, a sentence each.

    `led`: by the walk, where the kit is named by its question.
    """
    table = table_of(turn, kit)
    stock = stock_of(turn.unit.stock, kit.name)
    parts = ", ".join(counted(turn, table.by_id[told.item], told) for told in read.told)
    key = "kit.noted" if led else "kit.told"
    sentences = [turn.word(key, kit=kit.name, parts=parts)] if parts else []
    if turn.message.attachments:
        sentences.append(turn.word("kit.photo", count=len(turn.message.attachments)))
    for told in read.told:
        sentences += _remarks(turn, kit, told)
        sentences += _others(turn, table, stock, before, told)
    sentences += [turn.word(one.key, **one.values) for one in read.doubts]
    return " ".join((*sentences, *unknown_words(turn, read.unknown)))


def _remarks(turn: Turn, kit: Kit, told: ItemTold) -> list[str]:
    """What of this item does not count, and why; what differs from a rule, never what would be right."""
    found = []
    if told.latex:
        found.append(turn.word("kit.latex", sizes=" ".join(told.latex)))
    if told.why in ("waxed", "tarred"):
        found.append(turn.word("kit.twine", why=told.why))
    elif told.out and told.why is not None:
        item = table_of(turn, kit).by_id[told.item]
        key = "kit.opened" if item.wrapped and told.why in ("opened", "open") else "kit.out"
        found.append(turn.word(key, item=item.name, count=told.out, why=told.why))
    gaps = seal_gaps(told.seals)
    if gaps:
        found.append(turn.word("kit.gaps", seals=" ".join(gaps[:8]), count=len(gaps)))
    if told.celsius is not None and abs(told.celsius) > turn.trade.limits.slurry_c:
        allowed = f"{turn.trade.limits.slurry_c:g}"
        found.append(turn.word("kit.slurry", celsius=f"{told.celsius:g}", allowed=allowed))
    if told.date is not None and _passed(turn, told.date):
        found.append(turn.word("kit.date", date=told.date))
    return found


def _passed(turn: Turn, date: str) -> bool:
    return date < when(turn, turn.message.received_us, "%Y-%m-%d")[: len(date)]


def _others(turn: Turn, table: ParTable, stock: Stock, before: Stock, told: ItemTold) -> list[str]:
    """What was said of the item before, by this person or another; of two counts the lower holds."""
    name = table.by_id[told.item].name
    heard = stock.heard[told.item]
    mine = heard[turn.person.name]
    found = []
    listed = told.sizes or told.latex or told.seals
    if mine.was is not None and mine.was != told.count and told.item in before.heard and not listed:
        found.append(turn.word("kit.was", item=name, was=mine.was))
    if not stock.disputed(told.item):
        return found
    return found + [_two_counts(turn, name, person, one) for person, one in heard.items() if one is not mine]


def _two_counts(turn: Turn, item: str, person: str, one: Heard) -> str:
    count = one.told.count if one.told.count is not None else turn.word("kit.fine")
    return turn.word("kit.two", item=item, person=person, count=count, at=when(turn, one.at_us))


def unknown_words(turn: Turn, unknown: list[str]) -> list[str]:
    """Words that name no item, each with the nearest names."""
    found = []
    for words in unknown[:4]:
        near = turn.trade.par.near(" ".join(word for word in words.split() if word.isalpha()) or words)
        if near:
            found.append(turn.word("kit.unknown.near", words=words[:30], near=", ".join(near)))
        else:
            found.append(turn.word("kit.unknown", words=words[:30]))
    return found


def ask_size(turn: Turn) -> None:
    """Who never told a glove size is asked for it once, where no other question is open."""
    if turn.conversation.question is None and turn.person.gloves is None and turn.person.has("responder"):
        turn.note(question="kit_size")
        turn.say(turn.word("kit.size.ask"), asks="kit_size")
