"""Boxes and coolers under a seal of their own: named in a text, and the jars in them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ...model.sample import Sample
from ..turn import Turn

_BOX = re.compile(
    r"\s*(?P<sort>box|cooler)\s+(?P<name>[A-Za-z0-9][\w-]{0,15})\b[\s,:]*(?P<rest>.*)$",
    re.IGNORECASE | re.DOTALL,
)


@dataclass(frozen=True)
class Boxed:
    """A box or cooler as it is named on record, and the words after it."""

    name: str
    rest: str


def box_named(text: str) -> Boxed | None:
    """The box or cooler that the text begins with."""
    match = _BOX.match(text)
    return None if match is None else Boxed(f"{match['sort'].lower()} {match['name'].upper()}", match["rest"])


def jars_in(turn: Turn, name: str) -> list[Sample]:
    """The jars in this box, of the case that is named, else of any open case."""
    cases = [turn.case] if turn.case is not None else turn.every_case()
    keys = [("box", case.name, name.upper()) for case in cases]
    turn.need(keys)
    return [jar for key in keys for jar in turn.find(key)]


def unboxed(turn: Turn, words: str) -> str:
    """The words with a box at their beginning replaced by the numbers of its jars."""
    boxed = box_named(words)
    jars = jars_in(turn, boxed.name) if boxed is not None else []
    if boxed is None or not jars:
        return words
    turn.case = turn.case_named(jars[0].case)
    return " ".join((*(jar.number for jar in jars), boxed.rest))
