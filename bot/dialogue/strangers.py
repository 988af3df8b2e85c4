"""Addresses that are nobody's: kept apart, told nothing, until a code says whose they are.

Whatever a stranger sends, the one answer is the same: it says of no case, number or person that it exists.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from ..model.board import Board, Code
from ..model.entries import (
    UNIT_CHAIN,
    AddressesEnrolled,
    CodeRefused,
    DisclosureTold,
    MessagesAdopted,
    StrangerHeard,
)
from ..model.message import CODE_MARK, Incoming, MessageState
from ..model.people import Person
from ..model.times import DAY_US, HOUR_US, MINUTE_US
from ..rules.roles import Action, who_may
from ..rules.safety import is_sos
from .catch_up import late_text
from .floods import say_flood
from .one_line import scan
from .outcome import Outcome
from .read_back import hold
from .readings import Source
from .safety import hear_strangers_sos
from .turn import Trade, Turn

STRANGER = Person(name="", roles=())
SOS_AGAIN_US = 10 * MINUTE_US
REPORTS_MOST = 20  # a day: more names and calls than this are somebody playing
READ_MOST = 400  # characters of a stranger's text that are looked at
_CODE = re.compile(r"(?<!\d)\d{4}[ -]?\d{4}[ -]?\d{4}(?!\d)")
_WORD = re.compile(r"[^\s,.:;!?()\"']+")


def hear_stranger(message: Incoming, sha256: str, board: Board, trade: Trade) -> Outcome:
    """Kept and attributed to nobody, or with a good code the address's new person."""
    turn = Turn(message, sha256, board, trade, STRANGER)
    if is_sos(turn.text):
        _hear_sos(turn)
    elif not _enrol(turn):
        _answer(turn, _report(turn))
    if message.last:
        say_flood(turn)
        _write(turn, answered=False, reported="flood")
    enrolled = bool(turn.person.name)
    return turn.outcome(MessageState.TAKEN if enrolled else MessageState.QUARANTINED)


# --- a code -----------------------------------------------------------------------------------


def _enrol(turn: Turn) -> bool:
    """True where a good code made this address its person's."""
    for commitment in turn.message.codes:
        code = turn.board.codes[commitment]
        person = turn.board.unit.people.get(code.holder.removeprefix("person:"))
        if code.purpose == "enrol" and person is not None and _is_good(turn, commitment, code, person):
            _take_in(turn, commitment, person)
            return True
    if turn.message.codes or _CODE.search(turn.text[:READ_MOST]):
        _count_try(turn)
    return False


def _is_good(turn: Turn, commitment: str, code: Code, person: Person) -> bool:
    now_us = turn.message.received_us
    if code.used_us is not None or code.expires_us <= now_us or not person.active:
        return False
    address = turn.message.address
    if any(address in one.revoked for one in turn.board.unit.people.values()):
        turn.use_code(commitment)
        _refuse(turn, person.name, "from a revoked phone")
        text = turn.word("code.from_revoked", name=person.name, end=address[-4:])
        _tell_leads(turn, text)
        return False
    return len(_tries(turn)) < turn.trade.limits.code_tries


def _take_in(turn: Turn, commitment: str, person: Person) -> None:
    turn.use_code(commitment)
    turn.person = person
    enrolled = (turn.board.commitment(turn.message.address),)
    turn.write(UNIT_CHAIN, AddressesEnrolled(name=person.name, addresses=enrolled, how="code"))
    if not person.told:
        turn.write(UNIT_CHAIN, DisclosureTold(name=person.name))
    turn.note(stray_us=None, tries_us=())
    turn.adopt()
    channel, end = turn.message.channel, turn.message.account[-4:]
    _tell_leads(turn, turn.word("enrol.told", name=person.name, channel=channel, end=end), but=person)


def _tell_leads(turn: Turn, text: str, but: Person | None = None) -> None:
    for lead in who_may(turn.board.unit, Action.ENROL):
        if but is None or lead.name != but.name:
            turn.tell(lead, text)


def _tries(turn: Turn) -> tuple[int, ...]:
    now_us = turn.message.received_us
    return tuple(us for us in turn.conversation.tries_us if now_us - us < DAY_US)


def _count_try(turn: Turn) -> None:
    """One more wrong code from this address; on record once, when it is one too many."""
    tries = (*_tries(turn), turn.message.received_us)
    most = turn.trade.limits.code_tries
    turn.note(tries_us=tries[-most:])
    if len(tries) == most:
        _refuse(turn, None, "too many tries")


def _refuse(turn: Turn, name: str | None, why: str) -> None:
    address = turn.board.commitment(turn.message.address)
    turn.write(UNIT_CHAIN, CodeRefused(name=name, address=address, why=why))


# --- what waited ------------------------------------------------------------------------------


def adoptable(
    waited: list[tuple[Incoming, str]], message: Incoming, trade: Trade
) -> list[tuple[Incoming, str]]:
    """What of an address's earlier texts becomes its person's: all of the last days but tries of codes."""
    since_us = message.received_us - int(trade.limits.adopt_hours * HOUR_US)
    return [
        (early, sha256)
        for early, sha256 in waited
        if early.received_us >= since_us and not (CODE_MARK.search(early.text) or _CODE.search(early.text))
    ]


def as_adopted(outcome: Outcome, address: str) -> Outcome:
    """An earlier text's outcome: answers would come too late, what others must hear does not."""
    return replace(outcome, says=[say for say in outcome.says if say.address != address])


def adopted(
    message: Incoming,
    sha256: str,
    board: Board,
    trade: Trade,
    waited: list[tuple[Incoming, str]],
    jars: tuple[str, ...],
) -> Outcome:
    """The welcome, with what of the earlier texts is on record now; an OK will be about those jars."""
    name = board.people_by_address[message.address]
    turn = Turn(message, sha256, board, trade, board.unit.people[name])
    welcome = turn.word("enrol.done", name=name)
    if waited:
        body = MessagesAdopted(
            name=name, address=board.commitment(message.address), messages=tuple(sha for _, sha in waited)
        )
        turn.write(UNIT_CHAIN, body)
        welcome += " " + turn.word("enrol.adopted", count=len(waited))
    turn.note(walk=None, question=None, waiting=())
    turn.say(welcome)
    for case, samples in _by_case(turn, jars):
        turn.case = turn.case_named(case)
        for sample_id in samples:
            hold(turn, turn.sample(sample_id))
        turn.say(
            late_text([turn.sample(one) for one in samples], turn.trade, message.received_us), asks="confirm"
        )
    if jars:
        turn.note(waiting=jars, sample=jars[-1], shown_us=message.received_us)
    return turn.outcome()


def _by_case(turn: Turn, jars: tuple[str, ...]) -> Iterator[tuple[str, list[str]]]:
    """An exercise and a real case are never told in one text."""
    for case in dict.fromkeys(jar.rpartition("#")[0] for jar in jars):
        yield case, [jar for jar in jars if jar.rpartition("#")[0] == case]


# --- what is reported, and the one answer -----------------------------------------------------


def _hear_sos(turn: Turn) -> None:
    """Whoever it is gets the way to help, again after a while; the supervisors hear within bounds."""
    last, now_us = turn.conversation.sos_us, turn.message.received_us
    if last is not None and now_us - last < SOS_AGAIN_US:
        return
    turn.note(sos_us=now_us)
    if turn.board.unit.strangers.at(now_us).reported.count("sos") < REPORTS_MOST:
        hear_strangers_sos(turn)
        _write(turn, answered=False, reported="sos")
    else:
        turn.say(turn.word("safety.sos.stranger"))


def _report(turn: Turn) -> str | None:
    """As what the supervisors are told of this text: each once a day, and never to its sender."""
    subject = _subject(turn)
    reported = turn.board.unit.strangers.at(turn.message.received_us).reported
    if subject in reported or len(reported) >= REPORTS_MOST:
        return None
    who = turn.board.commitment(turn.message.address)
    if subject == "other":
        turn.raise_alert("stranger_in_case", "strangers", "digest", (), "", who)
        return subject
    told = {"end": turn.message.account[-4:], "words": turn.text[:60]}
    key = "stranger.in_case" if subject == "jar" else "stranger.claims"
    text = turn.word(key, name=subject, **told)
    leads = who_may(turn.board.unit, Action.HEAR_ALERTS)
    turn.raise_alert("stranger_in_case", "strangers", "critical", leads, text, who)
    return subject


def _subject(turn: Turn) -> str:
    """The name that the text claims, "jar" where it speaks of a jar or a case, else "other"."""
    text = turn.text[:READ_MOST]
    words = {word.upper() for word in _WORD.findall(text)}
    claimed = sorted(name for name in turn.board.unit.people if name.upper() in words)
    if claimed:
        return claimed[0]
    if any(name.upper() in words for name in turn.board.cases):
        return "jar"
    found = scan(text, Source(turn.trade, turn.message))
    return "jar" if found.number is not None and found.facts else "other"


def _answer(turn: Turn, reported: str | None) -> None:
    """The one fixed answer, once an address and day, and only so many a day over all."""
    now_us = turn.message.received_us
    last = turn.conversation.stray_us
    most = turn.trade.limits.stranger_replies
    fresh = last is None or now_us - last >= DAY_US
    answered = fresh and turn.board.unit.strangers.at(now_us).answered < most
    if answered:
        turn.note(stray_us=now_us)
        turn.say(turn.word("stranger"))
    if answered or reported is not None:
        _write(turn, answered, reported)


def _write(turn: Turn, answered: bool, reported: str | None) -> None:
    address = turn.board.commitment(turn.message.address)
    turn.write(UNIT_CHAIN, StrangerHeard(address=address, answered=answered, reported=reported))
