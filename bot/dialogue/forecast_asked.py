"""A forecast is asked for: by whoever wants to know, or because something new was told of the cooler."""

from __future__ import annotations

import re

from ..model.cold import key_of
from ..model.times import MINUTE_US
from .turn import Turn

FORECAST = "forecast"
_HOW_LONG = re.compile(
    r"^(?:how long|until when|cold until)\b[ ,:]*(?:(?:does|is|will|for|in) )?(?:the )?(?:cooler\b ?)?"
    r"(?P<name>[A-Za-z][\w-]{0,19})?(?: (?:stay )?cold)?\s*\??$",
    re.IGNORECASE,
)


_CHART = re.compile(r"^chart(?: of)?(?: cooler)? (?P<name>[A-Za-z][\w-]{0,19})\s*\??$", re.IGNORECASE)


def ask_forecast(turn: Turn, cooler: str) -> None:
    """Worked out at the next full minute: what is told of one cooler within a minute makes one forecast."""
    due_us = (turn.message.received_us // MINUTE_US + 1) * MINUTE_US
    turn.run_errand(FORECAST, key_of(cooler), due_us, cooler=cooler)


def hear_how_long(turn: Turn, text: str) -> bool:
    """`how long M`: the answer comes when it is worked out; the cooler is asked for where none is named."""
    match = _HOW_LONG.match(text)
    if match is None:
        return False
    coolers = sorted(turn.board.unit.coolers)
    name = turn.cooler_named(match["name"]) if match["name"] else coolers[0] if len(coolers) == 1 else None
    if name is None:
        turn.say(turn.word("forecast.which", coolers=" ".join(coolers)[:60]))
        return True
    _ask(turn, name, chart=False)
    return True


def hear_chart(turn: Turn, text: str) -> bool:
    """`chart M`: the hours to come, a line of figures, when it is worked out."""
    match = _CHART.match(text)
    if match is None:
        return False
    _ask(turn, turn.cooler_named(match["name"]), chart=True)
    return True


def _ask(turn: Turn, name: str, chart: bool) -> None:
    address = turn.message.address
    turn.run_errand(
        FORECAST,
        f"{key_of(name)} {'chart ' if chart else ''}{address}",
        cooler=name,
        address=address,
        person=turn.person.name,
        mark=turn.mark,
        chart=chart,
    )
