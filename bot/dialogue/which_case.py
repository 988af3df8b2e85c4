"""Which case a message belongs to: the one named, else the number's block, else the conversation's."""

from __future__ import annotations

from ..model.case import Case
from ..model.message import Choice
from .queries import kits_of
from .readers.words import NumberTold
from .turn import Turn


def named_case(turn: Turn, text: str) -> tuple[Case | None, str]:
    """The open case that the text begins with, and the text without it."""
    first, _, rest = text.partition(" ")
    word = first.rstrip(":,").upper()
    for case in turn.open_cases():
        if case.name.upper() == word:
            return case, rest.strip()
    return None, text


def case_of_conversation(turn: Turn) -> Case | None:
    """The conversation's case while it is open, else the person's only one."""
    cases = turn.open_cases()
    for case in cases:
        if case.name == turn.conversation.case:
            return case
    return cases[0] if len(cases) == 1 else None


def case_of_number(turn: Turn, number: NumberTold) -> Case | None:
    """The one case whose kits' blocks hold this number, else the conversation's; None: ask."""
    cases = turn.open_cases()
    if len(cases) < 2 or not number.key.isdigit():
        return case_of_conversation(turn)
    own = [case for case in cases if _is_own(turn, case, number)]
    if len(own) == 1:
        return own[0]
    value = int(number.key)
    fitting = [
        case
        for case in cases
        if any(k.numbers and k.numbers[0] <= value <= k.numbers[1] for k in kits_of(turn, case))
    ]
    if len(fitting) == 1:
        return fitting[0]
    known = case_of_conversation(turn)
    return known if known is not None and (known in fitting or not fitting) else None


def _is_own(turn: Turn, case: Case, number: NumberTold) -> bool:
    numbered = turn.find(("number", case.name, number.key))
    return any(sample.declared_by == turn.person.name for sample in numbered)


def ask_case(turn: Turn) -> None:
    """Asked once which of the open cases is meant; the choices are their names."""
    cases = turn.open_cases()
    if not cases:
        turn.say(turn.word("case.none"))
        return
    choices = tuple(Choice(id=case.name, label=case.name) for case in cases[:4])
    names = " ".join(case.name for case in cases[:8])
    before = turn.conversation.about if turn.conversation.question == "case_pick" else None
    about = turn.text if before is None else f"{before}\n{turn.text}"
    since_us = turn.message.said_us if before is None else turn.conversation.shown_us
    turn.note(question="case_pick", about=about, shown_us=since_us)
    turn.say(turn.word("case.which", names=names), asks="case_pick", choices=choices)
