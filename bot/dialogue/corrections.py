"""Corrections in words: "03 seal is 5107 not 5103, misread"; and jars struck off the count."""

from __future__ import annotations

import re

from ..model.entries import (
    AccountGiven,
    CorrectionKept,
    EarlierStatementKept,
    NoteMade,
    NumberSettled,
    SampleStruck,
)
from ..model.sample import Sample
from ..rules.fields import Field
from .one_line import scan
from .read_back import hold, label, old_words, read_back
from .readers.base import Ask, Unread
from .readers.words import NumberTold, read_number
from .readings import Facts, Source, read_field
from .record import close_query, correct, doubt_number, explain, fact, tell
from .turn import Turn
from .walk import ask
from .which_case import ask_case, case_of_number

_IS = re.compile(
    r"^\s*(?P<number>\d{1,3}|[A-Za-z]{1,3}-?\d{1,4})\s+(?:the\s+)?(?P<field>[A-Za-z_ -]{2,24}?)\s+"
    r"(?:is|was|should\s+be|=)\s+(?P<new>.+?)"
    r"(?:\s*,?\s+not\s+(?P<old>[^,;]+?))?(?:\s*[,;]\s*(?P<why>\D.*))?\s*$",
    re.IGNORECASE,
)
_STRUCK = re.compile(
    r"^\s*(?:strike\s+)?(?P<number>\d{1,3}|[A-Za-z]{1,3}-?\d{1,4})\s*(?P<word>struck\s*off|struck)?\s*[:,]?\s*(?P<why>.*)$",
    re.IGNORECASE,
)
_NAMES = {
    "place": "position",
    "position": "position",
    "kind": "kind",
    "matrix": "matrix",
    "oil": "matrix",
    "method": "method",
    "number": "number",
    "time": "time",
    "temperature": "cooler_celsius",
    "cooler": "cooler",
}


def hear_correction(turn: Turn, text: str) -> bool:
    """A second value for a field: struck in place when its author says so, beside when another does."""
    match = _IS.match(text) if " is " in text.lower() or " was " in text.lower() or "=" in text else None
    if match is None:
        return False
    field = _field(turn, match["field"])
    if field is not None and match["old"] is not None and _keep_early(turn, match["number"], text):
        return True
    if _tells_a_jar(turn, match["number"], text):
        return False
    sample = _sample_of(turn, match["number"])
    if field is None or sample is None:
        return sample is None or _say_unknown(turn, match["field"])
    read = _value(turn, field, match["new"].strip())
    if isinstance(read, Ask):
        turn.say(turn.word(read.key, **read.values))
        return True
    if isinstance(read, Unread):
        turn.write(sample.case, NoteMade(words=text))
        turn.say(turn.word("correct.unread", field=match["field"], new=match["new"][:40]))
        return True
    _apply(turn, sample, field, read, match["old"], reason(match["why"]))
    return True


def _tells_a_jar(turn: Turn, number: str, text: str) -> bool:
    """No jar of this number is there yet, and the words tell one: "04 oil is thick, 1002, seal 5104"."""
    read, case = read_number(number), turn.case
    if case is None or not isinstance(read, NumberTold) or turn.find(("number", case.name, read.key)):
        return False
    return len(scan(text, Source(turn.trade, turn.message)).facts) > 1


def _keep_early(turn: Turn, number: str, text: str) -> bool:
    """A correction that names the value it is against may come before its jar; it waits for it."""
    read = read_number(number)
    case = turn.case or (case_of_number(turn, read) if isinstance(read, NumberTold) else None)
    if case is None or not isinstance(read, NumberTold) or turn.find(("number", case.name, read.key)):
        return False
    turn.case = case
    turn.write(case.name, CorrectionKept(number_key=read.key, words=text))
    turn.say(turn.word("correct.early", number=number))
    return True


def apply_early(turn: Turn, sample: Sample) -> list[str]:
    """The author's corrections that came before this jar stand in it; the sentences that say so."""
    case = turn.case_named(sample.case)
    said: list[str] = []
    for early in case.early if case is not None else ():
        match = _IS.match(early.words)
        if (early.by, early.number_key) != (sample.declared_by, sample.number_key) or match is None:
            continue
        field = _field(turn, match["field"])
        told = None if field is None else turn.sample(sample.id).facts.get(field.id)
        read = None if field is None else _value(turn, field, match["new"].strip())
        if told is None or not isinstance(read, tuple) or not _names_same(match["old"], told.raw):
            continue
        if any(one.field == read[0].field for one in turn.sample(sample.id).corrections):
            continue  # its author has corrected it since
        said_us = max(early.said_us, turn.message.said_us)
        turn.message, before = turn.message.model_copy(update={"sent_us": said_us}), turn.message
        tell(turn, turn.sample(sample.id), read, reason(match["why"]) or "none given")
        turn.message = before
        names = {"number": label(turn, sample), "field": turn.word(f"sample.{read[0].field}.name")}
        why = reason(match["why"]) or ""
        key = "correct.seal" if read[0].field == "seal" else "correct.done"
        said.append(turn.word(key, **names, new=read[0].raw, old=told.raw, why=why))
    return said


def _sample_of(turn: Turn, number: str) -> Sample | None:
    read = read_number(number)
    if not isinstance(read, NumberTold):
        return None
    case = turn.case or case_of_number(turn, read)
    if case is None:
        ask_case(turn)
        return None
    turn.case = case
    samples = turn.find(("number", case.name, read.key))
    live = [s for s in samples if s.struck is None] or samples
    mine = [s for s in live if s.declared_by == turn.person.name]
    found = next(iter((mine or live)[-1:]), None)
    if found is None:
        turn.write(case.name, NoteMade(words=turn.text))
        turn.say(turn.word("jar.unknown", number=number))
    return found


def _field(turn: Turn, words: str) -> Field | None:
    name = words.lower().strip()
    table = turn.trade.table
    if name == "number":
        return Field(id="number", stage="now", reader="sample")
    return table.by_id.get(_NAMES.get(name, name.replace(" ", "_"))) or table.by_word.get(name)


def _say_unknown(turn: Turn, words: str) -> bool:
    turn.say(turn.word("correct.field", field=words[:24]))
    return True


def _value(turn: Turn, field: Field, words: str) -> Facts | Ask | Unread:
    if field.id == "number":
        read = read_number(words)
        return (fact("number", read.key, read.number),) if isinstance(read, NumberTold) else read
    return read_field(field, words, Source(turn.trade, turn.message))


def reason(words: str | None) -> str | None:
    """Human words of at least three letters, else none."""
    if words is None:
        return None
    return words.strip() if sum(1 for letter in words if letter.isalpha()) >= 3 else None


def _apply(turn: Turn, sample: Sample, field: Field, read: Facts, old: str | None, why: str | None) -> None:
    current = (
        sample.number
        if field.id == "number"
        else (sample.facts[field.id].raw if field.id in sample.facts else None)
    )
    if turn.person.name != sample.declared_by:
        turn.write(sample.case, AccountGiven(sample=sample.id, facts=read))
        turn.say(turn.word("jar.account", number=label(turn, sample), person=sample.declared_by))
    elif current is not None and _last_said(sample, field.id) > turn.message.said_us:
        turn.write(sample.case, EarlierStatementKept(sample=sample.id, facts=read))
        turn.say(turn.word("correct.earlier", number=label(turn, sample)))
    elif current is not None and read[0].raw.upper() == current.upper():
        _explain_again(turn, sample, field.id, why)
        read_back(turn, turn.sample(sample.id))
    elif old is not None and current is not None and not _names_same(old, current):
        hold(turn, sample)
        name = turn.word(f"sample.{field.id}.name")
        shown = old_words(turn, sample, field.id, current)
        turn.say(turn.word("correct.differs", number=label(turn, sample), field=name, old=old, current=shown))
    elif current is None:
        tell(turn, sample, read)
        read_back(turn, turn.sample(sample.id))
    else:
        _correct(turn, sample, read, current, why)


def _explain_again(turn: Turn, sample: Sample, field: str, why: str | None) -> None:
    """A correction told once more changes nothing, but its reason may come with it."""
    last = next((one for one in reversed(sample.corrections) if one.field == field), None)
    if why is not None and last is not None and last.why is None:
        explain(turn, sample, field, why)


def _last_said(sample: Sample, field: str) -> int:
    changes = [c.said_us for c in sample.corrections if c.field == field]
    return max(changes, default=sample.facts[field].said_us if field in sample.facts else sample.said_us)


def _names_same(said: str, current: str) -> bool:
    def core(words: str) -> str:
        return re.sub(r"[^a-z0-9]", "", words.lower())

    return core(said) == core(current) or core(current).endswith(core(said))


def _correct(turn: Turn, sample: Sample, read: Facts, current: str, why: str | None) -> None:
    first = read[0]
    explained = True
    if first.field == "number":
        explained = correct(turn, sample, first, why)
        _settle_number(turn, turn.sample(sample.id), sample.number_key)
        doubt_number(turn, turn.sample(sample.id))
    else:
        explained = tell(turn, sample, read, why).unexplained is None
    old = old_words(turn, sample, first.field, current)
    fresh = turn.sample(sample.id)
    queries = [query.text for query in fresh.queries if query.open and query.field == first.field]
    names = {"number": label(turn, fresh), "field": turn.word(f"sample.{first.field}.name")}
    if not explained:
        turn.note(sample=sample.id, about=first.field)
        ask(turn, "why", turn.word("correct.why", **names, new=first.raw, old=old))
        return
    hold(turn, fresh)
    key = "correct.seal" if first.field == "seal" else "correct.done"
    text = turn.word(key, **names, new=first.raw, old=old, why=why or "")
    turn.say(" ".join((text, *queries)), asks="query" if queries else None)


def _settle_number(turn: Turn, sample: Sample, old_key: str) -> None:
    """When one of two jars under a number takes another, the doubt about the one left alone is gone."""
    left = [s for s in turn.find(("number", sample.case, old_key)) if s.struck is None and s.id != sample.id]
    for one in left if len(left) == 1 else ():
        if one.number_open:
            turn.write(one.case, NumberSettled(sample=one.id))
        for query in one.queries:
            if query.open and query.rule == "number_twice":
                close_query(turn, one, query.id, "the other jar bears another number")


def settle_number(turn: Turn, sample: Sample, number: NumberTold) -> None:
    """The number that a human read off this jar is its own; its query is answered."""
    old_key = sample.number_key
    correct(turn, sample, fact("number", number.key, number.number), None)
    _settle_number(turn, turn.sample(sample.id), old_key)


def hear_struck(turn: Turn, text: str) -> bool:
    """A jar off the count: it stays visible, with the words that say why."""
    lower = text.lower()
    if "struck" not in lower and not lower.startswith("strike "):
        return False
    match = _STRUCK.match(text)
    if match is None or not (match["word"] or lower.startswith("strike ")):
        return False
    sample = _sample_of(turn, match["number"])
    if sample is None:
        return True
    _strike(turn, sample, text, reason(match["why"]) or "none given")
    return True


def _strike(turn: Turn, sample: Sample, text: str, why: str) -> None:
    """Its author strikes it; what others say of it stands beside it as theirs."""
    if turn.person.name != sample.declared_by:
        turn.write(sample.case, AccountGiven(sample=sample.id, facts=(fact("deviations", text, text),)))
        turn.say(turn.word("jar.account", number=label(turn, sample), person=sample.declared_by))
        return
    if sample.struck is None:
        turn.write(sample.case, SampleStruck(sample=sample.id, why=why))
    if turn.conversation.sample == sample.id:
        turn.note(walk=None, question=None, waiting=())
    why = turn.sample(sample.id).struck or why
    turn.say(turn.word("jar.struck", number=label(turn, sample), why=why))
