"""Holding times by text: `clock 03 btex`, `clock 03 10 d from receipt, letter 12`, `extracted 03 at 1210`."""

from __future__ import annotations

import re

from ..model.base import JsonValue
from ..model.entries import FactTold, SampleCorrected, SampleTold
from ..model.sample import Sample
from ..model.times import MINUTE_US, iso_utc
from ..rules.holding import Clock, Leg, Running, days_text, holding
from .read_back import as_typed, clock_at
from .readers.amounts import TemperatureTold, read_temperature
from .readers.base import Ask
from .readers.clock_time import TimeTold
from .readers.words import read_numbers
from .readings import Source, read_clock, time_value
from .turn import Turn
from .which_case import ask_case, case_of_conversation

_NUMBER = re.compile(r"(?:[A-Za-z]{1,2}-?)?\d{1,3}(?:-(?:[A-Za-z]{1,2}-?)?\d{1,3})?,?")
_DAYS = ("d", "d,", "day", "days")
_OWN = re.compile(
    r"^(?P<days>\d{1,3}(?:[.,]\d)?) ?(?:d|days?)\b,?(?: from (?P<start>receipt|arrival|collection))?[ ,]+"
    r"(?P<rule>.{2,60})$",
    re.IGNORECASE,
)
_ARRIVAL = re.compile(r"^(?P<celsius>[-+]?\d{1,2}(?:[.,]\d{1,2})? ?[CF])\b", re.IGNORECASE)
_FIELDS = {
    "leached": "leached_at",
    "extracted": "extracted_at",
    "analysed": "analysed_at",
    "analyzed": "analysed_at",
    "arrived": "arrived_at",
}


_JARS_FIRST = re.compile(
    r"(?:jars? )?(?P<jars>\d{1,3}(?:[ ,-]+\d{1,3})*) (?:(?:is|are|was|were) )?"
    rf"(?P<verb>{'|'.join(_FIELDS)})\b\s*(?P<rest>.*)",
    re.IGNORECASE,
)


def _parted(text: str) -> tuple[str, str, str]:
    """(first word, jars' numbers, the rest) of a line; a number before "d" or "days" counts days."""
    first, *words = text.split() or [""]
    if words and words[0].lower() in ("jar", "jars"):
        words = words[1:]
    count = 0
    while count < len(words) and _NUMBER.fullmatch(words[count]):
        if count + 1 < len(words) and words[count + 1].lower() in _DAYS:
            break
        count += 1
    return first.lower(), " ".join(words[:count]), " ".join(words[count:])


def hear_clock(turn: Turn, text: str) -> bool:
    """A jar's clocks are shown, set, or taken off."""
    first, numbers, rest = _parted(text)
    jars = _jars(turn, numbers) if first in ("clock", "clocks") and numbers else None
    if jars is None:
        return False
    what = rest.strip(" ?.")
    for sample in jars:
        clocks = _clocks(turn, sample, what) if what else []
        if clocks is None:
            names = ", ".join(sorted({one.analysis for one in turn.trade.holding.clock if one.runs}))
            turn.say(turn.word("holding.which", what=what[:30], names=names))
            return True
        if what:
            _tell(turn, sample, "holding", {"clocks": clocks}, what)
    if jars:
        turn.say(" ".join(clocks_text(turn, turn.sample(sample.id)) for sample in jars))
    return True


def _clocks(turn: Turn, sample: Sample, what: str) -> list[JsonValue] | None:
    """What these words set: the laboratory's own figure, a clock of the table, or none."""
    if what.lower() in ("none", "off", "no"):
        return []
    own = _OWN.match(what)
    if own is not None:
        clock = Clock(
            id="own",
            analysis="analysis",
            rule=own["rule"].strip(),
            legs=(Leg(name="analysis", days=float(own["days"].replace(",", "."))),),
            start="receipt" if (own["start"] or "").lower() in ("receipt", "arrival") else "collection",
            seen="set by the laboratory",
            source=f"told by {turn.person.name}",
        )
        return [clock.model_dump(mode="json")]
    named = turn.trade.holding.named(what, sample.text("matrix"))
    if named is None:
        return None
    start = named.start or turn.trade.limits.holding_starts  # stored: the setting may change later
    return [named.model_copy(update={"start": start}).model_dump(mode="json")]


def hear_done(turn: Turn, text: str) -> bool:
    """What starts or ends a leg is on record with each jar: extracted, analysed, arrived."""
    turned = _JARS_FIRST.fullmatch(text)
    first, numbers, rest = _parted(" ".join(turned.group("verb", "jars", "rest")) if turned else text)
    jars = _jars(turn, numbers) if first in _FIELDS and numbers else None
    if jars is None:
        return False
    read = _ARRIVAL.match(rest) if first == "arrived" else None
    at = _when(turn, rest[read.end() if read else 0 :].strip().removeprefix("at ").strip())
    if at is None or not jars:
        return True
    for sample in jars:
        _tell(turn, sample, _FIELDS[first], at, text)
        if read is not None:
            _tell_temperature(turn, sample, read["celsius"])
    said = [turn.word(f"holding.{_FIELDS[first]}", numbers=" ".join(s.number for s in jars))]
    if read is not None:
        said.append(_judged(turn, read["celsius"]))
    said.extend(clocks_text(turn, turn.sample(s.id)) for s in jars if _runs(turn, turn.sample(s.id)))
    turn.say(" ".join(said))
    return True


def _runs(turn: Turn, sample: Sample) -> bool:
    return bool(holding(sample, turn.trade.holding, turn.trade.limits, turn.message.received_us))


def _judged(turn: Turn, raw: str) -> str:
    """The arrival against the limits: above freezing and up to the limit (Wis. Adm. Code NR 149.442)."""
    told, limits = read_temperature(raw), turn.trade.limits
    celsius = told.celsius if isinstance(told, TemperatureTold) else 0.0
    fits = limits.cold_freezing_c < celsius <= limits.cold_limit_c
    return turn.word(
        "holding.arrival" if fits else "holding.arrival_out",
        value=as_typed(raw),
        low=f"{limits.cold_freezing_c:.1f}",
        high=f"{limits.cold_limit_c:.1f}",
    )


def _tell_temperature(turn: Turn, sample: Sample, raw: str) -> None:
    told = read_temperature(raw)
    if isinstance(told, TemperatureTold):
        _tell(turn, sample, "arrival_celsius", {"celsius": told.celsius, "unit_derived": False}, raw)


def _jars(turn: Turn, numbers: str) -> list[Sample] | None:
    """The jars of these numbers; None where the line is about something else or its case was asked for."""
    read = read_numbers(numbers)
    case = turn.case or case_of_conversation(turn)
    if not isinstance(read, tuple):
        return None
    if case is None:
        ask_case(turn)
        return []
    turn.case = case
    found = [s for n in read for s in turn.find(("number", case.name, n.key)) if s.struck is None]
    return found if len(found) == len(read) else None


def _when(turn: Turn, text: str) -> JsonValue | None:
    """The time as an entry holds it; None where it was asked for instead."""
    if not text:
        at_us = turn.message.said_us
        return {"at": iso_utc(at_us), "at_us": at_us, "offset_minutes": 0, "offset_derived": True}
    at = read_clock(text, Source(turn.trade, turn.message))
    if isinstance(at, Ask):
        turn.say(turn.word(at.key, **at.values))
        return None
    future_us = turn.message.said_us + turn.trade.limits.time_future_minutes * MINUTE_US
    if isinstance(at, TimeTold) and at.at_us <= future_us:
        return time_value(at)
    turn.say(turn.word("cooler.future" if isinstance(at, TimeTold) else "cooler.time", raw=text[:30]))
    return None


def _tell(turn: Turn, sample: Sample, field: str, value: JsonValue, raw: str) -> None:
    """The value stands; one that stood before is struck beside it."""
    sample = turn.sample(sample.id)
    fact = FactTold(field=field, value=value, raw=raw)
    if field in sample.facts:
        old = sample.facts[field].raw
        turn.write(sample.case, SampleCorrected(sample=sample.id, field=field, old=old, fact=fact, why=None))
    else:
        turn.write(sample.case, SampleTold(sample=sample.id, facts=(fact,)))


def clocks_text(turn: Turn, sample: Sample) -> str:
    """Every leg that waits, runs or was passed, with its rule; or that none runs."""
    running = holding(sample, turn.trade.holding, turn.trade.limits, turn.message.received_us)
    parts = [leg_text(turn, one) for one in running if one.state != "met"]
    if not running:
        return turn.word("holding.none", number=sample.number)
    return f"{sample.number}: {'; '.join(parts) or turn.word('holding.met')}."


def leg_text(turn: Turn, one: Running) -> str:
    """`7 d to extraction by Mon 19 Oct 10:02 (SW-846 ch. 4)`, or what was passed."""
    values = {
        "days": days_text(one.leg.days),
        "rule": one.clock.rule,
        "leg": turn.word(f"holding.leg.{one.leg.name}"),
        "analysis": one.clock.analysis,
    }
    if one.due_us is None:
        return turn.word("holding.waits", start=turn.word(f"holding.start.{one.start_event}"), **values)
    at = clock_at(one.due_us, turn.trade, turn.message.received_us)
    return turn.word("holding.past" if one.state == "past" else "holding.by", at=at, **values)
