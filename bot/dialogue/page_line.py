"""`page`: the answer holds a link to the register, which is made only as the text goes out."""

from __future__ import annotations

from ..rules.roles import Action, may
from .turn import Turn

LINK_MARK = "[page link]"
TOO_OLD = "(too old, text PAGE again)"


def send_page(turn: Turn, rest: list[str]) -> bool:
    """Whoever may see something is sent a link for themselves alone."""
    if not may(turn.person, Action.SEE_OWN_CASES):
        turn.say(turn.word("page.not_yours"))
        return True
    turn.say(turn.word("page.link", link=LINK_MARK))
    return True
