"""What thinking about a message will most likely look up, so that a gulp reads it in one go.

A guess: what it misses is read when thinking asks for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..model.board import Board, Conversation
from ..model.keys import Key
from ..model.message import Incoming
from ..model.people import Person

TRACKED = ("take", "time", "position")  # answers that are held against the person's last jar
_NUMBER = re.compile(r"\s*(?:[A-Z]+-\d+\s+)?([A-Z]{0,2})-?(\d{1,3})\b", re.IGNORECASE)
_WORD = re.compile(r"[A-Za-z0-9-]{1,24}")
_SEAL = re.compile(r"\bseal\s+(?:is\s+)?([A-Za-z0-9-]+)", re.IGNORECASE)


def foresee(message: Incoming, board: Board) -> Iterator[Key]:
    """The keys that this message will most likely need."""
    person = board.person_at(message.address)
    if person is None:
        return
    conversation = board.conversations.get(message.address)
    if conversation is not None:
        yield from _of_conversation(message, conversation)
    number = _NUMBER.match(message.text)
    if number is not None:
        key = number[1].upper() + str(int(number[2]))
        yield from (("number", case, key) for case in _cases_of(person, board))
    tracked = conversation is not None and conversation.question in TRACKED
    if number is not None or message.position is not None or tracked:
        yield ("by", person.name)
    if message.text[-2:].lower() == "ok":
        yield ("open", person.name)
        yield from (("kind", case, "background") for case in _cases_of(person, board))
    for name in board.unit.coolers.keys() & set(message.text.split()):
        yield ("lately", name.upper())
        yield ("alerts_called", name.lower())
    seal = _SEAL.search(message.text)
    if seal is not None:
        yield from (("seal", seal[1].upper()), ("reseal", seal[1].upper()))


def _cases_of(person: Person, board: Board) -> Iterator[str]:
    return (case.name for case in board.cases.values() if not case.people or person.name in case.people)


def _of_conversation(message: Incoming, conversation: Conversation) -> Iterator[Key]:
    """The jars it is about, and the seal that answers its question."""
    if conversation.sample is not None:
        yield ("id", conversation.sample)
    yield from (("id", sample_id) for sample_id in conversation.waiting)
    if conversation.question == "seal" and _WORD.fullmatch(message.text.strip()):
        yield from ((key, message.text.strip().upper()) for key in ("seal", "reseal"))
