"""Answers to the open question: one function a question that is not a field of the table."""

from __future__ import annotations

from collections.abc import Callable

from ..model.entries import FactTold
from ..model.sample import Sample
from ..rules.fields import Field
from .case_walk import answer_case
from .confirm import answer_why
from .cooler_line import hear_reading, with_unit
from .corrections import apply_early, settle_number
from .half_answers import is_half, is_place, is_same_time, joined, says_none
from .lines import hear_jar, hear_more
from .method import hear_situation
from .one_line import scan
from .photos import answer_which
from .plan_lines import answer_refusal
from .plan_walk import answer_plan
from .queries import findings, wording_of
from .read_back import label, read_back
from .readers.base import Ask, Unread
from .readers.words import NumberTold, read_number
from .readings import Facts, Reading, Source, read_field, shared_position
from .record import declare, raise_query, tell
from .safety import answer_safety
from .same import WORDS, copied
from .turn import Turn
from .walk import SAFETY, ask, ask_again, ask_back, ask_next, skip_field, start_jar
from .whole_lines import hear_whole_line


def answer(turn: Turn, text: str) -> bool:
    """True where the open question took the text as its answer."""
    question = turn.conversation.question
    if question is None:
        return False
    if question.startswith("case."):
        answer_case(turn, text)
        return True
    if question.startswith("plan."):
        return answer_refusal(turn, text) if turn.conversation.walk == "refusal" else answer_plan(turn, text)
    special = ANSWERS.get(question)
    if special is not None:
        return special(turn, text)
    field = turn.trade.table.by_id.get(question)
    if field is None or turn.conversation.sample is None:
        return False
    return _answer_field(turn, field, turn.sample(turn.conversation.sample), text)


def typed_answer(turn: Turn, text: str) -> bool:
    """True where the open field's own reader takes the whole text: it then comes before whole lines."""
    field = turn.trade.table.by_id.get(turn.conversation.question or "")
    if field is None or field.free or field.reader == "photo" or turn.conversation.sample is None:
        return False
    read = read_field(field, text, Source(turn.trade, turn.message))
    if isinstance(read, (Ask, Unread)):
        return False
    return _answer_field(turn, field, turn.sample(turn.conversation.sample), text, read)


def _answer_field(turn: Turn, field: Field, sample: Sample, text: str, whole: Facts | None = None) -> bool:
    turn.case = turn.case_named(sample.case)
    if text.lower() in WORDS:
        return _same_as_last(turn, field, sample)
    skipped = turn.trade.table.by_id.get(field.instead_of or "")
    first = read_field(skipped, text, Source(turn.trade, turn.message)) if skipped is not None else None
    digits = text.strip()
    stray = digits.isdigit() and len(digits) < 3  # no seal, but an answer to some other question
    if skipped is not None and isinstance(first, tuple) and not stray:  # what was skipped is told after all
        _take(turn, sample, skipped, first)
        return True
    read = _read(turn, field, text, whole)
    if isinstance(read, Unread):
        return _not_read(turn, text)
    if isinstance(read, Ask):
        half = turn.conversation.about
        kept = half if half is not None and field.reader == "time" and is_half(text) else text
        ask_back(turn, field.id, read, kept, f"{label(turn, sample)}: ")
        return True
    _take(turn, sample, field, read)
    return True


def _read(turn: Turn, field: Field, text: str, whole: Facts | None) -> Reading:
    """The answer together with the half that was asked about, else by itself: `whole`, once it was read."""
    if field.id == "position" and turn.message.position is not None:
        return shared_position(turn.message)
    source = Source(turn.trade, turn.message)
    half = turn.conversation.about
    if field.reader == "time" and half is not None and is_same_time(half, text):
        return Ask("read.time.which_day", {"raw": text})
    doubt: Reading = Unread()
    for both in joined(field, half, text) if half is not None and is_half(text) else ():
        read = read_field(field, both, source)
        if not isinstance(read, (Ask, Unread)):
            return read
        doubt = doubt if isinstance(doubt, Ask) else read
    alone = read_field(field, text, source) if whole is None else whole
    return doubt if isinstance(alone, Unread) else alone


def _not_read(turn: Turn, text: str) -> bool:
    """Words of another sort may still wholly speak of this jar; else the question is put again."""
    if hear_more_in_walk(turn, text):
        return True
    field = turn.trade.table.by_id.get(turn.conversation.question or "")
    if field is not None and turn.conversation.walk in ("sample", "more") and says_none(field, text):
        return skip_field(turn, text)
    if field is not None and field.id == "position" and is_place(text):
        _place_in_words(turn, text)
        return True
    ask_again(turn, turn.word("read.unread", words=text[:40]))
    return True


def _place_in_words(turn: Turn, text: str) -> None:
    """Where it was, in words: no position was told, and it is not asked for again."""
    if turn.conversation.sample is not None:
        turn.note(skipped=(*turn.conversation.skipped, "position"))
        told = FactTold(field="place", value=text, raw=text)
        _go_on(turn, turn.sample(turn.conversation.sample), (told,))


def hear_more_in_walk(turn: Turn, text: str) -> bool:
    """Any parts of the walk's jar are taken, and the walk goes on after them."""
    conversation = turn.conversation
    if conversation.sample is None or conversation.walk not in ("sample", "more"):
        return hear_more(turn, text)
    found = scan(text, Source(turn.trade, turn.message), numbered=False, spoken=True)
    facts = (*found.facts, *shared_position(turn.message))
    if not facts or found.left or found.asks:
        return False
    if conversation.waiting and conversation.waiting[-1] != conversation.sample:
        ask_again(turn, turn.word("more.number"))  # another jar was shown since: either may be meant
        return True
    _go_on(turn, turn.sample(conversation.sample), facts)
    return True


def _take(turn: Turn, sample: Sample, field: Field, facts: Facts) -> None:
    _go_on(turn, sample, facts, field)


def _go_on(turn: Turn, sample: Sample, facts: Facts, field: Field | None = None) -> None:
    """The facts are on record; a difference is said before the next question."""
    conversation = turn.conversation
    redo = field is not None and conversation.redo == field.id
    told = tell(turn, sample, facts, why=turn.word("wrong.reason") if redo else None)
    trail = tuple(f.field for f in facts if f.field not in conversation.trail)
    turn.note(trail=(*conversation.trail, *trail), redo=None)
    sample = turn.sample(sample.id)
    if told.unexplained is not None:
        correction = sample.corrections[-1]
        turn.note(about=told.unexplained)
        names = {"number": label(turn, sample), "field": turn.word(f"sample.{told.unexplained}.name")}
        ask(turn, "why", turn.word("correct.why", **names, new=correction.new, old=correction.old))
        return
    if told.queries:
        queried = next(q.field for q in reversed(sample.queries) if q.open)
        text = turn.word("query.reply", number=label(turn, sample), queries=" ".join(told.queries))
        turn.note(waiting=(sample.id,))
        ask(turn, queried, text)
        return
    if conversation.walk not in ("sample", "more"):
        read_back(turn, sample)
        return
    early = apply_early(turn, sample)
    ask_next(turn, turn.sample(sample.id), "".join(f"{sentence} " for sentence in early))


def _same_as_last(turn: Turn, field: Field, sample: Sample) -> bool:
    told = copied(turn, field, sample.id)
    if isinstance(told, str):
        turn.say(told, asks=field.id)
    else:
        _take(turn, sample, field, (told,))
    return True


def _safety(turn: Turn, text: str) -> bool:
    question = turn.conversation.question or ""
    turn.case = turn.case or turn.case_named(turn.conversation.case or "")
    if answer_safety(turn, question):
        start_jar(turn)
    return True


def _number(turn: Turn, text: str) -> bool:
    case = turn.case or turn.case_named(turn.conversation.case or "")
    turn.case = case
    number = read_number(text)
    if case is None:
        return False
    if not isinstance(number, NumberTold):
        if hear_jar(turn, text):
            return True
        ask_again(turn, turn.word("read.unread", words=text[:40]))
        return True
    there = turn.find(("number", case.name, number.key))
    own = [s for s in there if s.declared_by == turn.person.name and not s.confirmed and s.struck is None]
    if own:
        ask_next(turn, own[0])
    elif there:
        turn.say(turn.word("walk.number.taken", number=number.number), asks="number")
    else:
        _declare(turn, number)
    return True


def _declare(turn: Turn, number: NumberTold) -> None:
    if turn.case is None:
        return
    sample = declare(turn, turn.case, number)
    found = findings(turn, sample, {"number"})
    texts = [raise_query(turn, sample, f.field, f.rule, wording_of(turn, f)) for f in found]
    prefix = " ".join(texts) + " " if texts else ""
    ask_next(turn, turn.sample(sample.id), prefix)


def _take_done(turn: Turn, text: str) -> bool:
    """`shut 1002 pad`: the gloves are off the jar; from here questions come again."""
    conversation = turn.conversation
    if conversation.sample is None:
        return False
    if hear_situation(turn, text):
        return True
    sample = turn.sample(conversation.sample)
    turn.case = turn.case_named(sample.case)
    found = scan(text, Source(turn.trade, turn.message), numbered=False, spoken=True)
    if found.left and not found.facts:
        return False
    turn.note(trail=(*conversation.trail, "take"), skipped=(*conversation.skipped, "take"))
    if found.asks:
        if found.facts:
            tell(turn, sample, tuple(found.facts))
        ask_back(turn, *found.asks[0], f"{label(turn, sample)}: ")
        return True
    if found.facts:
        _go_on(turn, sample, tuple(found.facts))
    else:
        ask_next(turn, sample)
    return True


def _renumber(turn: Turn, text: str) -> bool:
    """What a human reads on the jar now is its number."""
    number = read_number(text)
    if turn.conversation.sample is None or not isinstance(number, NumberTold):
        return False
    sample = turn.sample(turn.conversation.sample)
    turn.case = turn.case_named(sample.case)
    others = [
        s for s in turn.find(("number", sample.case, number.key)) if s.id != sample.id and s.struck is None
    ]
    if others:
        turn.say(turn.word("walk.number.taken", number=number.number), asks="renumber")
        return True
    settle_number(turn, sample, number)
    turn.note(question=None)
    read_back(turn, turn.sample(sample.id))
    return True


def _resume(turn: Turn, text: str) -> bool:
    if text.lower() not in ("yes", "y", "1", "continue", "jar"):
        turn.note(question=None, walk=None)
        if text.lower() in ("no", "n", "later", "2"):
            turn.say(turn.word("walk.resume.later"))
            return True
        return False
    if turn.conversation.sample is None:
        return False
    sample = turn.sample(turn.conversation.sample)
    turn.case = turn.case_named(sample.case)
    turn.note(skipped=(), trail=())
    ask_next(turn, sample)
    return True


def _case_pick(turn: Turn, text: str) -> bool:
    """The case that was meant; what was said before it was named is taken up again."""
    words = text.strip().upper()
    cases = turn.open_cases()
    digit = int(words) - 1 if words.isdecimal() and len(words) == 1 else -1
    for place, case in enumerate(cases):
        if case.name.upper() == words or place == digit:
            before = turn.conversation.about
            turn.case = case
            turn.note(case=case.name, question=None, about=None)
            if before is None or before == "jar":
                start_jar(turn)
            elif not _take_up(turn, before):
                turn.say(turn.word("case.picked", name=case.name))
            return True
    return False


def _take_up(turn: Turn, before: str) -> bool:
    """Every line that waited for its case is heard in it, "now" as when it was sent; True where any spoke."""
    case = turn.case
    turn.message = turn.message.model_copy(update={"sent_us": turn.conversation.shown_us})
    heard = False
    for line in before.splitlines():
        turn.case = case
        heard = hear_whole_line(turn, line.strip()) or heard
    return heard


def _why(turn: Turn, text: str) -> bool:
    answer_why(turn, text)
    return True


ANSWERS: dict[str, Callable[[Turn, str], bool]] = {
    **dict.fromkeys(SAFETY, _safety),
    "number": _number,
    "take": _take_done,
    "renumber": _renumber,
    "resume": _resume,
    "case_pick": _case_pick,
    "photo_which": answer_which,
    "cooler_line": with_unit,
    "cooler_reading": hear_reading,
    "why": _why,
}
