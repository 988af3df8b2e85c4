"""Files that a channel only spoke of, once they are on disk; and things sent that are not taken in."""

from __future__ import annotations

from dataclasses import replace

from ..model.board import Board
from ..model.message import Incoming
from ..model.people import Person
from .outcome import Outcome
from .photos import attach, complaint_of, put_on_pile
from .read_back import hold, label, read_back
from .speakers import begin_for, speaks_now
from .turn import Trade, Turn


def files_came(message: Incoming, sha256: str, board: Board, trade: Trade, sender: Person) -> Outcome:
    """The files are their sender's. Who else speaks there now is asked nothing and keeps their question."""
    turn = begin_for(message, sha256, board, trade, sender)
    before = turn.conversation
    hear_fetched(turn, None if message.fetched is None else message.fetched.sample)
    outcome = turn.outcome()
    if speaks_now(message, board) == sender.name:
        return outcome
    return replace(outcome, conversation=before, says=[])


def hear_fetched(turn: Turn, sample_id: str | None) -> None:
    """The files are on record where their message belonged; only what needs the sender is said."""
    if sample_id is None:
        put_on_pile(turn, complaint_of(turn))
        return
    sample = turn.sample(sample_id)
    turn.case = turn.case_named(sample.case)
    raised, complaint = attach(turn, sample), complaint_of(turn)
    if raised:
        hold(turn, turn.sample(sample_id))
        text = turn.word("query.reply", number=label(turn, sample), queries=" ".join(raised))
        turn.say(complaint + text, asks="query")
    elif complaint:
        read_back(turn, turn.sample(sample_id), complaint)


def hear_refused(turn: Turn) -> bool:
    """What this line does not take in is answered in words, and nothing of it is kept."""
    refused = turn.message.refused
    if refused is None:
        return False
    turn.say(turn.word("refused.contact" if refused == "contact" else "refused.other"))
    return True
