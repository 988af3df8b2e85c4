"""A side without a phone on this line signs on paper: photographed, and closed by a supervisor later."""

from __future__ import annotations

import re

from ...model.entries import CustodyOffered, CustodyReceived, PaperKept
from ...model.sample import Sample
from ...rules.roles import Action, may
from ..read_back import clock_at
from ..readers.clock_time import TimeTold
from ..readers.words import NumberTold, read_numbers
from ..speakers import lacks_code
from ..turn import Turn
from .boxed import unboxed
from .jars import (
    Found,
    answer,
    by_case,
    find_jars,
    keep_words,
    leading_numbers,
    listed,
    tell_one,
    unknown,
    without_case,
)
from .offer import find_held, own_time

_PAPER = re.compile(r"paper\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_CLOSE = re.compile(r"close\s+paper\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_WAY = re.compile(
    r"\b(?P<way>to|from)\s+(?P<name>[A-Za-z][\w.'-]*)[\s,]*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL
)
_AS = re.compile(r"\b(?P<as>split|court|return|laboratory|courier|hand)\b", re.IGNORECASE)


def hear_paper(turn: Turn, text: str) -> bool:
    """`paper 06 to Mate 1507 split`, or its photo with `paper 06`: with the giver until it is closed."""
    match = _PAPER.match(without_case(turn, text))
    if match is None:
        return False
    way = _WAY.search(match["rest"])
    numbers = read_numbers(unboxed(turn, match["rest"][: way.start()] if way else match["rest"]).strip())
    if not isinstance(numbers, tuple) or not (way or turn.message.attachments):
        turn.say(turn.word("custody.paper_how"))
        return True
    if way is None:
        _keep_photo(turn, numbers)
    elif lacks_code(turn):
        keep_words(turn, [], text)
        turn.say(turn.word("code.hand_over"))
    else:
        _begin(turn, numbers, way, text)
    return True


def _begin(turn: Turn, numbers: tuple[NumberTold, ...], way: re.Match[str], text: str) -> None:
    sort = _AS.search(way["rest"])
    at = own_time(turn, _AS.sub("", way["rest"]).strip())
    if isinstance(at, str):
        turn.say(at)
        return
    away = way["way"].lower() == "to"
    found = find_held(turn, numbers) if away else _held_by(turn, numbers, way["name"])
    free = [jar for jar in found.jars if jar.offer is None]
    if len(free) < len(found.jars) or found.said:
        keep_words(turn, found.jars, text)
    busy = [turn.word("custody.paper_busy", number=jar.number) for jar in found.jars if jar.offer is not None]
    for case, jars in by_case(free):
        body = CustodyOffered(
            samples=tuple(jar.id for jar in jars),
            offer=turn.next_id(case),
            to=way["name"] if away else turn.person.name,
            type=sort["as"].lower() if sort else "hand",
            at=None if at is None else at.iso,
            at_us=None if at is None else at.at_us,
            giver=None if away else jars[0].holder,
            paper=True,
        )
        turn.write(case, body, event=body.at)
        _keep(turn, [turn.sample(jar.id) for jar in jars])
    key = "custody.paper_to" if away else "custody.paper_from"
    told = {"numbers": listed(turn, free), "name": way["name"], "first": numbers[0].number}
    photo = "" if turn.message.attachments or not free else turn.word("custody.paper_photo", **told)
    answer(turn, found.jars, (turn.word(key, **told) if free else "", photo, *busy, *found.said))


def _held_by(turn: Turn, numbers: tuple[NumberTold, ...], name: str) -> Found:
    """The jars of these numbers that are with somebody who is not on this line."""

    def fits(jar: Sample) -> bool:
        return jar.holder.lower() == name.lower() and jar.holder not in turn.board.unit.people

    def why_not(number: NumberTold, here: list[Sample]) -> str:
        if not here:
            return unknown(turn, number.number)
        return turn.word("custody.paper_not_there", number=here[-1].number, person=here[-1].holder)

    return find_jars(turn, numbers, fits, why_not)


def _waiting(turn: Turn, numbers: tuple[NumberTold, ...]) -> Found:
    def fits(jar: Sample) -> bool:
        return jar.offer is not None and jar.offer.paper

    def why_not(number: NumberTold, here: list[Sample]) -> str:
        return turn.word("custody.paper_none", number=number.number) if here else unknown(turn, number.number)

    return find_jars(turn, numbers, fits, why_not)


def _keep_photo(turn: Turn, numbers: tuple[NumberTold, ...]) -> None:
    found = _waiting(turn, numbers)
    _keep(turn, found.jars)
    done = turn.word("custody.paper_kept", numbers=listed(turn, found.jars)) if found.jars else ""
    answer(turn, found.jars, (done, *found.said))


def _keep(turn: Turn, jars: list[Sample]) -> None:
    """The message's photos are on record with the paper of these jars."""
    offers: dict[str, list[Sample]] = {}
    for jar in jars:
        if jar.offer is not None:
            offers.setdefault(jar.offer.id, []).append(jar)
    photos = [photo for photo in turn.message.attachments if photo.problem is None]
    for offer, of_offer in offers.items():
        ids = tuple(jar.id for jar in of_offer)
        for photo in photos:
            turn.write(of_offer[0].case, PaperKept(samples=ids, offer=offer, photo=photo, caption=turn.text))


def hear_closed(turn: Turn, text: str) -> bool:
    """`close paper 06 1507`: a supervisor who saw the signature closes the link, marked paper."""
    match = _CLOSE.match(without_case(turn, text))
    if match is None:
        return False
    numbers, rest = leading_numbers(unboxed(turn, match["rest"]))
    at = own_time(turn, rest)
    if not numbers or isinstance(at, str):
        turn.say(at if isinstance(at, str) else turn.word("custody.close_how"))
        return True
    if not may(turn.person, Action.ORDER_RETENTION):
        keep_words(turn, [], text)
        turn.say(turn.word("custody.close_who"))
        return True
    if lacks_code(turn):
        turn.say(turn.word("code.hand_over"))
        return True
    found = _waiting(turn, numbers)
    lacking = [(jar, _lacks(turn, jar)) for jar in found.jars]
    ready = [jar for jar, lack in lacking if not lack]
    if len(ready) < len(found.jars):
        keep_words(turn, found.jars, text)
    for jar in ready:
        _close(turn, jar, at)
    now_us = turn.message.received_us
    shown = clock_at(now_us if at is None else at.at_us, turn.trade, now_us)
    told = {"numbers": listed(turn, ready), "at": shown}
    done = turn.word("custody.closed", **told) if ready else ""
    answer(turn, found.jars, (done, *(lack for _, lack in lacking), *found.said))
    return True


def _lacks(turn: Turn, jar: Sample) -> str:
    """What a paper lacks still, empty where it can be closed: nobody closes their own."""
    offer = jar.offer
    if offer is None or turn.person.name in (offer.by, offer.to):
        return turn.word("custody.close_own", number=jar.number)
    if not offer.signed:
        return turn.word("custody.close_unsigned", number=jar.number)
    read = offer.was_read and not offer.differs and offer.condition is not None
    if offer.to in turn.board.unit.people and offer.by not in turn.board.unit.people and not read:
        return turn.word("custody.close_unread", number=jar.number, person=offer.to)
    return ""


def _close(turn: Turn, jar: Sample, at: TimeTold | None) -> None:
    offer = jar.offer
    if offer is None:
        return
    body = CustodyReceived(
        samples=(jar.id,),
        offer=offer.id,
        at=None if at is None else at.iso,
        at_us=None if at is None else at.at_us,
        paper=True,
    )
    turn.write(jar.case, body, event=body.at)
    told = {"number": listed(turn, [jar]), "person": offer.to, "by": turn.person.name}
    for name in (offer.by, offer.to):
        tell_one(turn, name, jar.case, turn.word("custody.closed_told", **told))
