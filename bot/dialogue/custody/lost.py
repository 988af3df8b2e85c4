"""A jar or a cooler that is said to be lost, broken or leaking: on record, and told to who is in charge.

It stays on the count, with its holder: only STRIKE takes it off.
"""

from __future__ import annotations

from ...model.entries import NoteMade
from ...model.sample import Sample
from ..one_line import scan
from ..read_back import label
from ..readings import Source
from ..safety import others_in_charge
from ..turn import Turn
from ..which_case import case_of_conversation
from .jars import Found, by_case, find_jars, listed
from .keep import explain
from .loss_words import Loss, read_loss
from .settle import refuse

KIND, SAID = "custody_gap", "said lost"
_TOLD_WITH_IT = frozenset(("time", "matrix"))  # "lost at 1130", "fell in the water"


def hear_lost(turn: Turn, text: str) -> bool:
    """`04 overboard`, `dropped jar 04`, and `04 found`: words alone, of jars on record."""
    loss = read_loss(text)
    if loss is None or turn.conversation.question == "why":
        return False
    if loss.cooler is not None:
        return _hear_cooler_lost(turn, text, loss.cooler)
    told = {fact.field for fact in scan(text, Source(turn.trade, turn.message)).facts}
    found = find_jars(
        turn, loss.numbers, _stands, lambda number, _: turn.word("jar.unknown", number=number.number)
    )
    if told - _TOLD_WITH_IT or not found.jars:
        return False
    if loss.found:
        return _hear_found(turn, text, found)
    awaited = [jar for jar in found.jars if _is_read_by(jar, turn.person.name)]
    if not awaited:
        return loss.here and _hear_jars_lost(turn, text, found, loss)
    return not loss.broken and awaited == found.jars and _hear_not_come(turn, text, found, loss)


def _hear_jars_lost(turn: Turn, text: str, found: Found, loss: Loss) -> bool:
    for case, _ in by_case(found.jars):
        turn.write(case, NoteMade(words=text))
    key = "lost.broken" if loss.broken else "lost.gone"
    values = {"numbers": listed(turn, found.jars), "first": found.jars[0].number}
    turn.say(" ".join((turn.word(key, **values, told=_tell(turn, text, found.jars)), *found.said)))
    return True


def _hear_not_come(turn: Turn, text: str, found: Found, loss: Loss) -> bool:
    """A jar that its receiver does not have is refused: it is on record with its giver, who hears it."""
    told = _tell(turn, text, found.jars).strip() if loss.here else ""
    refuse(turn, found.jars, text, [told, *found.said])
    return True


def _hear_found(turn: Turn, text: str, found: Found) -> bool:
    """The gap of a jar that was said to be lost is explained by these words."""
    if not all(_is_called(turn, jar) for jar in found.jars):
        return False
    explain(turn, found, text)
    return True


def _stands(jar: Sample) -> bool:
    return jar.struck is None


def _is_read_by(jar: Sample, name: str) -> bool:
    """How a jar is that waits for its receiver is part of their reading of it."""
    return jar.offer is not None and jar.offer.to == name


def _tell(turn: Turn, words: str, jars: list[Sample]) -> str:
    """Who is in charge hears it at any hour; a jar is called for until it is struck or explained."""
    others = others_in_charge(turn)
    fresh = [jar for jar in jars if not _is_called(turn, jar)]
    for jar in fresh:
        turn.case = turn.case_named(jar.case)
        told = {"person": turn.person.name, "number": label(turn, jar), "words": words[:80]}
        text = turn.word("lost.supervisor", **told, holder=jar.holder, first=jar.number)
        turn.raise_alert(KIND, f"jar {jar.case} {jar.number}", "critical", others, text, cause=SAID)
    return f" {turn.word('safety.harm.told')}" if others and fresh else ""


def _is_called(turn: Turn, jar: Sample) -> bool:
    alerts = turn.alerts(("alert_of", KIND, f"jar {jar.case} {jar.number}"))
    return any(alert.is_open and alert.cause == SAID for alert in alerts)


def _hear_cooler_lost(turn: Turn, text: str, name: str) -> bool:
    """Its jars stay on the count where they were said to be; who is in charge is told."""
    cooler = turn.cooler_named(name)
    case = turn.case or case_of_conversation(turn)
    if cooler not in turn.board.unit.coolers or case is None:
        return False
    turn.write(case.name, NoteMade(words=text))
    others = others_in_charge(turn)
    for person in others:
        turn.tell(person, turn.word("lost.cooler.supervisor", person=turn.person.name, words=text[:100]))
    told = f" {turn.word('safety.harm.told')}" if others else ""
    turn.say(turn.word("lost.cooler", cooler=cooler, told=told))
    return True
