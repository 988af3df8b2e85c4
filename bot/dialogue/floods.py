"""Said when a phone sends more than a person can, or a text too long to be read."""

from __future__ import annotations

from ..model.entries import UNIT_CHAIN, FloodStopped
from ..rules.flood import READABLE
from ..rules.roles import Action, who_may
from .turn import Turn


def is_too_long(turn: Turn) -> bool:
    """True where the text is kept and not worked on, and its sender told so."""
    if len(turn.message.text) <= READABLE:
        return False
    turn.say(turn.word("text.too_long"))
    return True


def say_flood(turn: Turn) -> None:
    """This is the last text of its address that is kept for a while: the leads hear it, and a crew too."""
    turn.write(UNIT_CHAIN, FloodStopped(address=turn.board.commitment(turn.message.address)))
    if turn.person.name:
        turn.say(turn.word("flood.crew"))
    elif "flood" in turn.unit.strangers.at(turn.message.received_us).reported:
        return
    told = {"name": turn.person.name or turn.word("a_stranger"), "end": turn.message.account[-4:]}
    for lead in who_may(turn.unit, Action.HEAR_ALERTS):
        if lead.name != turn.person.name:
            turn.tell(lead, turn.word("flood.told", **told))
