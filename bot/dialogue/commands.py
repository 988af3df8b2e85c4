"""Words that start something from anywhere: one table, one function a command."""

from __future__ import annotations

from collections.abc import Callable

from ..model.keys import by_receipt
from ..model.sample import Sample
from .case_walk import redo_case, start_case
from .confirm import hear_ok
from .cooler_corrections import take_back_reading
from .keywords import COMMANDS_OF_ALL
from .method import hear_litres, hear_method, hear_why
from .page_line import send_page
from .plan_commands import hear_done, hear_plan, hear_what_can
from .plan_walk import redo_plan
from .read_back import missing_names
from .readers.words import NumberTold, YesNo, read_number, read_numbers, read_yes_no
from .shift import hear_handover, hear_have
from .turn import Turn
from .walk import ask_again, ask_field, skip_field, start_jar, start_more
from .watching import hear_digest, hear_mine, hear_solved
from .whereabouts import hear_watch, hear_whereabouts
from .which_case import ask_case, case_of_conversation


def hear_command(turn: Turn, text: str) -> bool:
    """True where the text was a command and has been done."""
    words = text.lower().split()
    if not words:
        return False
    if turn.conversation.waiting and turn.conversation.question is None and _agrees(text):
        words = ["ok"]
    first, rest = words[0].rstrip("!."), text.split()[1:]
    first = COMMANDS_OF_ALL.get(first, first)
    one = COMMANDS.get(first)
    if one is None or (rest and first not in WITH_WORDS) or (first in NAMES_TOO and _asks_for_words(turn)):
        return False
    return one(turn, rest)


def _agrees(text: str) -> bool:
    """`1`, or yes in so many words, to a read-back that waits."""
    return text.strip() == "1" or read_yes_no(text) is YesNo.YES


def _asks_for_words(turn: Turn) -> bool:
    """The open question takes whatever words it is answered with."""
    sort, _, name = (turn.conversation.question or "").rpartition(".")
    fields = turn.trade.case_table.field if sort else turn.trade.table.field
    return name == "safety" or any(field.id == name and field.free for field in fields)


def _jar(turn: Turn, rest: list[str]) -> bool:
    if rest and not isinstance(read_number(" ".join(rest)), NumberTold):
        return False
    if _settle_case(turn):
        start_jar(turn)
    else:
        turn.note(about="jar")
    return True


def _settle_case(turn: Turn) -> bool:
    turn.case = turn.case or case_of_conversation(turn)
    if turn.case is None:
        ask_case(turn)
        return False
    return True


def _case(turn: Turn, rest: list[str]) -> bool:
    start_case(turn)
    return True


def _ok(turn: Turn, rest: list[str]) -> bool:
    read = read_numbers(" ".join(rest)) if rest else ()
    if not isinstance(read, tuple):
        return False
    turn.case = turn.case or case_of_conversation(turn)
    return hear_ok(turn, [number.key for number in read])


def _skip(turn: Turn, rest: list[str]) -> bool:
    """Any field, any time; the field stays not stated."""
    conversation = turn.conversation
    question = conversation.question
    if question is None and not conversation.waiting:
        return _nothing_open(turn)
    if question is None or question == "why" or question.startswith(("case.", "plan.")):
        return False
    if question in ("safety", "phone", "number", "take") or conversation.sample is None:
        return _skip_sample(turn)
    if conversation.walk not in ("sample", "more"):
        turn.note(question=None, walk=None)
        turn.say(turn.word("skip.done"))
        return True
    return skip_field(turn)


def _nothing_open(turn: Turn) -> bool:
    turn.say(turn.word("nothing.open"))
    return True


def _skip_sample(turn: Turn) -> bool:
    """Before the jar is shut SKIP leaves the sample out; what was said stays on record."""
    turn.note(walk=None, question=None)
    turn.say(turn.word("skip.sample"))
    return True


def _wrong(turn: Turn, rest: list[str]) -> bool:
    """The last answer of the walk is asked for again; its new value will be a correction."""
    conversation = turn.conversation
    if conversation.walk == "case":
        redo_case(turn)
        return True
    if conversation.walk == "plan":
        redo_plan(turn)
        return True
    if take_back_reading(turn):
        return True
    if conversation.sample is None and conversation.question in BEFORE_JAR:
        before = BEFORE_JAR[conversation.question]
        if before:
            turn.note(question=before)
        ask_again(turn, "" if before else turn.word("wrong.first"))
        return True
    trail = [id_ for id_ in conversation.trail if id_ in turn.trade.table.by_id]
    if conversation.sample is None or not trail:
        turn.say(turn.word("wrong.how"))
        return True
    turn.note(trail=tuple(trail[:-1]), redo=trail[-1], walk=conversation.walk or "sample", waiting=())
    sample = turn.sample(conversation.sample)
    ask_field(turn, sample, turn.trade.table.by_id[trail[-1]])
    return True


def _status(turn: Turn, rest: list[str]) -> bool:
    """What of this person's is on record, and what waits, by number."""
    if not _settle_case(turn) or turn.case is None:
        return True
    case = turn.case.name
    mine = [s for s in turn.find(("by", turn.person.name)) if s.case == case and s.struck is None]
    open_ones = [s for s in turn.find(("open", turn.person.name)) if s.case == case]
    lines = [_lacks(turn, sample) for sample in open_ones[:5]]
    if len(open_ones) > len(lines):
        lines.append(turn.word("status.more", numbers=" ".join(s.number for s in open_ones[5:])))
    key = "status.open" if open_ones else "status.clear"
    last = max(mine, key=by_receipt, default=None)
    text = turn.word(
        key,
        case=turn.case.name,
        last=last.number if last else turn.word("status.none"),
        lines=" ".join(lines),
    )
    loose = turn.loose_photos()
    if loose:
        text += " " + turn.word("status.loose", count=len(loose))
    turn.say(text)
    return True


def _lacks(turn: Turn, sample: Sample) -> str:
    query = sample.open_query
    if query is not None:
        return turn.word("status.query", number=sample.number, field=turn.word(f"sample.{query.field}.name"))
    missing = ", ".join(missing_names(sample, turn.trade)[:4])
    key = "status.lacks" if missing else "status.unconfirmed"
    return turn.word(key, number=sample.number, missing=missing)


def _help(turn: Turn, rest: list[str]) -> bool:
    """What the open question wants; without one, what can be sent."""
    question = turn.conversation.question
    asked = (question or "").removeprefix("plan.")
    for key in (f"sample.{question}.help", f"walk.{question}.help", f"{question}.help", f"plan.{asked}.help"):
        if question is not None and turn.trade.words.has(key):
            turn.say(turn.word(key), asks=question)
            return True
    if asked.startswith("case.") or asked in turn.trade.table.by_id:
        ask_again(turn, turn.word("case.walk.help"))
    else:
        turn.say(turn.word("help"))
    return True


def _stop(turn: Turn, rest: list[str]) -> bool:
    turn.note(walk=None, question=None, answers={})
    turn.say(turn.word("stopped"))
    return True


def _again(turn: Turn, rest: list[str]) -> bool:
    if turn.conversation.question is None:
        return _nothing_open(turn)
    ask_again(turn, turn.word("again"))
    return True


def _more(turn: Turn, rest: list[str]) -> bool:
    """What a transfer or a transmittal will want of the jar named, or last shown."""
    turn.case = turn.case or case_of_conversation(turn)
    read = read_number(rest[0]) if rest else None
    if isinstance(read, NumberTold) and turn.case is not None:
        samples = turn.find(("number", turn.case.name, read.key))
    else:
        samples = [turn.sample(turn.conversation.sample)] if turn.conversation.sample is not None else []
    mine = [s for s in samples if s.declared_by == turn.person.name and s.struck is None]
    if len(rest) > 1 or (rest and not isinstance(read, NumberTold)):
        return False
    if mine:
        start_more(turn, mine[-1])
    elif rest:
        turn.say(turn.word("jar.unknown", number=" ".join(rest)))
    else:
        _nothing_open(turn)
    return True


COMMANDS: dict[str, Callable[[Turn, list[str]], bool]] = {
    "jar": _jar,
    "sample": _jar,
    "case": _case,
    "ok": _ok,
    "okay": _ok,
    "skip": _skip,
    "wrong": _wrong,
    "status": _status,
    "?": _help,
    "help": _help,
    "more": _more,
    "why": hear_why,
    "why?": hear_why,
    "again": _again,
    "page": send_page,
    "stop": _stop,
    "cancel": _stop,
    "afloat": hear_whereabouts,
    "back": hear_whereabouts,
    "watch": hear_watch,
    "digest": hear_digest,
    "handover": hear_handover,
    "have": hear_have,
    "mine": hear_mine,
    "solved": hear_solved,
    "plan": hear_plan,
    "done": hear_done,
    "what": hear_what_can,
    "method": hear_method,
    **dict.fromkeys(("litres", "liters", "litres?", "liters?"), hear_litres),
}
BEFORE_JAR = {"safety": "", "phone": "safety", "number": "phone"}  # what WRONG goes back to
NAMES_TOO = frozenset(("watch",))  # whose command it is, and who reported the oil or is in charge there
WITH_WORDS = frozenset(
    (
        *("ok", "okay", "jar", "more", "plan", "what", "method", "litres"),
        *("mine", "solved", "digest", "handover", "have"),
    )
)
