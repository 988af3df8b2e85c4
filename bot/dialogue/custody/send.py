"""`send today?` from the laboratory's hours and the courier's cut-off, and that the laboratory was told."""

from __future__ import annotations

import re

from ...model.entries import LaboratoryTold
from ...rules.civil_time import local
from ...rules.sending import Trip, choice
from ..turn import Turn
from ..which_case import ask_case, case_of_conversation

_SEND = re.compile(r"send\s*(?:today|now)?\s*\?|send\s+today\b.*|when\s+to\s+send\s*\??", re.IGNORECASE)
_TOLD = re.compile(r"(?:laboratory|lab)\s+(?:is\s+)?told\b[\s:,]*(?P<words>.*)$", re.IGNORECASE | re.DOTALL)


def hear_send(turn: Turn, text: str) -> bool:
    """When the next collection meets an open door; the person decides, and nothing is concluded."""
    if _SEND.fullmatch(text.strip()) is None:
        return False
    laboratory = turn.unit.laboratory
    if laboratory is None:
        turn.say(turn.word("send.not_set"))
        return True
    found = choice(laboratory, turn.message.received_us, turn.trade.zone)
    if found is None:
        turn.say(turn.word("send.never"))
        return True
    soonest, best = found
    if not soonest.waits:
        said = turn.word("send.open", **_clocks(turn, soonest))
    elif best.waits:
        said = turn.word("send.waits", **_clocks(turn, soonest))
    else:
        later = {f"then_{key}": value for key, value in _clocks(turn, best).items()}
        said = turn.word("send.keep", **_clocks(turn, soonest), **later)
    turn.case = turn.case or case_of_conversation(turn)
    told = turn.case is not None and turn.case.laboratory_told is not None
    turn.say(f"{said} {turn.word('send.told' if told else 'send.tell')}")
    return True


def _clocks(turn: Turn, trip: Trip) -> dict[str, str]:
    return {
        "sent": _clock(turn, trip.collected_us),
        "arrives": _clock(turn, trip.arrives_us),
        "taken": _clock(turn, trip.taken_in_us),
    }


def _clock(turn: Turn, us: int) -> str:
    """Like Fri 16 Oct 15:00, on the unit's clocks: a weekday decides here."""
    wall = local(us, turn.trade.zone)
    day, month = turn.word(f"send.day.{wall.isoweekday()}"), turn.word(f"month.{wall.month}")
    return f"{day} {wall.day} {month} {wall:%H:%M}"


def hear_laboratory_told(turn: Turn, text: str) -> bool:
    """That the laboratory knows is on record with the case, in the words it was told in."""
    match = _TOLD.match(text)
    if match is None:
        return False
    turn.case = turn.case or case_of_conversation(turn)
    if turn.case is None:
        ask_case(turn)
        return True
    turn.write(turn.case.name, LaboratoryTold(words=match["words"].strip() or text))
    turn.say(turn.word("send.told_noted", case=turn.case.name))
    return True
