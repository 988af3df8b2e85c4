"""What holders say of jars they keep: where they lie, new seals beside old ones, open minutes explained."""

from __future__ import annotations

import re

from ...model.entries import GapExplained, JarsStored, Resealed
from ...model.sample import Sample
from ..queries import seal_findings, wording_of
from ..readers.clock_time import looks_like_time
from ..record import raise_query
from ..turn import Turn
from .jars import (
    Found,
    answer,
    by_case,
    find_jars,
    keep_words,
    leading_numbers,
    listed,
    unknown,
    without_case,
)
from .offer import find_held, own_time

_EXPLAIN = re.compile(r"explain\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_STORE = re.compile(r"store\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_RESEAL = re.compile(r"reseal\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_WITNESS = re.compile(r"\bwitness(?:ed\s+by)?\s+(?P<name>[^\s,;]+)[\s,;]*", re.IGNORECASE)
_LOCK = re.compile(r"[\s,;]*\b(?P<no>not\s+locked|unlocked|no\s+lock)\b|[\s,;]*\blocked\b", re.IGNORECASE)
_IN = re.compile(r"^(?:in|into|place)\s+(?:the\s+)?", re.IGNORECASE)
_SEAL = re.compile(r"(?:seal\s+)?(?P<seal>[A-Za-z]{0,3}-?[0-9]{1,10})\b[\s,;]*", re.ASCII | re.IGNORECASE)
_FEWEST = 3  # letters of a reason in human words


def _letters(words: str) -> int:
    return sum(1 for letter in words if letter.isalpha())


def hear_explained(turn: Turn, text: str) -> bool:
    """`explain 03 locked in my van`: a human statement beside whatever the jar's line leaves open."""
    match = _EXPLAIN.match(without_case(turn, text))
    if match is None:
        return False
    numbers, words = leading_numbers(match["rest"])
    if not numbers or _letters(words) < _FEWEST:
        turn.say(turn.word("custody.explain_how"))
        return True
    found = find_jars(turn, numbers, lambda jar: True, lambda number, here: unknown(turn, number.number))
    explain(turn, found, words)
    return True


def explain(turn: Turn, found: Found, words: str) -> None:
    """These words stand beside whatever the jars' lines leave open."""
    for case, jars in by_case(found.jars):
        turn.write(case, GapExplained(samples=tuple(jar.id for jar in jars), words=words))
    done = turn.word("custody.explained", numbers=listed(turn, found.jars)) if found.jars else ""
    answer(turn, found.jars, (done, *found.said))


def hear_stored(turn: Turn, text: str) -> bool:
    """`store 01-03 evidence fridge locked`: the place has them, and their holder is its key-holder."""
    match = _STORE.match(without_case(turn, text))
    if match is None:
        return False
    numbers, words = leading_numbers(match["rest"])
    if not numbers:
        turn.say(turn.word("custody.store_how"))
        return True
    lock = _LOCK.search(words)
    place = _IN.sub("", _LOCK.sub("", words).strip(" ,."))
    *place_words, last = place.split() or [""]
    at = own_time(turn, last) if looks_like_time(last) else None
    place = " ".join(place_words) if at is not None else place
    if isinstance(at, str) or not place:
        turn.say(at if isinstance(at, str) else turn.word("custody.store_how"))
        return True
    found = find_held(turn, numbers)
    locked = None if lock is None else lock["no"] is None
    for case, jars in by_case(found.jars):
        when = {"at": None if at is None else at.iso, "at_us": None if at is None else at.at_us}
        body = JarsStored(samples=tuple(jar.id for jar in jars), place=place, locked=locked, **when)
        turn.write(case, body, event=body.at)
    key = "custody.stored" if locked else "custody.stored_open" if lock else "custody.stored_lock"
    told = {"numbers": listed(turn, found.jars), "place": place[:30], "first": numbers[0].number}
    answer(turn, found.jars, (turn.word(key, **told) if found.jars else "", *found.said))
    return True


def hear_resealed(turn: Turn, text: str) -> bool:
    """`reseal 02 5119 witness C1 cut in transit`: both numbers stand, the old seal stays on."""
    match = _RESEAL.match(without_case(turn, text))
    if match is None:
        return False
    number, _, rest = match["rest"].partition(" ")
    numbers, _ = leading_numbers(number)
    seal = _SEAL.match(rest.strip())
    if len(numbers) != 1 or seal is None:
        turn.say(turn.word("custody.reseal_how"))
        return True
    words = rest.strip()[seal.end() :]
    witness = _WITNESS.search(words)
    why = _WITNESS.sub("", words).strip(" ,.;")
    found = find_held(turn, numbers)
    if found.jars and _letters(why) < _FEWEST:
        keep_words(turn, found.jars, text)
        turn.say(turn.word("custody.reseal_why", number=numbers[0].number, seal=seal["seal"]))
        return True
    said = [_reseal(turn, jar, seal["seal"], witness["name"] if witness else None, why) for jar in found.jars]
    answer(turn, found.jars, (*said, *found.said))
    return True


def _reseal(turn: Turn, jar: Sample, seal: str, witness: str | None, why: str) -> str:
    if witness is not None and witness.lower() == turn.person.name.lower():
        witness = None  # nobody is their own witness
    declared = turn.person.has("laboratory")
    body = Resealed(samples=(jar.id,), number=seal, witness=witness, why=why, declared=declared)
    turn.write(jar.case, body)
    queries = [
        raise_query(turn, turn.sample(jar.id), "seal", finding.rule, wording_of(turn, finding))
        for finding in seal_findings(turn, jar, seal)
    ]
    key = "custody.resealed" if witness else "custody.resealed_alone"
    if declared:
        key = "custody.resealed_declared"
    text = turn.word(key, number=listed(turn, [jar]), seal=seal, witness=witness or "", first=jar.number)
    return " ".join((text, *queries))
