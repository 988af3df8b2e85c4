"""Lines about the plan: suspects named, that sail or left, samples refused or impossible."""

from __future__ import annotations

import re
from difflib import get_close_matches

from ..model.case import Case
from ..model.entries import (
    FactTold,
    PromiseMade,
    RefusalTold,
    SampleImpossible,
    SampleRefused,
    SuspectMoved,
)
from ..model.times import HOUR_US, MINUTE_US
from ..rules.roles import Action, who_may
from .keywords import SKIPS
from .plan_text import REFUSAL, lacking, listed
from .plan_told import known_name, line_named, name_suspect, read_suspects
from .readers.base import Ask, Unread
from .readers.clock_time import TimeTold, looks_like_time
from .readings import Source, read_clock
from .turn import Turn
from .walk import ask, ask_again
from .which_case import ask_case, case_of_conversation

_FIRST = re.compile(
    r"^(suspects?|refused|refusal|impossible|promised|left|sails|back)\b\s*:?\s*(.*)$", re.I | re.S
)
_AFTER = re.compile(r"^(refuses?d?|impossible|promised|left|sailed|sails|back)\b\s*:?\s*(.*)$", re.I | re.S)
_VERBS = {
    **dict.fromkeys(("refuse", "refuses", "refusal"), "refused"),
    "sailed": "left",
    "suspects": "suspect",
}


def hear_plan_line(turn: Turn, text: str) -> bool:
    """True where the text told of a suspect or of a line of the plan and is on record."""
    match = _FIRST.match(text)
    case = turn.case or case_of_conversation(turn)
    if match is None:
        return case is not None and bool(case.plan.suspects) and _name_first(turn, case, text)
    verb = _VERBS.get(match[1].lower(), match[1].lower())
    if verb in ("left", "sails", "back") and not _names_one(case, match[2]):
        return False
    if case is None:
        ask_case(turn)
        return True
    turn.case = case
    if not match[2].strip():
        turn.say(turn.word(f"plan.{verb}.how"))
    elif verb == "suspect":
        _suspects(turn, case, match[2])
    else:
        _of_line(turn, case, verb, match[2])
    return True


def _names_one(case: Case | None, text: str) -> bool:
    return case is not None and any(text.lower().startswith(name.lower()) for name in case.plan.suspects)


def _name_first(turn: Turn, case: Case, text: str) -> bool:
    """`Marbel refused ...`, `Marbel 2P impossible ...`, `Marbel sails 1500`."""
    if not _names_one(case, text):
        return False
    what, rest = line_named(text, case.plan, turn.trade.plan_table)
    match = _AFTER.match(rest)
    if not what or match is None:
        return False
    turn.case = case
    verb = match[1].lower()
    _tell(turn, case, _VERBS.get(verb, verb), what, match[2].strip())
    return True


def _suspects(turn: Turn, case: Case, text: str) -> None:
    read = read_suspects(text, case.plan)
    if isinstance(read, Ask):
        turn.say(turn.word(read.key, **read.values))
        return
    for name, tanks in read:
        name_suspect(turn, turn.case_named(case.name) or case, name, tanks, text[:400])
    names = [f"{name} {' '.join(tanks)}".strip() for name, tanks in read]
    _go_on(turn, turn.word("plan.suspect.told", names=listed(turn, names, 80)))


def _of_line(turn: Turn, case: Case, verb: str, text: str) -> None:
    what, rest = line_named(text, case.plan, turn.trade.plan_table)
    if not what and verb == "refused" and ":" in text:
        read = read_suspects(text.partition(":")[0], case.plan)  # a name nobody told before: it is told now
        if not isinstance(read, Ask) and len(read) == 1:
            what, rest = read[0][0], text.partition(":")[2].strip()
            name_suspect(turn, case, what, (), text[:400])
    if what:
        _tell(turn, turn.case_named(case.name) or case, verb, what, rest)
        return
    names = list(case.plan.suspects)
    near = get_close_matches(text.split(":")[0], names, 3, 0.5) or names[:5]
    key = "plan.unknown" if near else "plan.unknown.none"
    turn.say(turn.word(key, words=text[:30], names=listed(turn, near, 60), verb=verb.upper()))


def _tell(turn: Turn, case: Case, verb: str, what: str, words: str) -> None:
    if verb == "refused":
        _refused(turn, case, what, words)
    elif verb == "impossible":
        _impossible(turn, case, what, words)
    elif verb == "promised":
        _promised(turn, case, what, words)
    elif known_name(case.plan, what) is None:
        turn.say(turn.word("plan.moved.which", names=listed(turn, list(case.plan.suspects), 60)))
    else:
        _moved(turn, case, verb, what, words)


def _impossible(turn: Turn, case: Case, what: str, why: str) -> None:
    if len(why) < 3:
        turn.say(turn.word("plan.impossible.why", name=what))
        return
    turn.write(case.name, SampleImpossible(what=what, why=why))
    _go_on(turn, turn.word("plan.impossible.told", name=what))


def _promised(turn: Turn, case: Case, what: str, words: str) -> None:
    """What was promised is on record as it was said; whoever takes the shift over hears it."""
    if len(words) < 3:
        turn.say(turn.word("plan.promised.how"))
        return
    turn.write(case.name, PromiseMade(to=what, words=words[:200]))
    _go_on(turn, turn.word("plan.promised.told", name=what, words=words[:60]))


def _moved(turn: Turn, case: Case, verb: str, name: str, words: str) -> None:
    """Sails at a time, has left, is back: a time that was told is read, none is supplied."""
    at = None
    timed = next((word for word in words.split() if looks_like_time(word)), None)
    if timed is not None:
        told = _clock(turn, timed, ahead=verb == "sails")
        if isinstance(told, Ask):
            turn.say(turn.word(told.key, **told.values))
            return
        at = told
    if verb == "sails" and at is None:
        turn.say(turn.word("plan.sails.when", name=name))
        return
    body = SuspectMoved(
        name=name, how=verb, words=words, at=at.iso if at else None, at_us=at.at_us if at else None
    )
    turn.write(case.name, body, event=body.at)
    _go_on(turn, turn.word(f"plan.{verb}.told", name=name, at=timed or ""))


def _clock(turn: Turn, word: str, *, ahead: bool) -> TimeTold | Ask | None:
    """A time of day; one that is still to come where that is what was said."""
    message = turn.message
    told = read_clock(word, Source(turn.trade, message))
    if ahead and isinstance(told, (TimeTold, Ask)):
        later_us = int(turn.trade.limits.time_late_hours * HOUR_US) - 5 * MINUTE_US
        moved = message.model_copy(
            update={"received_us": message.received_us + later_us, "sent_us": message.said_us + later_us}
        )
        told = read_clock(word, Source(turn.trade, moved))
    return None if isinstance(told, Unread) else told


def _refused(turn: Turn, case: Case, what: str, words: str) -> None:
    """The refusal is on record with its words; what it lacks is asked, the supervisor hears at once."""
    open_at = _lacks_something(case, what)
    if not words and open_at is not None:
        _ask_refusal(turn, case, open_at, "")
        return
    first, _, rest = words.removeprefix("at ").partition(" ")
    timed = _clock(turn, first.rstrip(":,"), ahead=False) if looks_like_time(first.rstrip(":,")) else None
    at = timed.iso if isinstance(timed, TimeTold) else None
    words = rest.strip(" :,") if at is not None else words
    turn.write(case.name, SampleRefused(what=what, words=words, at=at), event=at)
    leads = who_may(turn.board.unit, Action.HEAR_ALERTS)
    told = turn.word("plan.refused.alert", person=turn.person.name, name=what, words=words[:80])
    turn.raise_alert("refusal", what, "push", tuple(p for p in leads if p.name != turn.person.name), told)
    case = turn.case_named(case.name) or case
    said = turn.word("plan.refused.told", name=what) + " "
    if turn.conversation.question is not None:
        ask_again(turn, said + turn.word("plan.refused.later", name=what))
        return
    _ask_refusal(turn, case, len(case.plan.refused) - 1, said)


def _lacks_something(case: Case, what: str) -> int | None:
    for place, one in enumerate(case.plan.refused):
        if one.what == what and lacking(one):
            return place
    return None


def _ask_refusal(turn: Turn, case: Case, place: int, prefix: str) -> None:
    """The next thing a refusal lacks is asked for; with none left its record is said."""
    refusal = case.plan.refused[place]
    field = next(iter(lacking(refusal)), None)
    if field is None:
        turn.note(walk=None, question=None, about=None)
        turn.say(prefix + turn.word("plan.refused.done", name=refusal.what))
        return
    turn.note(walk="refusal", about=str(place), case=case.name, sample=None, waiting=())
    ask(turn, f"plan.{field}", prefix + turn.word(f"plan.{field}.ask", name=refusal.what))


def answer_refusal(turn: Turn, text: str) -> bool:
    """One more thing about the refusal is on record as it was told; SKIP leaves it not stated."""
    case = _case_asked_about(turn)
    field = (turn.conversation.question or "").partition(".")[2]
    place = int(turn.conversation.about or 0)
    if case is None or field not in REFUSAL or place >= len(case.plan.refused) or not text:
        return False
    turn.case = case
    value = None if text.lower() in SKIPS else text
    if field == "when" and value is not None:
        read = read_clock(text, Source(turn.trade, turn.message))
        if not isinstance(read, TimeTold):
            _when_again(turn, read, text)
            return True
        value = read.iso
    fact = FactTold(field=field, value=value, raw=text[:400])
    turn.write(case.name, RefusalTold(refusal=place, fact=fact))
    _ask_refusal(turn, turn.case_named(case.name) or case, place, "")
    return True


def _case_asked_about(turn: Turn) -> Case | None:
    return turn.case or turn.case_named(turn.conversation.case or "")


def _when_again(turn: Turn, read: Ask | Unread, text: str) -> None:
    if isinstance(read, Ask):
        turn.say(turn.word(read.key, **read.values), asks="plan.when")
    else:
        ask_again(turn, turn.word("read.unread", words=text[:40]))


def _go_on(turn: Turn, said: str) -> None:
    """Said; a question that was open is asked again behind it."""
    if turn.conversation.question is not None:
        ask_again(turn, said)
    else:
        turn.say(said)
