"""A laboratory reads what arrived, one by one, and what it found is attached verbatim."""

from __future__ import annotations

import re

from ...model.entries import ResultAttached
from ...model.sample import Sample
from ...rules.roles import Action, may
from ..readers.base import UNREAD
from ..readers.words import NumberTold, read_numbers
from ..turn import Turn
from .boxed import jars_in
from .jars import (
    MOST_NAMED,
    answer,
    by_case,
    find_jars,
    keep_words,
    leading_numbers,
    listed,
    unknown,
    without_case,
)

_RESULT = re.compile(r"results?\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)


def arrived(turn: Turn, jar: Sample) -> str:
    """What is said of a jar that a laboratory read after its box came; empty for any other reading."""
    custody = turn.sample(jar.id).custody
    if custody is None or custody.holder != turn.person.name or custody.type != "laboratory":
        return ""
    if any(mark.by == turn.person.name for mark in custody.marks):
        return turn.word("custody.arrived_marked", number=listed(turn, [jar]))
    box = custody.box
    others = [turn.sample(one.id) for one in jars_in(turn, box.name)] if box is not None else []
    left = [one for one in others if one.custody is not None and not one.custody.acknowledged]
    if left:
        return turn.word("custody.arrived_some", number=listed(turn, [jar]), left=listed(turn, left))
    return turn.word("custody.arrived", number=listed(turn, [jar]))


def _numbers_and_words(rest: str) -> tuple[tuple[NumberTold, ...], str]:
    """The jars and what was found; before a colon stand jars alone, as many as are named."""
    listed_ones, colon, words = rest.partition(":")
    read = read_numbers(listed_ones) if colon else UNREAD
    return (read, words.strip()) if isinstance(read, tuple) else leading_numbers(rest)


def hear_result(turn: Turn, text: str) -> bool:
    """`result 03-05 report K-77 of 20 Oct`, with its file: kept word for word, and judged by nobody here."""
    match = _RESULT.match(without_case(turn, text))
    if match is None:
        return False
    numbers, words = _numbers_and_words(match["rest"])
    if not numbers or not (words or turn.message.attachments):
        turn.say(turn.word("custody.result_how"))
        return True
    if not (turn.person.has("laboratory") or may(turn.person, Action.SEE_EVIDENCE)):
        keep_words(turn, [], text)
        turn.say(turn.word("custody.result_who"))
        return True
    found = find_jars(turn, numbers, lambda jar: True, lambda number, here: unknown(turn, number.number))
    for case, jars in by_case(found.jars):
        ids = tuple(jar.id for jar in jars)
        for file in turn.message.attachments or (None,):
            turn.write(case, ResultAttached(samples=ids, words=words, file=file))
    told = {"numbers": listed(turn, found.jars), "words": words[:MOST_NAMED]}
    answer(turn, found.jars, (turn.word("custody.result", **told) if found.jars else "", *found.said))
    return True
