"""A kit counted item by item: the next question is always computed from what nobody has counted yet."""

from __future__ import annotations

from ..model.entries import UNIT_CHAIN, GlovesTold, KitInspected
from ..model.people import Kit
from ..rules.kit import list_of, stock_of
from ..rules.par import ParItem
from .keywords import SKIPS
from .kit_alert import watch_kit
from .kit_line import (
    ask_size,
    crew_of,
    is_over,
    keep_items,
    may_count,
    named_kit,
    read_items_back,
    table_of,
)
from .kit_said import result, when
from .readers.kit import SIZES, KitRead, read_items
from .turn import Turn

NOT_SIZES = frozenset(("jar", "case", "ok", "kit", "stop", "more", "help", "why"))
FRESH = "fresh"  # in `redo` of a walk that begins an inspection with its first answer


def hear_inspect(turn: Turn, text: str) -> bool:
    """INSPECT and a kit: its first item that nobody counted is asked for."""
    first, *words = text.split() or [""]
    if first.lower() != "inspect":
        return False
    kit, _ = named_kit(turn, words or [""])
    if kit is None and len(turn.unit.kits) == 1:
        kit = next(iter(turn.unit.kits.values()))
    if kit is None:
        names = " ".join(sorted(turn.unit.kits))
        turn.say(turn.word("kit.inspect.which", names=names) if names else turn.word("kit.none"))
        return True
    if may_count(turn, text):
        _start(turn, kit)
    return True


def _start(turn: Turn, kit: Kit) -> None:
    turn.exercise = kit.training
    stock = stock_of(turn.unit.stock, kit.name)
    left = [item for item in _asked(turn, kit) if item.id not in stock.heard]
    fresh = is_over(turn, stock) or not left
    turn.note(
        walk="kit", about=kit.name, sample=None, question=None, waiting=(), skipped=(), trail=(),
        redo=FRESH if fresh else None,
    )  # fmt: skip
    prefix = turn.word("kit.inspect.begin") if fresh else _begun_by(turn, kit)
    _ask_next(turn, kit, f"{prefix} ")


def _begun_by(turn: Turn, kit: Kit) -> str:
    stock = stock_of(turn.unit.stock, kit.name)
    people = sorted({person for heard in stock.heard.values() for person in heard})
    at = when(turn, stock.begun_us or 0)
    return turn.word("kit.inspect.goes_on", at=at, people=" ".join(people))


def _asked(turn: Turn, kit: Kit) -> list[ParItem]:
    stock = stock_of(turn.unit.stock, kit.name)
    items = list_of(turn.trade.par, kit, stock)
    return [item for item in items if not item.called and item.par(stock.jars) > 0]


def _left(turn: Turn, kit: Kit) -> list[ParItem]:
    """What is still to be asked for in this walk."""
    heard = {} if turn.conversation.redo == FRESH else stock_of(turn.unit.stock, kit.name).heard
    gone = {*heard, *turn.conversation.skipped}
    return [item for item in _asked(turn, kit) if item.id not in gone]


def _ask_next(turn: Turn, kit: Kit, prefix: str = "") -> None:
    left = _left(turn, kit)
    if not left:
        turn.note(walk=None, question=None, about=None, redo=None, trail=(), skipped=())
        turn.say(f"{prefix}{turn.word('kit.inspect.done', kit=kit.name)} {result(turn, kit, crew_of(turn))}")
        ask_size(turn)
        return
    _ask(turn, kit, left[0], prefix)


def _ask(turn: Turn, kit: Kit, item: ParItem, prefix: str = "") -> None:
    turn.note(question=f"kit.{item.id}", waiting=())
    turn.say(prefix + question(turn, kit, item), asks=f"kit.{item.id}")


def question(turn: Turn, kit: Kit, item: ParItem) -> str:
    """What is asked of an item: how many or whether it is in order, and what to look for."""
    asked = _asked(turn, kit)
    place = next((place for place, one in enumerate(asked, 1) if one.id == item.id), len(asked))
    key = f"kit.ask.{item.reader}"
    if item.reader == "count" and item.par(stock_of(turn.unit.stock, kit.name).jars) == 1:
        key = "kit.ask.one"
    stock = stock_of(turn.unit.stock, kit.name)
    named = {"vehicle": stock.vehicle, "cooler": stock.cooler}.get(item.place)
    where = "" if item.place == "carrier" else " " + turn.word(f"kit.where.{item.place}")
    if named is not None:
        where = " " + turn.word("kit.where.named", place=named)
    look = "" if item.look is None else " " + turn.word(f"kit.look.{item.look}")
    return turn.word(key, kit=kit.name, place=place, many=len(asked), item=item.name) + where + look


def hear_kit_walk(turn: Turn, text: str) -> bool:
    """True where a kit's open question took the text: OK and figures are then its answer."""
    asked = turn.conversation.question or ""
    if asked == "kit_size":
        return _hear_size(turn, text)
    kit = turn.unit.kits.get(turn.conversation.about or "")
    if turn.conversation.walk != "kit" or not asked.startswith("kit.") or kit is None:
        return False
    if turn.conversation.waiting and text.lower().rstrip(".!") in ("ok", "okay"):
        turn.note(walk=None, question=None, about=None, redo=None)  # a jar was read back since
        return False
    item = table_of(turn, kit).by_id.get(asked.removeprefix("kit."))
    if item is None:
        return False
    turn.exercise = kit.training
    if _hear_way(turn, kit, item, text.lower().rstrip(".!")):
        return True
    return _hear_item(turn, kit, item, text)


def _hear_way(turn: Turn, kit: Kit, item: ParItem, word: str) -> bool:
    """Skip, wrong, stop and `?` work at every item."""
    conversation = turn.conversation
    if word in SKIPS:
        turn.note(skipped=(*conversation.skipped, item.id))
        _ask_next(turn, kit)
    elif word == "wrong":
        _take_back(turn, kit, item)
    elif word in ("stop", "cancel"):
        turn.note(walk=None, question=None, about=None, redo=None, trail=(), skipped=())
        turn.say(f"{turn.word('kit.inspect.stopped', kit=kit.name)} {result(turn, kit, crew_of(turn))}")
    elif word in ("?", "help"):
        turn.say(turn.word("kit.inspect.help"), asks=conversation.question)
    else:
        return False
    return True


def _take_back(turn: Turn, kit: Kit, item: ParItem) -> None:
    """The last item is asked for again; its new count stands and the old one stays on record."""
    trail = turn.conversation.trail
    if not trail:
        _ask(turn, kit, item, turn.word("wrong.first") + " ")
        return
    turn.note(trail=trail[:-1])
    _ask(turn, kit, table_of(turn, kit).by_id[trail[-1]])


def _hear_item(turn: Turn, kit: Kit, item: ParItem, text: str) -> bool:
    before = stock_of(turn.unit.stock, kit.name)
    if not text and not turn.message.attachments:
        return False
    limit = turn.trade.limits.kit_times_par
    read = read_items(text, table_of(turn, kit), before.jars, limit, one=item) if text else KitRead()
    if text and (len(read.unknown) > 1 or not (read.told or read.doubts) or _is_another_line(read, text)):
        return False
    _keep(turn, kit, read)
    said = read_items_back(turn, kit, before, read, led=True)
    if [one.key for one in read.doubts] == ["kit.doubt.count"] and not read.told:
        said = turn.word("kit.count_wanted")  # its own question follows
    turn.note(trail=(*turn.conversation.trail, *(told.item for told in read.told)))
    if read.doubts or not read.told:
        _ask(turn, kit, item, f"{said} ")
    else:
        _ask_next(turn, kit, f"{said} ")
    return True


def _is_another_line(read: KitRead, text: str) -> bool:
    """A jar's whole line begins with a number too; an item's answer says at most one thing not understood."""
    return bool(read.unknown) and not read.told and text[:1].isalpha()


def _keep(turn: Turn, kit: Kit, read: KitRead) -> None:
    if turn.conversation.redo == FRESH and (read.told or turn.message.attachments):
        photos = turn.message.attachments
        turn.write(UNIT_CHAIN, KitInspected(kit=kit.name, fresh=True, told=tuple(read.told), photos=photos))
        turn.note(redo=None)
        watch_kit(turn, kit)
    elif read.told or turn.message.attachments:
        keep_items(turn, kit, tuple(read.told))


def _hear_size(turn: Turn, text: str) -> bool:
    """A person's own glove size, or that they leave it out."""
    word = text.strip().upper().rstrip(".!")
    if word in SIZES:
        turn.note(question=None)
        turn.write(UNIT_CHAIN, GlovesTold(person=turn.person.name, size=word))
        turn.say(turn.word("kit.size.told", size=word))
    elif word == "SKIP":
        turn.note(question=None)
        turn.write(UNIT_CHAIN, GlovesTold(person=turn.person.name, size=""))
        turn.say(turn.word("kit.size.skipped"))
    elif word.isalnum() and len(word) <= 4 and word.lower() not in NOT_SIZES:
        turn.say(turn.word("kit.size.unread", words=text[:20]), asks="kit_size")
    else:
        return False
    return True


def ask_item_again(turn: Turn, prefix: str) -> None:
    """The open item stays open and is said again after a sentence."""
    kit = turn.unit.kits.get(turn.conversation.about or "")
    asked = (turn.conversation.question or "").removeprefix("kit.")
    item = table_of(turn, kit).by_id.get(asked) if kit is not None else None
    if kit is None or item is None:
        turn.say(prefix, asks=turn.conversation.question)
        return
    _ask(turn, kit, item, f"{prefix} ")
