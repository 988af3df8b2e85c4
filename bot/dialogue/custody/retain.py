"""Retention orders, and disposal: two people, an authority, and never under an order."""

from __future__ import annotations

import re

from ...model.entries import CustodyOffered, DisposalRefused, RetentionLifted, RetentionOrdered
from ...model.sample import Sample
from ...rules.roles import Action, may, who_may
from ..readers.words import NumberTold
from ..speakers import lacks_code
from ..turn import Turn
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
from .offer import find_held, like

_RETAIN = re.compile(r"(?P<verb>retain|release)\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_DISPOSE = re.compile(r"dispose(?:\s+of)?\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_WITH = re.compile(r"\bwith\s+(?P<name>[^\s,]+)[\s,]*", re.IGNORECASE)
_AUTHORITY = re.compile(r"\bauthority\b[\s:,]*(?P<words>\S.*)$", re.IGNORECASE | re.DOTALL)
_FEWEST = 3  # letters of an order or a reason in human words


def _words(text: str) -> str:
    words = text.strip(" ,.:")
    return words if sum(1 for letter in words if letter.isalpha()) >= _FEWEST else ""


def is_retained(jar: Sample) -> bool:
    """True where a retention order keeps this jar."""
    return jar.custody is not None and jar.custody.retained is not None


def hear_retention(turn: Turn, text: str) -> bool:
    """`retain 01-03 order of the court, 12 Oct` keeps them; `release 01-03` and why lifts it."""
    match = _RETAIN.match(without_case(turn, text))
    if match is None:
        return False
    numbers, words = _meant(turn, match["rest"])
    lifts = match["verb"].lower() == "release"
    if lifts and not numbers:
        return False
    if not numbers or not _words(words):
        turn.say(turn.word("custody.retain_how"))
        return True
    lacks = lacks_code(turn)
    if lacks or not may(turn.person, Action.ORDER_RETENTION):
        keep_words(turn, [], text)
        turn.say(turn.word("code.hand_over" if lacks else "custody.retain_who"))
        return True
    _order(turn, numbers, _words(words), lifts=lifts)
    return True


def _meant(turn: Turn, rest: str) -> tuple[tuple[NumberTold, ...], str]:
    """The numbers named, or with ALL those of every jar of the case."""
    first, _, after = rest.partition(" ")
    if first.lower() != "all" or turn.case is None:
        return leading_numbers(rest)
    jars = turn.jars_of(turn.case.name)
    return tuple(NumberTold(jar.number, jar.number_key) for jar in jars if jar.struck is None), after


def _order(turn: Turn, numbers: tuple[NumberTold, ...], words: str, *, lifts: bool) -> None:
    def why_not(number: NumberTold, here: list[Sample]) -> str:
        plain = turn.word("custody.not_retained", number=number.number)
        return plain if here else unknown(turn, number.number)

    found = find_jars(turn, numbers, lambda jar: not lifts or is_retained(jar), why_not)
    for case, jars in by_case(found.jars):
        ids = tuple(jar.id for jar in jars)
        turn.write(case, (RetentionLifted if lifts else RetentionOrdered)(samples=ids, words=words))
        told = {"numbers": listed(turn, jars), "person": turn.person.name, "words": words[:MOST_NAMED]}
        text = turn.word("custody.released_told" if lifts else "custody.retained_told", **told)
        for holder in sorted({jar.holder for jar in jars}):
            tell_one(turn, holder, case, text)
    key = "custody.released" if lifts else "custody.ordered"
    done = turn.word(key, numbers=listed(turn, found.jars)) if found.jars else ""
    answer(turn, found.jars, (done, *found.said))


def refuse_disposal(turn: Turn, jars: list[Sample], words: str) -> None:
    """That it was asked and refused is on record, and who orders retention hears it."""
    for case, of_case in by_case(jars):
        body = DisposalRefused(samples=tuple(jar.id for jar in of_case), why="retention order", words=words)
        turn.write(case, body)
        told = {"numbers": listed(turn, of_case), "person": turn.person.name}
        for lead in who_may(turn.unit, Action.ORDER_RETENTION):
            tell_one(turn, lead.name, case, turn.word("custody.disposal_told", **told))


def hear_disposal(turn: Turn, text: str) -> bool:
    """`dispose 01 with R2 authority harbour court 77, licensed waste`: R2 reads the seal, then it is done."""
    match = _DISPOSE.match(without_case(turn, text))
    if match is None:
        return False
    numbers, rest = leading_numbers(match["rest"])
    second, authority = _WITH.search(rest), _AUTHORITY.search(rest)
    why_not = ""
    if not numbers or second is None or authority is None or not _words(authority["words"]):
        why_not = turn.word("custody.dispose_how")
    elif lacks_code(turn) or not may(turn.person, Action.DISPOSE):
        why_not = turn.word("code.hand_over" if lacks_code(turn) else "custody.dispose_who")
    else:
        person = receiver_of(turn, second["name"])
        if isinstance(person, str):
            why_not = person
        elif person.name == turn.person.name:
            why_not = turn.word("custody.dispose_two")
        else:
            _dispose(turn, find_held(turn, numbers), person.name, authority["words"].strip(), text)
    if why_not:
        keep_words(turn, [], text)
        turn.say(why_not)
    return True


def _dispose(turn: Turn, found: Found, second: str, authority: str, text: str) -> None:
    kept = [jar for jar in found.jars if is_retained(jar)]
    refuse_disposal(turn, kept, text)
    busy = [jar for jar in found.jars if jar not in kept and jar.offer is not None]
    free = [jar for jar in found.jars if jar not in kept and jar.offer is None]
    for case, jars in by_case(free):
        body = CustodyOffered(
            samples=tuple(jar.id for jar in jars),
            offer=turn.next_id(case),
            to=second,
            type="disposal",
            authority=authority,
            coded=turn.proven or None,
        )
        turn.write(case, body)
        told = {"person": turn.person.name, "numbers": listed(turn, jars), "like": like(jars)}
        text = turn.word("custody.dispose_told", **told, first=jars[0].number, last=jars[-1].number)
        tell_one(turn, second, case, text)
    said = [turn.word("custody.paper_busy", number=jar.number) for jar in busy]
    said += [turn.word("custody.retained", number=listed(turn, [jar])) for jar in kept]
    done = turn.word("custody.disposing", numbers=listed(turn, free), person=second) if free else ""
    answer(turn, found.jars, (done, *said, *found.said))
