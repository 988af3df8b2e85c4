"""What was told of a cooler is taken back by who told it: it stays, struck in place, the new after it."""

from __future__ import annotations

import re

from ..model.cold import Corrected, Life, Reading
from ..model.entries import (
    UNIT_CHAIN,
    CoolerCorrected,
    CoolerCorrectionExplained,
    CoolerRead,
    CoolerTold,
    FactTold,
)
from ..model.sample import Sample
from .forecast_asked import ask_forecast
from .read_back import as_typed
from .turn import Turn

OF_COOLER = "cooler "  # how what a reason is owed for begins, where it is no jar's field
FOLLOWED = ("cooler_celsius", "cooler")  # fields of a jar that a cooler's reading was told with


def strike(
    turn: Turn, cooler: str, old: Reading, new: CoolerRead | None, why: str | None, said: str | None = None
) -> None:
    """The reading is struck, the new one stands where there is one, and the cooler is forecast anew."""
    said = new.raw if new is not None and said is None else said
    body = CoolerCorrected(
        cooler=cooler, of=old.id, at=old.at, at_us=old.at_us, old=old.raw, new=said, why=why
    )
    turn.write(UNIT_CHAIN, body, event=old.at)
    if new is not None:
        turn.write(UNIT_CHAIN, new, event=new.at)
    ask_forecast(turn, cooler)


def strike_told(turn: Turn, of: str, old: CoolerTold, new: CoolerTold, why: str | None, said: str) -> None:
    """The same for ice; the rest of what was told with it is told anew as it was."""
    body = CoolerCorrected(
        cooler=old.cooler, of=of, at=old.at, at_us=old.at_us, old=old.words, new=said, why=why
    )
    turn.write(UNIT_CHAIN, body, event=old.at)
    turn.write(UNIT_CHAIN, new, event=new.at)
    ask_forecast(turn, old.cooler)


def read_anew(old: Reading, cooler: str, **change: object) -> CoolerRead:
    """The reading with what its author says instead; the rest stands as they told it."""
    told = CoolerRead(
        cooler=cooler,
        celsius=old.celsius,
        raw=old.raw,
        at=old.at,
        at_us=old.at_us,
        unit_derived=old.unit_derived,
        ice_left=old.ice_left,
        for_sample=old.for_sample,
        thermometer=old.thermometer,
        second=old.second,
    )
    return told.model_copy(update=change)


def follow_jar(turn: Turn, sample: Sample, fact: FactTold, why: str | None) -> None:
    """A jar's cooler is corrected, or what that read as it went in: so is the reading told with it."""
    name = sample.text("cooler")
    if fact.field not in FOLLOWED or name is None:
        return
    name = turn.cooler_named(name)
    mine = [r for r in turn.life(name).readings if r.for_sample == sample.id and r.by == turn.person.name]
    if not mine:
        return
    if fact.field == "cooler_celsius" and isinstance(fact.value, dict):
        told = {"celsius": fact.value["celsius"], "unit_derived": fact.value["unit_derived"]}
        strike(turn, name, mine[-1], read_anew(mine[-1], name, raw=fact.raw, **told), why)
    elif fact.field == "cooler":
        other = turn.cooler_named(str(fact.value))
        strike(turn, name, mine[-1], read_anew(mine[-1], other), why, said=f"{other} {mine[-1].raw}")
        ask_forecast(turn, other)


def owed(turn: Turn, life: Life) -> Corrected | None:
    """The newest correction of theirs that still lacks its reason."""
    mine = (c for c in reversed(life.corrected) if c.by == turn.person.name and not c.beside)
    return next((c for c in mine if c.why is None), None)


def explain_cooler(turn: Turn, cooler: str, why: str | None) -> Corrected | None:
    """Their newest correction of the cooler has its reason, or is marked as having none."""
    found = owed(turn, turn.life(cooler))
    if found is not None:
        body = CoolerCorrectionExplained(
            cooler=cooler, of=found.of, at_us=found.at_us, why=why or "none given"
        )
        turn.write(UNIT_CHAIN, body)
    return found


_NAMED = re.compile(r"^(?:cooler|fridge) \S+ ", re.IGNORECASE)
_FIGURE = re.compile(r"[-+]?\d+(?:[.,]\d+)?\s*(?:°|deg(?:rees?)?)?\s*[CF]?", re.IGNORECASE)


def figure(words: str) -> str:
    """A temperature alone with its unit behind its digits; other words but for the cooler's name."""
    return as_typed(words) if _FIGURE.fullmatch(words.strip()) else _NAMED.sub("", words)


def said_of(turn: Turn, cooler: str, old: str, new: str | None, why: str) -> str:
    """The correction on record, with its reason."""
    shown = {"cooler": cooler, "old": figure(old), "why": why}
    if new is None:
        return turn.word("cooler.struck", **shown)
    return turn.word("cooler.corrected", new=figure(new), **shown)


def said_why(turn: Turn, cooler: str, why: str | None) -> None:
    """The reason that was asked for is on record with the correction that it explains."""
    found = explain_cooler(turn, cooler, why)
    if found is not None:
        turn.say(said_of(turn, cooler, found.old, found.new, why or "none given"))
