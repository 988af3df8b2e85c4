"""Which state of a conversation a button belongs to: pressed later, it changes nothing."""

from __future__ import annotations

import zlib

from ..model.board import Conversation
from .turn import Turn


def ticket_of(conversation: Conversation) -> str:
    """Eight hex digits for the open question and its jar, or for the jars that wait for an OK."""
    question = conversation.question
    parts = conversation.waiting if question is None else (question, conversation.sample or "")
    return f"{zlib.crc32(chr(0).join(parts).encode()):08x}"


def is_stale(turn: Turn) -> bool:
    """True for a press whose button was shown with another question than the one that is open."""
    ticket = turn.message.ticket
    return ticket is not None and ticket != ticket_of(turn.conversation)
