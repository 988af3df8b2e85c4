"""How a kit's contents and its result are put into words."""

from __future__ import annotations

from datetime import UTC, datetime

from ..model.entries import ItemTold
from ..model.people import Kit, Person
from ..model.times import DAY_US
from ..rules.kit import Readiness, Short, due_again, readiness, stock_of
from ..rules.par import ParItem
from .turn import Turn

LISTED = 6  # how many names a text lists before it says how many more


def when(turn: Turn, at_us: int, form: str | None = None) -> str:
    """An instant in the unit's own time: hours and minutes of today, else the day."""
    at = datetime.fromtimestamp(at_us / 1e6, UTC).astimezone(turn.trade.zone)
    now = datetime.fromtimestamp(turn.message.received_us / 1e6, UTC).astimezone(turn.trade.zone)
    if form is not None:
        return at.strftime(form)
    return at.strftime("%H:%M") if at.date() == now.date() else day(turn, at_us)


def day(turn: Turn, at_us: int) -> str:
    """A day as texts name it, with its year where that is another."""
    at = datetime.fromtimestamp(at_us / 1e6, UTC).astimezone(turn.trade.zone)
    name = f"{at.day} {turn.word(f'month.{at.month}')}"
    year = datetime.fromtimestamp(turn.message.received_us / 1e6, UTC).astimezone(turn.trade.zone).year
    return name if at.year == year else f"{name} {at.year}"


def counted(turn: Turn, item: ParItem, told: ItemTold) -> str:
    """One item as it was told, in a few words."""
    if told.sizes or told.latex:
        sizes = " ".join((*told.sizes, *(f"latex {size}" for size in told.latex)))
        return f"{item.name} {sizes}"
    if told.seals:
        ranges = " ".join(first if first == last else f"{first}-{last}" for first, last in told.seals)
        return f"{item.name} {ranges}"
    if told.celsius is not None:
        return f"{item.name} {told.celsius:g} C"
    if told.date is not None:
        return f"{item.name} {told.date}"
    count = str(told.count) if told.count is not None else turn.word("kit.fine")
    if told.count is None and told.out and told.why is not None:
        return f"{item.name} {told.why}"
    said = f"{item.name} {count}"
    if told.out and told.why is not None:
        said += " " + turn.word("kit.of_them", count=told.out, why=told.why)
    return f"{said} ({told.place})" if told.place is not None else said


def result(turn: Turn, kit: Kit, crew: tuple[Person, ...], brief: bool = False) -> str:
    """What the kit is ready for, what limits it, what is short in buying order, when it is due again."""
    stock = stock_of(turn.unit.stock, kit.name)
    if stock.begun_us is None:
        return turn.word("kit.how", kit=kit.name)
    ready = readiness(turn.trade.par, kit, stock, crew)
    sentences = [_ready(turn, stock.jars, ready)]
    if brief:
        due = due_again(stock, turn.trade.limits)
        ends_us = [us for us in (due.look_us, due.count_us) if us is not None]
        late = due.after_use or any(us <= turn.message.received_us for us in ends_us)
        return f"{sentences[0]} {_due(turn, kit)}" if late else sentences[0]
    if ready.short:
        sentences.append(turn.word("kit.buy", parts=wanted_words(ready.short)))
    sentences += [
        turn.word("kit.no_size", size=size, people=" ".join(people)) for size, people in ready.without.items()
    ]
    if ready.uncounted:
        sentences.append(_uncounted(turn, kit, ready))
    else:
        sentences.append(_due(turn, kit))
    return " ".join(sentences)


def _ready(turn: Turn, jars: int, ready: Readiness) -> str:
    limits = ", ".join(item.name for item in ready.limits[:3])
    if ready.jars is None:
        key = "kit.at_most.limited" if limits else "kit.at_most"
    elif limits:
        key = "kit.ready.limited"
    else:
        key = "kit.ready"
    return turn.word(key, jars=ready.at_most, limits=limits, wanted=jars)


def wanted_words(short: tuple[Short, ...]) -> str:
    """What is to be bought, in the order given."""
    sized = (f"{one.item.name} {' '.join(one.sizes)}" if one.sizes else None for one in short)
    return ", ".join(said or f"{one.item.name} {one.short}" for one, said in zip(short, sized, strict=True))


def _uncounted(turn: Turn, kit: Kit, ready: Readiness) -> str:
    names = ", ".join(item.name for item in ready.uncounted[:LISTED])
    more = len(ready.uncounted) - LISTED
    if more > 0:
        names += turn.word("kit.and_more", count=more)
    return turn.word("kit.uncounted", names=names, kit=kit.name)


def _due(turn: Turn, kit: Kit) -> str:
    due = due_again(stock_of(turn.unit.stock, kit.name), turn.trade.limits)
    if due.look_us is None or due.count_us is None:
        return turn.word("kit.due.use")
    look_us = min(due.look_us, due.count_us)
    if look_us < turn.message.received_us + DAY_US:
        return turn.word("kit.due.now")
    return turn.word("kit.due", look=day(turn, look_us), count=day(turn, due.count_us))
