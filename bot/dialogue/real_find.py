"""Real oil in a drill: a new real case from that minute. It cites the drill, and nothing of it converts."""

from __future__ import annotations

import re

from ..model.case import Case
from ..model.entries import CaseOpened, FactTold, NoteMade
from ..model.times import iso_utc
from ..rules.drills import REAL
from ..rules.roles import Action, who_may
from .turn import Turn
from .which_case import case_of_conversation

_SAYS = "no drill|not a drill|real oil|this is real|no exercise"
_FOUND = re.compile(rf"^(?:{_SAYS})\b[\s,.:;!-]*(?P<words>.*)$", re.IGNORECASE | re.DOTALL)


def hear_real_find(turn: Turn, text: str) -> bool:
    """NO DRILL and what is seen, from somebody in an exercise, opens a real case at once."""
    found = _FOUND.match(text.strip())
    if found is None:
        return False
    drill = _exercise(turn)
    if drill is None:
        return False
    name = _name(turn, drill)
    seen = found["words"].strip() or text.strip()
    last = turn.next_id(drill.name)
    turn.write(drill.name, NoteMade(words=text))
    turn.write(
        name,
        CaseOpened(
            name=name,
            exercise=False,
            people=drill.people,
            opened=iso_utc(turn.message.said_us),
            told={"seen": FactTold(field="seen", value=seen, raw=seen)},
            cites=(f"{drill.name}#1", last),
        ),
        event=iso_utc(turn.message.said_us),
    )
    turn.case = turn.case_named(name)
    turn.note(case=name, sample=None, question=None, walk=None, waiting=(), answers={}, skipped=(), trail=())
    turn.exercise = False
    turn.say(turn.word("drill.real.opened", case=name, drill=drill.name))
    _tell_others(turn, drill, name, seen)
    return True


def _exercise(turn: Turn) -> Case | None:
    """The drill that the person is in: named, talked of, or the only one open to them."""
    known = turn.case or case_of_conversation(turn)
    if known is not None and known.exercise:
        return known
    exercises = [case for case in turn.open_cases() if case.exercise]
    return exercises[0] if len(exercises) == 1 else None


def _name(turn: Turn, drill: Case) -> str:
    """The drill's name and REAL; a second find gets a number."""
    place, name = 1, f"{drill.name}{REAL}"
    while name in turn.board.case_names:
        place += 1
        name = f"{drill.name}{REAL}{place}"
    return name


def _tell_others(turn: Turn, drill: Case, name: str, seen: str) -> None:
    """The crew and whoever hears of danger know from now on that it is no drill."""
    told = {person.name: person for person in who_may(turn.unit, Action.HEAR_ALERTS)}
    told |= {person: turn.unit.people[person] for person in drill.people if person in turn.unit.people}
    for person in told.values():
        if person.name != turn.person.name and person.active:
            values = {"person": turn.person.name, "drill": drill.name, "case": name, "words": seen[:80]}
            turn.tell(person, turn.word("drill.real.told", **values))
