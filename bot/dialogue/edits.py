"""A text that its sender edited: what was sent first stands, the new words are a proposed correction."""

from __future__ import annotations

from ..model.entries import UNIT_CHAIN, EditProposed
from .readers.words import YesNo, read_yes_no
from .turn import Turn
from .walk import ask
from .which_case import case_of_conversation


def propose_edit(turn: Turn, text: str) -> None:
    """The new words are on record as proposed, and whether they are meant as a correction is asked."""
    case = turn.case or case_of_conversation(turn)
    chain = UNIT_CHAIN if case is None else case.name
    turn.write(chain, EditProposed(words=text, of=turn.message.edits or ""))
    turn.note(about=text, walk=None)
    ask(turn, "edit", turn.word("edit.ask", words=text[:60]))


def answer_edit(turn: Turn, text: str) -> bool:
    """True where the new words are to be heard now, as if they were sent now; the question is closed."""
    said = text.lower().rstrip(".!")
    agreed = said in ("ok", "okay", "1") or read_yes_no(text) is YesNo.YES
    turn.note(question=None, about=None)
    turn.edited = agreed
    return agreed
