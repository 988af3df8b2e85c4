"""A cooler's line: what its check bottle reads, told without being asked."""

from __future__ import annotations

from ..model.entries import UNIT_CHAIN, CoolerRead
from ..model.times import iso_utc
from .read_back import clock_text
from .readers.amounts import TemperatureTold, read_temperature
from .readers.base import Ask
from .readers.clock_time import TimeTold, looks_like_time
from .readings import Source, read_clock, time_value
from .turn import Turn
from .walk import ask

NOT_NAMES = frozenset(("reads", "is", "at", "was", "temp", "temperature", "reading"))


def hear_cooler(turn: Turn, text: str) -> bool:
    """A cooler's reading is on the unit's chain, with the words it came in."""
    first, *words = text.split() or [""]
    if first.lower() not in ("cooler", "fridge"):
        return False
    if words and words[0].lower() in NOT_NAMES:
        words = words[1:]
    if words and words[0][:1] in "-+0123456789":
        return _which_cooler(turn, text, " ".join(words[:2]))
    rest = [word for word in words[1:] if word.lower() != "at"]
    return bool(rest) and _hear_reading(turn, text, words[0], rest)


def _hear_reading(turn: Turn, text: str, name: str, rest: list[str]) -> bool:
    times = [word for word in rest if looks_like_time(word)]
    ice = " ".join(rest).lower().partition("ice ")[2].split(" ")[0]
    if not _is_reading(rest, times):
        return False
    name = known_cooler(turn, name)
    told = read_temperature(_warm(rest))
    if isinstance(told, Ask):
        turn.note(about=text)
        ask(turn, "cooler_line", turn.word(told.key, **told.values))
        return True
    if not isinstance(told, TemperatureTold):
        return False
    at = read_clock(times[0], Source(turn.trade, turn.message)) if times else None
    if isinstance(at, Ask):
        turn.say(turn.word(at.key, **at.values))
        return True
    note_reading(turn, name, told, at if isinstance(at, TimeTold) else None, ice or None)
    return True


def _is_reading(rest: list[str], times: list[str]) -> bool:
    """The figure is the bottle's: no noun follows it ("5 kg ice", "9 jars")."""
    after = [word.lower() for word in rest[1:2]]
    return not after or after[0] in ("c", "f", "ice", "now") or after[0] in [time.lower() for time in times]


def known_cooler(turn: Turn, name: str) -> str:
    """The cooler's name as it is set up, however it was typed; one that is not set up as typed."""
    return next((one for one in turn.board.unit.coolers if one.lower() == name.lower()), name)


def _which_cooler(turn: Turn, text: str, reading: str) -> bool:
    """A reading without a cooler: its unit is asked first, then whose it is."""
    told = read_temperature(reading)
    if isinstance(told, Ask):
        turn.note(about=text)
        ask(turn, "cooler_line", turn.word(told.key, **told.values))
    else:
        turn.say(turn.word("cooler.which"))
    return True


def _warm(words: list[str]) -> str:
    """The reading, with its unit where that stands apart."""
    if len(words) > 1 and words[1].lower() in ("c", "f"):
        return " ".join(words[:2])
    return words[0] if words else ""


def note_reading(turn: Turn, name: str, told: TemperatureTold, at: TimeTold | None, ice: str | None) -> None:
    """The reading is on record; a cooler that nobody set up is said to be unknown and kept too."""
    when = None if at is None else time_value(at)
    body = CoolerRead(
        cooler=name,
        celsius=told.celsius,
        raw=told.raw,
        at=iso_utc(turn.message.said_us) if at is None else at.iso,
        at_us=turn.message.said_us if at is None else at.at_us,
        unit_derived=told.unit_derived,
        ice_left=ice if ice in ("plenty", "some", "none") else None,
    )
    turn.write(UNIT_CHAIN, body, event=body.at)
    shown = clock_text(when, turn.trade, turn.message.received_us) if when else turn.word("part.now")
    key = "cooler.read" if name in turn.board.unit.coolers else "cooler.unknown"
    turn.say(turn.word(key, cooler=name, value=told.raw, at=shown))
