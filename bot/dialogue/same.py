"""`Place same as last`: copied only where copying invents no observation, and written out."""

from __future__ import annotations

import re

from ..model.entries import FactTold
from ..model.keys import by_receipt
from ..rules.fields import Field
from .turn import Turn

WORDS = frozenset(("same", "same as last", "as last", "same as before"))
_IN_LINE = re.compile(
    r"\b(?P<field>[a-z_]+)\s+(?:is\s+)?(?:the\s+)?same(?:\s+as\s+(?:last|before))?\b(?!\s+as\b)",
    re.IGNORECASE,
)


def copied(turn: Turn, field: Field, but: str | None) -> FactTold | str:
    """The person's last told value with the jar it is copied from, or the sentence that refuses it."""
    name = turn.word(f"sample.{field.id}.name")
    if not field.same:
        return turn.word("same.refused", field=name)
    case = turn.case.name if turn.case is not None else None
    found = turn.find(("by", turn.person.name))
    mine = [s for s in found if s.id != but and field.id in s.facts and case in (None, s.case)]
    if not mine:
        return turn.word("same.nothing", field=name)
    last = max(mine, key=lambda sample: (sample.said_us, *by_receipt(sample)))
    old = last.facts[field.id]
    return FactTold(field=field.id, value=old.value, raw=old.raw, copied_from=last.number)


def take_same(turn: Turn, text: str) -> tuple[str, list[FactTold], list[str]]:
    """The line without its copied parts, what they copy, and the sentences for those refused."""
    facts: list[FactTold] = []
    refused: list[str] = []

    def claim(match: re.Match[str]) -> str:
        word = match["field"].lower()
        table = turn.trade.table
        field = table.by_id.get({"place": "position"}.get(word, word)) or table.by_word.get(word)
        if field is None:
            return match.group()
        told = copied(turn, field, None)
        if isinstance(told, str):
            refused.append(told)
        else:
            facts.append(told)
        return " "

    if "same" not in text.lower():
        return text, facts, refused
    return _IN_LINE.sub(claim, text), facts, refused
