"""What is said when a message speaks of danger: before anything else, to everybody who must hear it."""

from __future__ import annotations

from ..model.entries import EntryStopped, GasNoted, NoteMade, SafetyAnswered
from ..model.people import Person
from ..model.times import MINUTE_US
from ..rules.harm import speaks_of_harm
from ..rules.roles import Action, who_may
from ..rules.safety import denies, gives_gas_figure, is_gas_alone, is_sos, speaks_of_entry
from .readers.words import YesNo, read_yes_no
from .turn import Turn


def hear_sos(turn: Turn) -> bool:
    """Everybody is told at once, past quiet hours and limits; True where it was a call for help."""
    if not is_sos(turn.text):
        return False
    people = turn.board.unit.people.values()
    others = tuple(p for p in people if p.active and p.addresses and p.name != turn.person.name)
    text = turn.word("safety.sos.others", person=turn.person.name, words=turn.text[:80])
    turn.say(turn.word("safety.sos" if others else "safety.sos.alone"))
    turn.raise_alert("sos", turn.person.name, "critical", others, text)
    return True


def hear_strangers_sos(turn: Turn) -> None:
    """Whoever it is gets the way to help, every time, and the supervisors hear the words."""
    turn.say(turn.word("safety.sos.stranger"))
    told = who_may(turn.board.unit, Action.HEAR_ALERTS)
    text = turn.word("safety.sos.others", person=turn.word("a_stranger"), words=turn.text[:80])
    turn.raise_alert("sos", turn.word("a_stranger"), "critical", told, text)


def hear_entry(turn: Turn) -> bool:
    """The stop text goes to the sender every time, the supervisor hears once a case in half an hour."""
    if not speaks_of_entry(turn.text):
        return False
    turn.hushed = True
    told = _in_charge(turn)
    turn.say(turn.word("safety.stop" if told else "safety.stop.alone"))
    case = turn.case
    last = None if case is None else case.stops.get(turn.person.name)
    if case is not None:
        turn.write(case.name, EntryStopped(words=turn.text))
    silence_us = turn.trade.limits.stop_silence_minutes * MINUTE_US
    if last is None or turn.message.received_us - last >= silence_us:
        text = turn.word("safety.stop.supervisor", person=turn.person.name, words=turn.text[:100])
        turn.raise_alert("entry_stop", turn.person.name, "critical", told, text)
    return True


def hear_gas(turn: Turn) -> bool:
    """The reading is on record and not judged; words that only hold it may answer the open question too."""
    if not gives_gas_figure(turn.text):
        return False
    if turn.case is not None:
        turn.write(turn.case.name, GasNoted(words=turn.text))
    turn.say(turn.word("safety.gas"))
    return turn.conversation.question is None or is_gas_alone(turn.text)


def hear_harm(turn: Turn) -> bool:
    """Who is unwell, hurt or in danger is told where help is and asked nothing; supervisors hear it."""
    if not speaks_of_harm(turn.text):
        return False
    turn.hushed = True
    others = others_in_charge(turn)
    if turn.case is not None:
        turn.write(turn.case.name, NoteMade(words=turn.text))
    turn.say(" ".join((turn.word("safety.harm"), *([turn.word("safety.harm.told")] if others else []))))
    for person in others:
        turn.tell(person, turn.word("safety.harm.supervisor", person=turn.person.name, words=turn.text[:100]))
    return True


def others_in_charge(turn: Turn) -> tuple[Person, ...]:
    """Who hears of danger and of a loss, but the one who tells of it."""
    return tuple(person for person in _in_charge(turn) if person.name != turn.person.name)


def _in_charge(turn: Turn) -> tuple[Person, ...]:
    """The supervisors, else whoever stands in for them."""
    unit = turn.board.unit
    return unit.reachable("supervisor") or unit.reachable("deputy", "duty_office")


def answer_safety(turn: Turn, question: str) -> bool:
    """The words are on record; True where the way on is clear. A no ends the walk."""
    case = turn.case
    if case is None:
        return False
    words = {"yes": "yes", "no": "no"}.get(turn.message.press or "", turn.text)
    answer = "no" if read_yes_no(words) is YesNo.NO or denies(words) else "told"
    turn.write(case.name, SafetyAnswered(question=question, words=words, answer=answer))
    if answer == "no":
        turn.note(walk=None, question=None, sample=None)
        turn.say(turn.word(f"walk.{question}.no"))
    return answer != "no"
