"""Evidence control numbers: asked by the responder, given once by the custodian or the office."""

from __future__ import annotations

import re

from ..model.entries import EvidenceNumberAsked, EvidenceNumberGiven
from ..model.sample import Sample
from ..rules.roles import Action, may
from .readers.words import NumberTold, read_number, read_numbers
from .turn import Turn
from .which_case import ask_case, case_of_conversation

_ASK = re.compile(r"^need\s+(?:evidence\s+)?numbers?\b\s*(?P<numbers>.*)$", re.IGNORECASE)
_PAIR = re.compile(
    r"(?P<number>\d{1,3}|[A-Za-z]{1,3}-?\d{1,3})\s+(?P<evidence>[A-Za-z]{1,6}[-/]?[\w/-]*\d[\w/-]*)\s*,?\s*"
)


def hear_need(turn: Turn, text: str) -> bool:
    """The custodian, else the office, is asked; the jar shows that its number was asked for."""
    match = _ASK.match(text)
    if match is None:
        return False
    case = turn.case or case_of_conversation(turn)
    if case is None:
        ask_case(turn)
        return True
    turn.case = case
    read = read_numbers(match["numbers"]) if match["numbers"] else ()
    samples = (
        [s for n in read for s in turn.find(("number", case.name, n.key))] if isinstance(read, tuple) else []
    )
    if not samples:
        numbers = " ".join(n.number for n in read) if isinstance(read, tuple) else ""
        turn.say(turn.word("jar.unknown", number=numbers) if numbers else turn.word("evidence.which"))
        return True
    _ask_givers(turn, case.name, samples)
    return True


def _ask_givers(turn: Turn, case: str, samples: list[Sample]) -> None:
    wanted = [sample for sample in samples if sample.evidence_number is None and sample.struck is None]
    for sample in wanted:
        turn.write(case, EvidenceNumberAsked(sample=sample.id))
    known = ", ".join(f"{s.number} {s.evidence_number}" for s in samples if s.evidence_number is not None)
    if not wanted:
        turn.say(turn.word("evidence.known", known=known))
        return
    numbers = " ".join(sample.number for sample in wanted)
    unit = turn.board.unit
    givers = unit.reachable("custodian") or unit.reachable("duty_office", "supervisor", "deputy")
    for person in givers:
        text = turn.word(
            "evidence.request", person=turn.person.name, case=case, numbers=numbers, first=wanted[0].number
        )
        turn.tell(person, text)
    turn.say(turn.word("evidence.asked" if givers else "evidence.nobody", numbers=numbers))


def hear_given(turn: Turn, text: str) -> bool:
    """`03 E-118` from somebody who may give them: once a jar, and no number twice."""
    if not may(turn.person, Action.GIVE_EVIDENCE_NUMBERS):
        return False
    pairs = list(_PAIR.finditer(text))
    if not pairs or _PAIR.sub("", text).strip():
        return False
    said: list[str] = []
    named = turn.case
    for pair in pairs:
        turn.case = named
        number = read_number(pair["number"])
        waiting = _waiting(turn, number) if isinstance(number, NumberTold) else []
        sample = waiting[0] if len(waiting) == 1 else None
        if len(waiting) > 1:
            names = [one.case for one in waiting]
            told = {"number": pair["number"], "names": " ".join(names), "first": names[0]}
            said.append(turn.word("evidence.case", **told))
        elif sample is not None:
            said.append(_give(turn, sample, pair["evidence"]))
        elif said:
            said.append(turn.word("line.left", words=pair.group().strip(" ,")))
        elif "-" not in pair["evidence"] or not turn.open_cases():
            return False  # "05 E107" may tell a jar
        else:
            said.append(turn.word("evidence.unknown", number=pair["number"], evidence=pair["evidence"]))
    turn.say(" ".join(said))
    return True


def _waiting(turn: Turn, number: NumberTold) -> list[Sample]:
    """The jars of this number that it may be for: asked and without one, else without one, else the first."""
    cases = [turn.case] if turn.case is not None else turn.open_cases()
    jars = [s for case in cases for s in turn.find(("number", case.name, number.key)) if s.struck is None]
    without = [sample for sample in jars if sample.evidence_number is None]
    return [sample for sample in without if sample.evidence_asked_by is not None] or without or jars[:1]


def _give(turn: Turn, sample: Sample, evidence: str) -> str:
    turn.case = turn.case_named(sample.case)
    if sample.evidence_number is not None:
        return turn.word("evidence.has", number=sample.number, evidence=sample.evidence_number)
    taken = turn.find(("evidence", evidence.upper()))
    if taken:
        return turn.word("evidence.twice", evidence=evidence, other=taken[0].number, number=sample.number)
    turn.write(sample.case, EvidenceNumberGiven(sample=sample.id, number=evidence))
    asker = turn.board.unit.people.get(sample.evidence_asked_by or sample.declared_by)
    if asker is not None and asker.name != turn.person.name:
        turn.tell(
            asker, turn.word("evidence.given", case=sample.case, number=sample.number, evidence=evidence)
        )
    return turn.word("evidence.recorded", number=sample.number, evidence=evidence)
