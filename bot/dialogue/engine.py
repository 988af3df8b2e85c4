"""What one message leads to. The order of hearing: danger, commands, whole lines, the open question."""

from __future__ import annotations

import re

from ..model.board import Board
from ..model.case import Case
from ..model.entries import NoteMade
from ..model.message import Incoming
from ..model.times import MINUTE_US
from .answers import answer, typed_answer
from .commands import hear_command
from .confirm import OFFERED_WITHIN_US
from .edits import answer_edit, propose_edit
from .fetched import files_came, hear_fetched, hear_refused
from .floods import is_too_long, say_flood
from .kit_restock import hear_kit_used
from .kit_walk import hear_kit_walk
from .lines import hear_more, jar_in
from .outcome import Outcome
from .photos import hear_files, keep_loose
from .safety import hear_entry, hear_gas, hear_harm, hear_sos
from .speakers import begin, hear_code, hear_speaker, say_behind
from .strangers import hear_stranger
from .tickets import is_stale
from .turn import Trade, Turn
from .walk import ask_again, come_back
from .which_case import case_of_conversation, named_case
from .whole_lines import hear_whole_line

# How a line begins that says something by itself; other lines are one answer over several lines.
_STARTS = "|".join(
    (
        "cooler|fridge|need|strike",
        "offer|withdraw|answer|no|explain|store|reseal|return|court|split|paper|close|retain|release|dispose|result|box|send|laboratory|lab",
        "kit|inspect|restock|restocked|used",
        "suspects?|refused|impossible|card",
        r"(?:jar|sample|bottle|number|nr|no)\W{0,2}\d+",
    )
)
_LINE = re.compile(rf"#?\d|[A-Za-z]{{1,3}}-?\d|(?:{_STARTS})\b", re.IGNORECASE)
_SAYS = re.compile(rf"(?:{_STARTS})\b", re.IGNORECASE)

_NEXT_JAR = re.compile(r"[,;./]\s+(?=(?:jar\s+)?\d{1,3}\s+[a-z])", re.IGNORECASE)

ANSWERED_WITHIN_US = 10 * MINUTE_US  # what comes this soon after the stop text is taken as its answer


def think(message: Incoming, sha256: str, board: Board, trade: Trade) -> Outcome:
    """Everything that follows from this message; nothing on the board is changed.

    Raises Missing where the board lacks something: the desk supplies it and asks again.
    """
    person = board.person_at(message.address)
    sender = board.unit.people.get(message.fetched.by or "") if message.fetched is not None else None
    if sender is not None:
        return files_came(message, sha256, board, trade, sender)
    if person is None or not person.active:
        return hear_stranger(message, sha256, board, trade)
    turn = begin(message, sha256, board, trade, person)
    if message.fetched is not None:
        hear_fetched(turn, message.fetched.sample)
        return turn.outcome()
    if not (hear_sos(turn) or is_too_long(turn)):
        asked, about = turn.conversation.question, turn.conversation.sample
        _hear(turn)
        come_back(turn, asked, about)
        say_behind(turn)
    if message.last:
        say_flood(turn)
    if turn.message.has_files and not turn.kept_files:
        keep_loose(turn)
    return turn.outcome()


def _hear(turn: Turn) -> None:
    if hear_code(turn) or hear_speaker(turn) or hear_refused(turn):
        return
    in_case_walk = (turn.conversation.question or "").startswith("case.")
    if in_case_walk and _means_open_case(turn):
        return
    text = _take_case(turn, in_case_walk)
    named = text != turn.text
    if turn.case is not None and named:
        _leave_other_case(turn, turn.case)
    stopped = _hear_danger(turn)
    if turn.message.edits is not None:
        propose_edit(turn, text)
        return
    if _names_closed_case(turn, text, in_case_walk):
        return
    lines = _lines_of(turn, text)
    if len(lines) > 1 and not in_case_walk and all(_LINE.match(line) for line in lines):
        _hear_lines(turn, lines, stopped)
        return
    if named and not text and turn.conversation.question != "case_pick":
        turn.note(case=turn.case.name if turn.case else None)
        turn.say(turn.word("case.picked", name=turn.case.name if turn.case else ""))
        return
    _hear_one(turn, text or turn.text, stopped)


def _means_open_case(turn: Turn) -> bool:
    """Of the cases that were shown before another is opened, the text names one: it is that one."""
    case, rest = named_case(turn, turn.text)
    if case is None or rest or turn.conversation.question != "case.exercise":
        return False
    turn.case = case
    turn.note(walk=None, question=None, answers={}, skipped=(), trail=(), sample=None, case=case.name)
    turn.say(turn.word("case.picked", name=case.name))
    return True


def _lines_of(turn: Turn, text: str) -> list[str]:
    """The lines of a text; one line that tells whole jars one behind the other is as many."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    parts = [part.strip() for part in _NEXT_JAR.split(text)] if len(lines) == 1 else []
    return parts if len(parts) > 1 and all(jar_in(turn, part) for part in parts) else lines


def _take_case(turn: Turn, in_case_walk: bool) -> str:
    """The case that the text begins with, else the only open one, is the turn's; the text without its name.

    While a case is being opened its name may be an answer, and a jar told without one may be the new case's.
    """
    turn.case, text = named_case(turn, turn.text)
    jar = jar_in(turn, text) if in_case_walk else None
    if in_case_walk and (turn.case is None or jar is None):
        turn.case, text = None, turn.text
    if turn.case is None and jar is None:
        turn.case = None if len(turn.open_cases()) > 1 else case_of_conversation(turn)
    return text


def _names_closed_case(turn: Turn, text: str, in_case_walk: bool) -> bool:
    """What begins with a closed case's name is kept as it came; only its supervisor may have it go on."""
    words = text.split(maxsplit=1)
    if in_case_walk or not words or turn.case_named(words[0]) is not None:
        return False
    name = turn.closed_case(words[0].rstrip(":,"))
    if name is None:
        return False
    turn.say(turn.word("case.closed", name=name))
    return True


def _leave_other_case(turn: Turn, case: Case) -> None:
    """What names a case answers no question and confirms no jar of another."""
    sample = turn.conversation.sample
    if sample is not None and sample.rpartition("#")[0] != case.name:
        turn.note(sample=None, question=None, walk=None, waiting=(), case=case.name)


def _hear_lines(turn: Turn, lines: list[str], stopped: bool) -> None:
    """Each line by itself, in the case that it or a line above it names; which case is asked once for all."""
    named = turn.case
    shown: list[str] = []
    for place, line in enumerate(lines):
        case, rest = named_case(turn, line)
        turn.case = named = case or named
        _hear_one(turn, rest or line, stopped)
        shown += [id_ for id_ in turn.conversation.waiting if id_ not in shown]
        about = turn.conversation.about or ""
        if turn.conversation.question == "case_pick" and about.endswith(turn.text):
            turn.note(about=about.removesuffix(turn.text) + "\n".join(lines[place:]))
            return
    if len(shown) > 1 and turn.conversation.waiting:
        turn.note(waiting=tuple(shown))  # OK is about all that this text had read back


def _hear_danger(turn: Turn) -> bool:
    before = turn.case
    if turn.case is None:
        turn.case = case_of_conversation(turn)
    entering = hear_entry(turn)
    heard = hear_harm(turn) or entering or hear_gas(turn)
    turn.case = before
    return heard


def _hear_one(turn: Turn, text: str, stopped: bool) -> None:
    if turn.message.press is not None:
        text = text or turn.message.press
        if is_stale(turn) or not _press_fits(turn):
            ask_again(turn, turn.word("press.stale"))
            return
    text = _edited(turn, text)
    if hear_kit_walk(turn, text) or hear_kit_used(turn, text):
        return
    if (_chooses(turn, text) and typed_answer(turn, text)) or hear_command(turn, text):
        return
    if _hear_whole_line(turn, text) or stopped:
        return
    if hear_files(turn) or _hear_position(turn) or answer(turn, text) or hear_more(turn, text):
        return
    _explain(turn, text)


def _edited(turn: Turn, text: str) -> str:
    """The edited words where the answer takes them as a correction, else what was said."""
    if turn.conversation.question != "edit":
        return text
    edited = turn.conversation.about or ""
    return edited if answer_edit(turn, text) else text


def _press_fits(turn: Turn) -> bool:
    """A button counts for the question that is open, and a stale one changes nothing."""
    asked = turn.message.press or ""
    question = turn.conversation.question
    if question is None or question == "edit" or asked in ("ok", "skip", "wrong"):
        return asked in ("ok", "skip", "wrong")
    if question == "phone":
        return asked in ("yes", "no")
    if question == "case_pick":
        return any(case.name == asked for case in turn.open_cases())
    if asked in ("old", "new"):
        return turn.conversation.about is not None
    tables = (*turn.trade.table.field, *turn.trade.case_table.field)
    name = question.rpartition(".")[2]
    return any(field.id == name and any(o.id == asked for o in field.choices) for field in tables)


def _chooses(turn: Turn, text: str) -> bool:
    """The words are a choice of the open question: then they are no command, though JAR is one too."""
    field = turn.trade.table.by_id.get(turn.conversation.question or "")
    words = text.lower().rstrip(".!")
    return field is not None and any(words == option.id or words in option.words for option in field.choices)


def _hear_whole_line(turn: Turn, text: str) -> bool:
    if not text:
        return False
    if (turn.conversation.question or "").startswith("case."):
        return _hear_in_case_walk(turn, text)
    if not turn.message.has_files and typed_answer(turn, text):
        return True
    return hear_whole_line(turn, text)


def _hear_in_case_walk(turn: Turn, text: str) -> bool:
    """While a case is being opened no jar is an answer, nor a line that says by its first word what it is."""
    number = jar_in(turn, text)
    if number is not None and turn.case is None:
        ask_again(turn, turn.word("case.jar_waits", number=number))
        return True
    said = number is not None or (turn.conversation.question != "case.kit" and _SAYS.match(text) is not None)
    return said and hear_whole_line(turn, text)


def _hear_position(turn: Turn) -> bool:
    """A shared position without words is the place of the jar being asked about or last shown."""
    if turn.message.position is None:
        return False
    if turn.conversation.question == "position":
        return answer(turn, "")
    if turn.conversation.sample is None and turn.conversation.question is None and not turn.text:
        _find_its_jar(turn)
        return True
    return turn.conversation.sample is not None and hear_more(turn, "")


def _find_its_jar(turn: Turn) -> None:
    """It is the place of the person's one fresh jar without one, told on whichever phone; else only kept."""
    since_us = turn.message.received_us - OFFERED_WITHIN_US
    lacking = [
        sample
        for sample in turn.find(("open", turn.person.name))
        if sample.struck is None and "position" not in sample.facts and sample.received_us >= since_us
    ]
    if len(lacking) != 1:
        turn.say(turn.word("position.kept"))
        return
    turn.note(sample=lacking[0].id, case=lacking[0].case)
    hear_more(turn, "")


def _was_just_stopped(turn: Turn, case: Case) -> bool:
    """Their answer to the stop text is no jar that went wrong."""
    stopped_us = case.stops.get(turn.person.name)
    return stopped_us is not None and 0 <= turn.message.received_us - stopped_us < ANSWERED_WITHIN_US


def _explain(turn: Turn, text: str) -> None:
    """Nothing was understood: the words are kept, and the way on is said."""
    if turn.case is None:
        turn.case = case_of_conversation(turn)
    if turn.case is not None and text:
        turn.write(turn.case.name, NoteMade(words=text))
    if turn.conversation.question is not None:
        ask_again(turn, turn.word("read.unread", words=text[:40]))
        return
    if turn.case is not None and _was_just_stopped(turn, turn.case):
        turn.say(turn.word("safety.noted"))
        return
    turn.say(turn.word("explain" if turn.open_cases() else "explain.no_case"))
