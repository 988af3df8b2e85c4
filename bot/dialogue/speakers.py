"""Whose words a known phone's are, and what each speaker is told once."""

from __future__ import annotations

from ..model.entries import UNIT_CHAIN, DisclosureTold
from .turn import Turn


def hear_enrolment(turn: Turn) -> bool:
    """A code for a new phone, sent from one that is enrolled already, still counts from the new one."""
    known = (turn.board.codes.get(code) for code in turn.message.codes)
    if not any(code is not None and code.purpose == "enrol" for code in known):
        return False
    turn.say(turn.word("enrol.taken"))
    return True


def tell_disclosure(turn: Turn) -> None:
    """Everybody is told once, behind the first answer that asks nothing: a question stays one short text."""
    if not turn.person.told and turn.add_to_answer(turn.word("disclosure")):
        turn.write(UNIT_CHAIN, DisclosureTold(name=turn.person.name))
