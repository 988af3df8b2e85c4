"""A whole jar in one line, told without being asked. It leaves the open question open."""

from __future__ import annotations

import re

from ..model.entries import FactTold, NoteMade
from ..model.sample import Sample
from ..rules.checks import came_late
from .catch_up import late_text
from .confirm import confirm, hear_ok
from .corrections import apply_early
from .one_line import Scan, scan
from .order import gloves_words, order_words
from .photos import is_card, take_files
from .plan_told import take_suspect
from .queries import findings, wording_of
from .read_back import for_eyes, hold, label, ok_choice, old_words, parts, read_back
from .readings import Source, shared_position
from .record import Placed, Told, place, raise_query, tell, would_change
from .same import take_same
from .turn import Turn
from .walk import ask, ask_back
from .which_case import ask_case, case_of_number

MEASURES = frozenset(("kg", "lb", "lbs", "bag", "bags", "min", "mins", "minutes", "hours", "km", "kn"))
_CARD = re.compile(r"^\s*card\s*:?\s+(\S+)(.*)$", re.IGNORECASE | re.DOTALL)


def hear_jar(turn: Turn, text: str) -> bool:
    """A line that begins with a number and says something of that jar is on record."""
    typed = text
    text = _CARD.sub(r"\1 card\2", text) if is_card(text) else text
    text, same, refused = take_same(turn, text)
    text, whose = _take_suspect(turn, text)
    found = _scan_jar(turn, text)
    if found.number is None or _is_an_answer(turn, found):
        return False
    found.facts.extend(fact for fact in (*whose, *same) if not found.has(fact.field))
    has_files = turn.message.has_files
    if not (found.facts or found.asks or has_files):
        return _is_word_about(turn, found)
    if not found.facts and len(found.left) > 2 and not has_files:
        return False
    case = turn.case or case_of_number(turn, found.number)
    if case is None:
        ask_case(turn)
        return True
    turn.case = case
    facts = (*found.facts, *shared_position(turn.message))
    placed = place(turn, case, found.number, facts)
    told = tell(turn, placed.sample, facts) if facts else Told(placed.sample)
    shown, said = ([], []) if is_card(typed) else take_files(turn, placed.sample)  # a card shows no jar
    if found.left:
        turn.write(case.name, NoteMade(words=typed))
    sample = turn.sample(placed.sample.id)
    queries = (*told.queries, *shown)
    if placed.fresh and not placed.apart:
        queries = (*_number_query(turn, sample), *queries)
        sample = turn.sample(sample.id)
    refused += apply_early(turn, sample)
    sample = turn.sample(sample.id)
    if turn.conversation.case != case.name and turn.conversation.question is None:
        turn.note(case=case.name)
    told = told._replace(sample=sample, queries=queries)
    refused += said + _warnings(turn, sample, placed, told, facts)
    answer_jar(turn, sample, found, told, placed, refused)
    return True


def _is_word_about(turn: Turn, found: Scan) -> bool:
    """`03 ok` confirms that jar; `03 wrong` is told how to say what is."""
    if found.ok and not found.left and found.number is not None:
        turn.case = turn.case or case_of_number(turn, found.number)
        return hear_ok(turn, [found.number.key])
    if [word.lower().rstrip(".!") for word in found.left] == ["wrong"]:
        turn.say(turn.word("wrong.how"))
        return True
    return False


def _take_suspect(turn: Turn, text: str) -> tuple[str, tuple[FactTold, ...]]:
    """A suspect of the plan that the line names is the jar's vessel."""
    case = turn.case or turn.case_named(turn.conversation.case or "")
    return (text, ()) if case is None or not case.plan.suspects else take_suspect(text, case.plan)


def _warnings(
    turn: Turn, sample: Sample, placed: Placed, told: Told, facts: tuple[FactTold, ...]
) -> list[str]:
    """What is said once; not where something else is asked first, nor of what was told hours later."""
    message = turn.message
    if sample.text("from_card") == "yes":
        return []  # it was taken long ago
    late = came_late(message.said_us, message.received_us, turn.trade.limits)
    if late or placed.apart or placed.account or told.unexplained or sample.declared_by != turn.person.name:
        return []
    ordered = {"kind", "matrix"} & {fact.field for fact in facts}
    case = turn.case_named(sample.case)
    gloves = gloves_words(turn, case, facts) if case is not None else []
    cooler = next((str(fact.value) for fact in facts if fact.field == "cooler"), None)
    if cooler is not None and turn.cooler_named(cooler) not in turn.board.unit.coolers:
        gloves = [*gloves, turn.word("cooler.not_set_up", cooler=cooler)]
    return [*(order_words(turn, sample) if ordered else []), *gloves]


def _is_an_answer(turn: Turn, found: Scan) -> bool:
    """A line that begins like a jar's and is none: a person's name, a measure, free words asked for."""
    if found.number is not None and found.number.number in turn.board.unit.people:
        return True
    if found.left and found.left[0].lower().rstrip(".,") in MEASURES:
        return True
    field = turn.trade.table.by_id.get(turn.conversation.question or "")
    free = turn.conversation.question == "take" or (field is not None and field.free)
    whole = {"kind", "seal", "position"} & {fact.field for fact in found.facts}
    return free and (not whole or bool(found.left))


def jar_in(turn: Turn, text: str) -> str | None:
    """The number of the jar that these words tell of, where they can be nothing else."""
    found = scan(text, Source(turn.trade, turn.message))
    told = {fact.field for fact in found.facts}
    if found.number is None or len(told) < 2 or not told & {"kind", "matrix", "seal"}:
        return None
    return found.number.number


def _scan_jar(turn: Turn, text: str) -> Scan:
    """The line, read once more where its one time may be the cooler's: the jar's own is known already."""
    source = Source(turn.trade, turn.message)
    found = scan(text, source)
    if found.number is None or not (found.has("time") and found.has("cooler_celsius")):
        return found
    case = turn.case or case_of_number(turn, found.number)
    numbered = turn.find(("number", case.name, found.number.key)) if case is not None else []
    known = any(s.declared_by == turn.person.name and s.event_us is not None for s in numbered)
    return scan(text, source, timed=True) if known else found


def _number_query(turn: Turn, sample: Sample) -> tuple[str, ...]:
    return tuple(
        raise_query(turn, sample, finding.field, finding.rule, wording_of(turn, finding))
        for finding in findings(turn, sample, {"number"})
    )


def answer_jar(
    turn: Turn, sample: Sample, found: Scan, told: Told, placed: Placed, refused: list[str]
) -> None:
    """One text: what differs, or what must be said again, or the read-back."""
    left = "".join(f"{sentence} " for sentence in refused) + _left_words(turn, found)
    if placed.apart:
        hold(turn, sample)
        turn.note(sample=sample.id)
        ask(turn, "renumber", turn.word("query.number_twice.reply", number=sample.number))
    elif placed.account or turn.person.name != sample.declared_by:
        turn.say(turn.word("jar.account", number=label(turn, sample), person=sample.declared_by))
    elif told.unexplained is not None:
        _ask_why(turn, sample, told.unexplained)
    elif came_late(turn.message.said_us, turn.message.received_us, turn.trade.limits) and not found.asks:
        _say_late(turn, sample)
    elif told.queries:
        hold(turn, sample)
        queries = " ".join(dict.fromkeys(told.queries))  # one sentence for photos that differ alike
        text = turn.word("query.reply", number=label(turn, sample), queries=queries)
        turn.say(left + text, asks="query", choices=ok_choice(turn))
    elif found.asks:
        _ask_back(turn, sample, found, "".join(f"{sentence} " for sentence in refused))
    else:
        read_back(turn, sample, left)


def _left_words(turn: Turn, found: Scan) -> str:
    return turn.word("line.left", words=" ".join(found.left)[:60]) + " " if found.left else ""


def _ask_why(turn: Turn, sample: Sample, field: str) -> None:
    correction = next(c for c in reversed(sample.corrections) if c.field == field)
    turn.note(sample=sample.id, about=field)
    text = turn.word(
        "correct.why",
        number=label(turn, sample),
        field=turn.word(f"sample.{field}.name"),
        new=correction.new,
        old=old_words(turn, sample, field, correction.old),
    )
    ask(turn, "why", text)


def _ask_back(turn: Turn, sample: Sample, found: Scan, said_first: str) -> None:
    """What was understood is on record; the rest is asked, and its field is the open question."""
    told = parts(for_eyes(turn, sample), turn.trade, turn.message.received_us)
    saved = turn.word("line.saved", number=label(turn, sample), parts=told)
    found.left.extend(said for _, _, said in found.asks[1:])
    prefix = said_first + _left_words(turn, found)
    prefix += f"{saved} " if found.facts else f"{label(turn, sample)}: "
    hold(turn, sample)
    turn.note(walk="line", sample=sample.id)
    ask_back(turn, *found.asks[0], prefix)


def _say_late(turn: Turn, sample: Sample) -> None:
    """A text that is hours old is answered with its time and what it lacks; several become one."""
    hold(turn, sample)
    turn.say(
        late_text([sample], turn.trade, turn.message.received_us),
        asks="confirm",
        choices=ok_choice(turn),
        catch_up=sample.id,
    )


def hear_more(turn: Turn, text: str) -> bool:
    """Words that wholly say something of the jar last shown are on record with it."""
    sample_id = turn.conversation.sample
    if sample_id is None:
        return False
    text, same, refused = take_same(turn, text)
    timed = turn.sample(sample_id).event_us is not None
    found = scan(text, Source(turn.trade, turn.message), numbered=False, timed=timed)
    facts = (*found.facts, *same, *shared_position(turn.message))
    if not (facts or refused) or found.left or found.asks:
        return False
    sample = turn.sample(sample_id)
    turn.case = turn.case_named(sample.case)
    if would_change(sample, facts):
        turn.say(turn.word("more.which", number=label(turn, sample)))
        return True
    told = tell(turn, sample, facts)
    shown, said = take_files(turn, sample)
    refused += said
    told = told._replace(queries=(*told.queries, *shown))
    if found.ok and not (told.queries or told.unexplained or refused):
        confirm(turn, [turn.sample(sample_id)])
        return True
    sample = turn.sample(sample_id)
    answer_jar(turn, sample, found, told, Placed(sample), refused)
    return True
