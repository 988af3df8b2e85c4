"""Offers: "offer 01-03 to C1 1507 place evidence fridge"; and taken back: "withdraw 02"."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ...model.entries import CustodyOffered, OfferWithdrawn
from ...model.people import Person
from ...model.sample import Sample
from ..readers.base import Ask
from ..readers.clock_time import TimeTold, looks_like_time
from ..readers.words import NumberTold, read_numbers
from ..readings import Source, read_clock
from ..speakers import lacks_code
from ..turn import Turn
from .boxed import Boxed, box_named, jars_in, unboxed
from .jars import (
    MOST_NAMED,
    Found,
    answer,
    by_case,
    find_jars,
    keep_words,
    leading_numbers,
    listed,
    receiver_of,
    tell_one,
    unknown,
    without_case,
)

_OFFER = re.compile(
    r"(?:(?P<verb>offer|return|court|split)|(?:give|giving|hand|handing|pass|passing)(?:\s+over)?)\b\s*(?P<rest>.*)$",
    re.IGNORECASE | re.DOTALL,
)
# Behind the plain words for it only a time may stand: what else is said there is no place and no carrier.
_LATER = re.compile(r"(?!(?:at\s+)?\d|now\b|\Z)", re.IGNORECASE)
_TO = re.compile(r"\b(?:(?:over|on|back)\s+)?to\s+(?:the\s+)?(?P<to>[^\s,]+)", re.IGNORECASE)
_BY = re.compile(r"\b(?:by|with|carrier)\s+(?P<by>[A-Za-z][\w.-]*)", re.IGNORECASE)
_PLACE = re.compile(r"\b(?:place|into|in)\s+(?:the\s+)?(?P<place>[A-Za-z].*)$", re.IGNORECASE)
_WITHDRAW = re.compile(r"withdraw\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True)
class Terms:
    """To whom the jars go, where to, and when by the giver's own time."""

    to: Person
    place: str | None
    at: TimeTold | None
    carrier: str | None = None
    verb: str = "offer"
    container: str | None = None

    @property
    def type(self) -> str:
        """As in the list of custody: as said, else by the receiver's office; a place makes it a store."""
        if self.verb != "offer":
            return self.verb
        for role in ("courier", "laboratory"):
            if self.to.has(role):
                return role
        return "store" if self.place is not None else "hand"


def hear_offer(turn: Turn, text: str) -> bool:
    """The jars are on offer; they stay on record with the giver until they are read and taken."""
    match = _OFFER.match(without_case(turn, text))
    if match is None:
        return False
    boxed = box_named(match["rest"])
    split = _split(match["rest"]) if boxed is None else _split_box(boxed)
    if match["verb"] is None and (split is None or _LATER.match(split[2])):
        return False  # "give me a minute", "giving 04 to C1 in the morning"
    if split is None:
        turn.say(turn.word("custody.offer_how"))
        return True
    numbers, word, rest = split
    verb = (match["verb"] or "offer").lower()
    terms = terms_of(turn, verb, word, rest, None if boxed is None else boxed.name)
    if isinstance(terms, str) or lacks_code(turn):
        keep_words(turn, [], text)
        turn.say(terms if isinstance(terms, str) else turn.word("code.hand_over"))
        return True
    if boxed is None:
        _offer_found(turn, find_held(turn, numbers), terms, text)
    else:
        _offer_found(turn, _held_in(turn, boxed), terms, text)
    return True


def _split_box(boxed: Boxed) -> tuple[tuple[NumberTold, ...], str, str] | None:
    match = _TO.search(boxed.rest)
    return None if match is None else ((), match["to"], boxed.rest[match.end() :].strip(" ,"))


def _held_in(turn: Turn, boxed: Boxed) -> Found:
    """The jars of a box that are with this person; all of them go, or why none does."""
    jars = jars_in(turn, boxed.name)
    mine = [jar for jar in jars if jar.holder == turn.person.name]
    if mine:
        return Found(mine)
    key = "custody.box_elsewhere" if jars else "custody.box_unknown"
    return Found([], [turn.word(key, box=boxed.name, person=jars[0].holder if jars else "")])


def _split(rest: str) -> tuple[tuple[NumberTold, ...], str, str] | None:
    """The numbers, the receiver's name and what follows; the last TO that leaves a list of numbers counts."""
    for match in reversed(list(_TO.finditer(rest))):
        numbers = read_numbers(rest[: match.start()])
        if isinstance(numbers, tuple) and not match["to"].isdigit():
            return numbers, match["to"], rest[match.end() :].strip(" ,")
    return None


def terms_of(turn: Turn, verb: str, word: str, rest: str, container: str | None = None) -> Terms | str:
    """To whom, where, when and by whom; else the sentence that says what is wrong."""
    to = receiver_of(turn, word)
    if isinstance(to, str):
        return to
    if to.name == turn.person.name:
        return turn.word("custody.to_oneself")
    place = _PLACE.search(rest)
    times = rest[: place.start()] if place is not None else rest
    by = _BY.search(times)
    at = own_time(turn, _BY.sub("", times))
    if isinstance(at, str):
        return at
    where = place["place"].strip() if place is not None else None
    return Terms(to, where, at, by["by"] if by is not None else None, verb, container)


def own_time(turn: Turn, words: str) -> TimeTold | str | None:
    """The time that these words state, None where there are none; else the sentence that asks for it."""
    words = re.sub(r"^\s*(?:at|received|taken)\b", "", words, flags=re.IGNORECASE).strip(" ,.")
    if not words:
        return None
    read = read_clock(words, Source(turn.trade, turn.message)) if looks_like_time(words) else None
    if isinstance(read, TimeTold):
        return read
    if isinstance(read, Ask):
        return turn.word(read.key, **read.values)
    return turn.word("custody.unread", words=words[:MOST_NAMED])


def _is_gone(jar: Sample) -> bool:
    return jar.custody is not None and jar.custody.type == "disposal"


def find_held(turn: Turn, numbers: tuple[NumberTold, ...]) -> Found:
    """The jars of these numbers that are on record with this person, and why others are not theirs."""

    def fits(jar: Sample) -> bool:
        return jar.holder == turn.person.name and jar.struck is None and not _is_gone(jar)

    return find_jars(turn, numbers, fits, lambda number, here: not_with_you(turn, number, here))


def _offer_found(turn: Turn, found: Found, terms: Terms, text: str) -> None:
    free = [jar for jar in found.jars if jar.offer is None]
    taken = [jar for jar in found.jars if jar.offer is not None]
    said = [
        turn.word("custody.offered_already", number=jar.number, person=jar.offer.to)
        for jar in taken
        if jar.offer is not None
    ]
    if found.said or taken:
        keep_words(turn, found.jars, text)
    for case, jars in by_case(free):
        _write(turn, case, jars, terms)
    done = turn.word("custody.offered", numbers=listed(turn, free)) if free else ""
    reach = "" if terms.to.addresses or not free else turn.word("custody.no_phone", person=terms.to.name)
    answer(turn, found.jars, (done, reach, *said, *found.said))


def _write(turn: Turn, case: str, jars: list[Sample], terms: Terms) -> None:
    body = CustodyOffered(
        samples=tuple(jar.id for jar in jars),
        offer=turn.next_id(case),
        to=terms.to.name,
        type=terms.type,
        place=terms.place,
        at=None if terms.at is None else terms.at.iso,
        at_us=None if terms.at is None else terms.at.at_us,
        carrier=terms.carrier,
        container=terms.container,
        coded=turn.proven or None,
    )
    turn.write(case, body, event=body.at)
    told = {"person": turn.person.name, "numbers": listed(turn, jars), "like": like(jars)}
    if terms.container is None:
        text = turn.word("custody.to_receiver", **told, first=jars[0].number, last=jars[-1].number)
    else:
        text = turn.word("custody.box_to_receiver", **told, box=terms.container)
    tell_one(turn, terms.to.name, case, text)


def like(jars: list[Sample]) -> str:
    """A seal's number for an example: none that one of these jars bears."""
    boxes = (jar.custody.box for jar in jars if jar.custody is not None)
    borne = {jar.seal for jar in jars} | {box.seal for box in boxes if box is not None}
    return "4451" if "4451" not in borne else "7702"


def not_with_you(turn: Turn, number: NumberTold, here: list[Sample]) -> str:
    """Why a jar is not this person's to hand on."""
    if not here:
        return unknown(turn, number.number)
    jar = here[-1]
    if _is_gone(jar):
        return turn.word("custody.disposed", number=jar.number)
    if jar.struck is not None and jar.holder == turn.person.name:
        return turn.word("custody.struck", number=jar.number, why=jar.struck[:MOST_NAMED])
    return turn.word("custody.not_with_you", number=jar.number, person=jar.holder)


def hear_withdrawn(turn: Turn, text: str) -> bool:
    """The giver takes offers back; what was taken already stays taken."""
    match = _WITHDRAW.match(without_case(turn, text))
    if match is None:
        return False
    numbers, why = leading_numbers(unboxed(turn, match["rest"]))
    if not numbers:
        turn.say(turn.word("custody.withdraw_how"))
        return True

    def fits(jar: Sample) -> bool:
        offer = jar.offer
        if offer is None:
            return False
        return turn.person.name == (offer.to if offer.paper and _is_outside(turn, offer.by) else offer.by)

    found = find_jars(turn, numbers, fits, lambda number, here: _not_on_offer(turn, number, here))
    if found.said:
        keep_words(turn, found.jars, text)
    for jar in found.jars:
        if jar.offer is not None:
            body = OfferWithdrawn(samples=(jar.id,), offer=jar.offer.id, why=why or None)
            turn.write(jar.case, body)
            told = turn.word("custody.withdrawn_told", person=turn.person.name, numbers=listed(turn, [jar]))
            tell_one(turn, jar.offer.to, jar.case, told)
    done = turn.word("custody.withdrawn", numbers=listed(turn, found.jars)) if found.jars else ""
    answer(turn, found.jars, (done, *found.said))
    return True


def _is_outside(turn: Turn, name: str) -> bool:
    """Not on this line: then who wrote down the paper speaks for it."""
    return name not in turn.board.unit.people


def _not_on_offer(turn: Turn, number: NumberTold, here: list[Sample]) -> str:
    if not here:
        return unknown(turn, number.number)
    if here[-1].holder == turn.person.name:
        return turn.word("custody.not_on_offer", number=here[-1].number)
    return turn.word("custody.gone_already", number=here[-1].number, person=here[-1].holder)
