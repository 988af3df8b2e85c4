"""The paper card for places where phones are barred: its boxes are the one-line entry, in order.

A person types each row in later, the word CARD first; nothing reads the card by machine.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from .papers import Facts

JARS = 4  # of a card; common practice, no source


class Box(NamedTuple):
    """A box: the field it fills, the word typed before it, what is printed inside, its share of a row."""

    field: str
    word: str
    inside: str
    wide: int


ROWS: tuple[tuple[Box, ...], ...] = (
    (
        Box("number", "", "as on the lid", 2),
        Box("kind", "", "spill / source / clean water / blank", 6),
        Box("duplicate_of", "dup of", "", 2),
        Box("matrix", "", "sheen / thick / lumps / mixed / water", 6),
    ),
    (
        Box("time", "", "24 h, like 1002", 3),
        Box("position", "", "47.2830N 19.9510W", 6),
        Box("method", "", "jar / ring / pad / net / twine / depressor / clean tube", 7),
    ),
    (
        Box("fill", "fill", "3/4", 2),
        Box("gloves", "gloves", "changed / not changed", 4),
        Box("seal", "seal", "or TAPE, initials", 4),
        Box("photo", "photo", "count", 2),
        Box("cooler", "cooler", "name, bottle C, time", 5),
    ),
    (
        Box("vessel", "vessel", "sources: ship or place", 4),
        Box("tank", "tank", "as on its plate", 3),
        Box("drawn_by", "drawn by", "crew", 3),
        Box("collector", "collector", "if not you", 3),
        Box("place", "place", "in words, last", 4),
    ),
)
EXAMPLE = "CARD 03 spill sheen 1002 47.2830N 19.9510W net gloves changed seal 5103 cooler M 4.4C"


def card(facts: Facts) -> dict[str, Any]:
    """An empty card of a case, for so many jars, with its boxes numbered in the order of typing."""
    place, rows = 0, []
    for row in ROWS:
        boxes = []
        for box in row:
            place += 1
            boxes.append({"place": place, "word": box.word, "inside": box.inside, "wide": box.wide})
        rows.append(boxes)
    return facts.frame() | {"rows": rows, "jars": JARS, "example": EXAMPLE}
