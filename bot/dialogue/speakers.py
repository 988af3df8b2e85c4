"""Whose words a known phone's are: who speaks on it, and whether their own code says so.

A sender's number can be forged and a phone can be lent: what moves custody or names a seal wants the
speaker's code by SMS and on another's phone. Without it a seal is saved all the same, and marked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from ..model.board import Board, Conversation
from ..model.entries import UNIT_CHAIN, CodeGiven, CodeLacked, CodeRefused, DisclosureTold, SpeakerChanged
from ..model.message import Incoming
from ..model.people import Person
from ..model.sample import Sample
from ..model.times import DAY_US, MINUTE_US
from ..rules.roles import Action, who_may
from .read_back import clock_at
from .turn import Trade, Turn

FORGEABLE = frozenset(("sms",))  # channels whose sender is only claimed: common practice, no source
_SPEAKS = re.compile(r"^(?P<name>\S+)\s+speak(?:ing|s)\b[.!]?\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_WRONG = re.compile(r"\s*\bcode:?\s+\d{3}[ -]?\d{3}\b|(?<=\bspeaking)\s+\d{3}[ -]?\d{3}\b", re.IGNORECASE)
_DIGITS = re.compile(r"\d{3}[ -]?\d{3}")
NOBODY = {"walk": None, "question": None, "sample": None, "waiting": (), "about": None, "redo": None}


def begin(message: Incoming, sha256: str, board: Board, trade: Trade, owner: Person) -> Turn:
    """The turn of whoever speaks on this phone now, with what their code allows."""
    conversation = board.conversations.get(message.address)
    speaker = _speaker(message, board, conversation)
    turn = Turn(message, sha256, board, trade, owner if speaker is None else speaker)
    if speaker is not None:
        turn.phone_of = owner.name
    elif conversation is not None and conversation.speaker is not None:
        turn.note(speaker=None, **NOBODY)  # what the other was asked is not the owner's to answer
    if message.codes or "code" in message.text.lower() or "speak" in message.text.lower():
        _weigh_codes(turn)
    if speaker is not None and not turn.proven:
        turn.person = speaker.model_copy(update={"roles": ("responder",)})
    return turn


def begin_for(message: Incoming, sha256: str, board: Board, trade: Trade, sender: Person) -> Turn:
    """The turn of whoever sent what comes only now."""
    turn = Turn(message, sha256, board, trade, sender)
    owner = board.person_at(message.address)
    if owner is not None and owner.name != sender.name:
        turn.phone_of = owner.name
    return turn


def speaks_now(message: Incoming, board: Board) -> str | None:
    """The name of whoever speaks on this phone; None where it is nobody's."""
    owner = board.person_at(message.address)
    if owner is None or not owner.active:
        return None
    speaker = _speaker(message, board, board.conversations.get(message.address))
    return owner.name if speaker is None else speaker.name


def _speaker(message: Incoming, board: Board, conversation: Conversation | None) -> Person | None:
    if conversation is None or conversation.speaker is None:
        return None
    speaker = board.unit.people.get(conversation.speaker)
    within = message.said_us <= conversation.speaker_until_us
    return speaker if within and speaker is not None and speaker.active else None


# --- codes ------------------------------------------------------------------------------------


def _weigh_codes(turn: Turn) -> None:
    """A good code of the speaker's own proves this text; any other is a try, and so many tries shut all."""
    named = _SPEAKS.match(turn.text)
    name = turn.person.name if named is None else named["name"].upper()
    known = [turn.board.codes[code] for code in turn.message.codes]
    personal = [code for code in known if code.purpose == "personal"]
    good = [
        code
        for code in personal
        if code.used_us is None and code.holder.removeprefix("person:").upper() == name.upper()
    ]
    person = next((p for p in turn.unit.people.values() if p.name.upper() == name.upper()), turn.person)
    left = _WRONG.search(turn.text) if person.has_code else None  # else it may be a lot's code, or anything
    if left is not None:
        turn.text = _WRONG.sub("", turn.text).strip()
    if len(_tries(turn, person)) >= turn.trade.limits.code_tries:
        turn.code_note = turn.word("code.shut", name=person.name) if personal or left else ""
    elif good:
        turn.proven = True
    elif personal or left:
        _count_try(turn, person)


def _tries(turn: Turn, person: Person) -> tuple[int, ...]:
    now_us = turn.message.received_us
    return tuple(us for us in person.tries_us if now_us - us < DAY_US)


def _count_try(turn: Turn, person: Person) -> None:
    tries = len(_tries(turn, person)) + 1
    address = turn.board.commitment(turn.message.address)
    turn.write(UNIT_CHAIN, CodeRefused(name=person.name, address=address, why="not their code"))
    turn.code_note = turn.word("code.wrong")
    if tries >= turn.trade.limits.code_tries:
        text = turn.word("code.tried", name=person.name, end=turn.message.account[-4:])
        for lead in who_may(turn.unit, Action.ENROL):
            turn.tell(lead, text)


def lacks_code(turn: Turn) -> bool:
    """True where a seal or a hand-over in this text wants the speaker's code and has none.

    Nobody is asked for a code that they were never given, but on another's phone nothing is proven without.
    """
    if turn.proven:
        return False
    if turn.phone_of is not None:
        return True
    return turn.person.has_code and turn.message.channel in FORGEABLE


def mark_seal(turn: Turn, sample: Sample) -> None:
    """The jar's seal was told in this text: without a code it is marked so, with one a mark is lifted."""
    if lacks_code(turn):
        turn.write(sample.case, CodeLacked(sample=sample.id, field="seal"))
    elif turn.proven and sample.without_code:
        turn.write(sample.case, CodeGiven(sample=sample.id, field="seal"))


def hear_code(turn: Turn) -> bool:
    """True where the text was a code and nothing else, or one for a phone that needs none."""
    if any(turn.board.codes[code].purpose == "enrol" for code in turn.message.codes):
        turn.say(turn.word("enrol.taken"))
        return True
    if turn.text or not (turn.proven or turn.code_note) or turn.message.attachments:
        return False
    if not turn.proven:
        return True  # what is wrong with it is said behind
    lacking = [one for one in _shown(turn) if one.without_code and one.declared_by == turn.person.name]
    for sample in lacking:
        turn.write(sample.case, CodeGiven(sample=sample.id, field="seal"))
    numbers = " ".join(sample.number for sample in lacking)
    turn.say(turn.word("code.noted", numbers=numbers) if lacking else turn.word("code.nothing"))
    return True


def _shown(turn: Turn) -> Iterable[Sample]:
    shown = (*turn.conversation.waiting, turn.conversation.sample)
    return [turn.sample(one) for one in dict.fromkeys(shown) if one is not None]


# --- who speaks -------------------------------------------------------------------------------


def hear_speaker(turn: Turn) -> bool:
    """`R2 speaking` on R1's phone: for a while what comes from it is R2's."""
    match = _SPEAKS.match(turn.text)
    if match is None or (match["rest"] and not _DIGITS.fullmatch(match["rest"])):
        return False
    name = match["name"].upper()
    speaker = next((p for p in turn.unit.people.values() if p.name.upper() == name and p.active), None)
    owner = turn.board.person_at(turn.message.address)
    if speaker is None or owner is None:
        return False
    if speaker.name == owner.name:
        turn.note(speaker=None, **NOBODY)
        turn.person, turn.phone_of = owner, None
        turn.say(turn.word("speaker.owner", name=owner.name))
        return True
    _change(turn, speaker, owner)
    return True


def _change(turn: Turn, speaker: Person, owner: Person) -> None:
    until_us = turn.message.said_us + int(turn.trade.limits.speaker_minutes * MINUTE_US)
    turn.note(speaker=speaker.name, speaker_until_us=until_us, **NOBODY)
    turn.person, turn.phone_of = speaker, owner.name
    turn.write(UNIT_CHAIN, SpeakerChanged(name=speaker.name, phone_of=owner.name, until_us=until_us))
    till = clock_at(until_us, turn.trade, turn.message.received_us)
    told = {"name": speaker.name, "owner": owner.name, "till": till}
    turn.say(turn.word("speaker.now" if speaker.has_code else "speaker.now.no_code", **told))
    turn.tell(speaker, turn.word("speaker.told", **told))


# --- what is said behind an answer ------------------------------------------------------------


def say_behind(turn: Turn) -> None:
    """What is wrong with a code, and once for everybody that what is texted may be disclosed.

    A question stays one short text: the notice waits for the first answer that asks nothing.
    """
    if turn.code_note:
        turn.say(turn.code_note)
    elif not (turn.person.told or turn.hushed) and turn.add_to_answer(turn.word("disclosure")):
        turn.write(UNIT_CHAIN, DisclosureTold(name=turn.person.name))
