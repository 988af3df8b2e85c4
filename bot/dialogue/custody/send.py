"""`send today?` from the laboratory's hours and the courier's cut-off, and that the laboratory was told."""

from __future__ import annotations

import re

from ...model.cold import key_of
from ...model.entries import LaboratoryTold
from ...model.sample import Sample
from ...rules.civil_time import local
from ...rules.cold import AT_RISK, OVER, bands
from ...rules.forecast.grade import early_bound_us
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
    parts = (said, _cold(turn, soonest), turn.word("send.told" if told else "send.tell"))
    turn.say(" ".join(part for part in parts if part))
    return True


def _cold(turn: Turn, trip: Trip) -> str:
    """Of the case's coolers the one that is warm first, where that is before the laboratory takes it in."""
    jars = [] if turn.case is None else turn.jars_of(turn.case.name)
    waiting = [jar for jar in jars if jar.struck is None and not _is_gone(jar)]
    coolers = sorted({turn.cooler_named(name) for jar in waiting if (name := jar.text("cooler"))})
    turn.need(("cooler", key_of(name)) for name in coolers)
    limits, warm = turn.trade.limits, []
    for name in coolers:
        life = turn.life(name)
        if life.readings and bands(life, limits)[-1] in (AT_RISK, OVER):
            celsius = f"{life.readings[-1].celsius:g}"
            return turn.word("send.warm", cooler=name, celsius=celsius, limit=f"{limits.cold_limit_c:.1f}")
        bound_us = early_bound_us(life, turn.message.received_us)
        if bound_us is not None and bound_us < trip.taken_in_us:
            warm.append((bound_us, name))
    if not warm:
        return ""
    by, limit = _clock(turn, min(warm)[0]), f"{limits.cold_limit_c:.1f}"
    return turn.word("send.cold", cooler=min(warm)[1], by=by, limit=limit)


def _is_gone(jar: Sample) -> bool:
    return jar.custody is not None and jar.custody.type in ("courier", "laboratory", "disposal")


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
