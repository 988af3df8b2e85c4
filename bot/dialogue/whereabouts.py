"""Out till then, afloat, back, on watch: what people say of where they are."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone, tzinfo

from ..model.base import JsonValue
from ..model.entries import UNIT_CHAIN, PersonBack, PersonOut, WatchStood
from ..model.times import iso_at, us_of
from ..rules.alerts import after_quiet, quiet_hours
from ..rules.civil_time import instant_of, local
from .read_back import clock_text
from .readers.clock_forms import Clock, read_clock
from .turn import Turn

TILL = ("till", "until", "til", "to")


def hear_out(turn: Turn, text: str) -> bool:
    """They are out until clocks next show that time; of an hour that comes twice it is the first."""
    words = text.split()
    if len(words) < 2 or words[0].lower() != "out" or words[1].lower() not in TILL:
        return False
    clock = read_clock(words[2].lower(), words[2]) if len(words) > 2 else None
    if not isinstance(clock, Clock):
        turn.say(turn.word("out.how"))
        return True
    rest = [word for word in words[3:] if word.lower() != "afloat"]
    till_us = _next(turn, clock)
    offset = _offset_minutes(turn, till_us) if clock.offset_minutes is None else clock.offset_minutes
    body = PersonOut(
        till=iso_at(till_us, offset),
        till_us=till_us,
        afloat=len(rest) < len(words[3:]),
        words=" ".join(rest)[:200],
    )
    turn.write(UNIT_CHAIN, body, event=body.till)
    value: dict[str, JsonValue] = {"at_us": till_us, "offset_minutes": offset}
    turn.say(turn.word("out.till", at=clock_text(value, turn.trade, turn.message.received_us)))
    return True


def _next(turn: Turn, clock: Clock) -> int:
    zone: tzinfo = turn.trade.zone
    if clock.offset_minutes is not None:
        zone = timezone(timedelta(minutes=clock.offset_minutes))
    said_us = turn.message.said_us
    today = local(said_us, zone).date()
    instants = (
        us_of(instant_of(datetime.combine(today + timedelta(days=n), clock.at), zone)) for n in (0, 1, 2)
    )
    return next(us for us in instants if us > said_us)


def _offset_minutes(turn: Turn, at_us: int) -> int:
    offset = local(at_us, turn.trade.zone).utcoffset() or timedelta()
    return offset // timedelta(minutes=1)


def hear_whereabouts(turn: Turn, rest: list[str]) -> bool:
    """One word says it: afloat, back."""
    word = turn.text.split()[0].lower().rstrip("!.")
    if word == "afloat":
        turn.write(UNIT_CHAIN, PersonOut(afloat=True))
        turn.say(turn.word("out.afloat"))
        return True
    known = turn.unit.whereabouts.get(turn.person.name)
    if known is None or not known.is_out:
        turn.say(turn.word("out.not_out"))
        return True
    turn.write(UNIT_CHAIN, PersonBack())
    at_us = turn.message.said_us
    value: dict[str, JsonValue] = {"at_us": at_us, "offset_minutes": _offset_minutes(turn, at_us)}
    turn.say(turn.word("out.back", at=clock_text(value, turn.trade, turn.message.received_us)))
    return True


def hear_watch(turn: Turn, rest: list[str]) -> bool:
    """They watch the coolers until the quiet hours end."""
    if rest:
        return False
    watch = turn.unit.watch
    until_us = after_quiet(turn.message.received_us, watch, turn.trade.zone)
    if until_us == turn.message.received_us:
        until_us = _end_of_night(turn)
    turn.write(UNIT_CHAIN, WatchStood(until_us=until_us))
    value: dict[str, JsonValue] = {"at_us": until_us, "offset_minutes": _offset_minutes(turn, until_us)}
    turn.say(turn.word("out.watch", at=clock_text(value, turn.trade, turn.message.received_us)))
    return True


def _end_of_night(turn: Turn) -> int:
    """The end of the quiet hours that come next."""
    start, _ = quiet_hours(turn.unit.watch)
    begins_us = _next(turn, Clock(start, None, None, None, None))
    return after_quiet(begins_us, turn.unit.watch, turn.trade.zone)
