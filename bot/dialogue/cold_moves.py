"""Jars that go into a cooler, come out of one, or move from one into another: `01-03 into M at 1210`."""

from __future__ import annotations

import re

from ..model.cold import key_of
from ..model.entries import JarsMoved
from ..model.sample import Sample
from .cold_when import When, when_of
from .forecast_asked import ask_forecast
from .readers.words import read_numbers
from .turn import Turn
from .which_case import ask_case, case_of_conversation

_MOVE = re.compile(
    r"^(?P<numbers>(?:jars? )?\d[\d ,&+-]*?)\s+(?:(?:moved|put|now|are|is|went)\s+)*"
    r"(?P<way>in|into|to|out of|out|from)\s+(?:the\s+)?(?P<what>cooler|fridge)?\s*"
    r"(?P<name>[A-Za-z][\w-]{0,19})?(?:\s+at\s+(?P<time>\S+(?: ?[ap]\.?m\.?)?))?\s*\.?$",
    re.IGNORECASE,
)
_TWO = re.compile(
    r"^(?P<numbers>(?:jars? )?\d[\d ,&+-]*?)\s+(?:(?:moved|put|now|are|is|went)\s+)*(?:in|into|to)\s+"
    r"(?:(?:cooler|fridge)\s+)?(?P<first>[A-Za-z][\w-]{0,19})\s*(?:and|or|&|,)\s*"
    r"(?:(?:cooler|fridge)\s+)?(?P<second>[A-Za-z][\w-]{0,19})\s*\.?$",
    re.IGNORECASE,
)
_FROM = re.compile(
    r"\b(?:out of|from)\s+(?:(?:cooler|fridge)\s+)?[A-Za-z][\w-]{0,19}\s+(?:and\s+)?(?=(?:in|into|to)\b)",
    re.IGNORECASE,
)


def hear_moved(turn: Turn, text: str) -> bool:
    """The jars are on record as in the cooler, or out of it, from that time on."""
    if _names_two(turn, text):
        return True
    match = _MOVE.match(_FROM.sub("", text))
    if match is None or not _names_a_cooler(turn, match):
        return False
    read = read_numbers(match["numbers"])
    if not isinstance(read, tuple):
        return False
    case = turn.case or case_of_conversation(turn)
    if case is None:
        ask_case(turn)
        return True
    turn.case = case
    jars = {number.number: turn.find(("number", case.name, number.key)) for number in read}
    unknown = [number for number, found in jars.items() if len([s for s in found if s.struck is None]) != 1]
    if unknown:
        turn.say(turn.word("cold.which_jar", numbers=" ".join(unknown), case=case.name))
        return True
    when = when_of(turn, match["time"])
    if when is not None:
        _move(turn, [s for found in jars.values() for s in found if s.struck is None], match, when)
    return True


def _names_two(turn: Turn, text: str) -> bool:
    """A jar is in one cooler at a time: which of the two is asked, and nothing is on record."""
    match = _TWO.match(text)
    if match is None or turn.cooler_named(match["first"]) not in turn.board.unit.coolers:
        return False
    turn.say(turn.word("cold.two", first=match["first"], second=match["second"], numbers=match["numbers"]))
    return True


def _names_a_cooler(turn: Turn, match: re.Match[str]) -> bool:
    """A cooler is named as one or is set up: other words behind a number say something of that jar."""
    if match["what"] is not None:
        return match["name"] is not None
    if match["name"] is None:
        return match["way"].lower() == "out"
    return turn.cooler_named(match["name"]) in turn.board.unit.coolers


def _move(turn: Turn, jars: list[Sample], match: re.Match[str], when: When) -> None:
    """One entry for all jars; a jar that is told to be in it already changes nothing."""
    out = match["way"].lower() in ("out", "out of", "from")
    name = turn.cooler_named(match["name"]) if match["name"] else None
    moving = [s for s in jars if out or key_of(s.text("cooler") or "") != key_of(name or "")]
    numbers = " ".join(sample.number for sample in jars)
    if not moving:
        turn.say(turn.word("cold.there", numbers=numbers, cooler=name or ""))
        return
    left = {turn.cooler_named(s.text("cooler") or "") for s in moving if s.text("cooler") is not None}
    if out and name is not None:
        left = {name}
    body = JarsMoved(
        samples=tuple(sample.id for sample in moving),
        into=None if out else name,
        out_of=tuple(sorted(left)),
        at=when.iso,
        at_us=when.at_us,
        words=turn.text,
    )
    turn.write(moving[0].case, body, event=body.at)
    for cooler in (*body.out_of, *([name] if name and not out else [])):
        ask_forecast(turn, cooler)
    if out:
        turn.say(turn.word("cold.out", numbers=numbers, cooler=" ".join(body.out_of)))
    elif body.out_of:
        turn.say(turn.word("cold.moved", numbers=numbers, old=" ".join(body.out_of), cooler=name))
    else:
        turn.say(turn.word("cold.in", numbers=numbers, cooler=name))
