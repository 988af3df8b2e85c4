"""What is told goes on record: which jar it speaks of, what is new, corrected, or stands beside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from ..model.base import JsonValue
from ..model.case import Case
from ..model.cold import OF_COOLER
from ..model.entries import (
    UNIT_CHAIN,
    AccountGiven,
    CoolerRead,
    CorrectionExplained,
    EarlierStatementKept,
    FactTold,
    PhotoDeclared,
    QueryClosed,
    QueryRaised,
    SampleCorrected,
    SampleDeclared,
    SampleTold,
)
from ..model.sample import Fact, Sample
from ..model.times import iso_utc
from ..rules.seals import is_blind
from .cold_struck import FOLLOWED, explain_cooler, follow_jar
from .custody.settle import answer_difference
from .forecast_asked import ask_forecast
from .queries import findings, wording_of
from .readers.words import NumberTold
from .speakers import mark_seal
from .turn import Turn


@dataclass(frozen=True)
class Placed:
    """Which jar a number speaks of: `fresh` when this text declared it, `apart` when kept apart."""

    sample: Sample
    fresh: bool = False
    apart: bool = False
    account: bool = False


class Told(NamedTuple):
    """What telling did: fields that hold a second value, and the queries raised."""

    sample: Sample
    corrected: tuple[str, ...] = ()
    unexplained: str | None = None
    queries: tuple[str, ...] = ()


def place(turn: Turn, case: Case, number: NumberTold, facts: tuple[FactTold, ...]) -> Placed:
    """The jar that these facts belong to; a second jar of one number is declared and kept apart."""
    seal = _seal_of(facts)
    if seal is not None:
        same_seal = [s for s in turn.find(("seal", seal.upper())) if s.struck is None and s.case == case.name]
        same_seal = [s for s in same_seal if not is_blind(s, turn.person.name)]
        for sample in same_seal:
            if sample.declared_by != turn.person.name or sample.number_key == number.key:
                return Placed(sample, account=sample.declared_by != turn.person.name)
    numbered = turn.find(("number", case.name, number.key))
    for sample in numbered:
        if sample.declared_by == turn.person.name and sample.struck is None and not _another(sample, facts):
            return Placed(sample)
    others = [sample for sample in numbered if sample.struck is None]
    if others and not {"kind", "seal", "time"} & {fact.field for fact in facts}:
        return Placed(others[0], account=others[0].declared_by != turn.person.name)
    if numbered:
        return _declare_apart(turn, case, number, numbered)
    return Placed(declare(turn, case, number), fresh=True)


def declare(turn: Turn, case: Case, number: NumberTold, apart_from: str | None = None) -> Sample:
    """The jar is on record under the number as it was typed."""
    sample_id = turn.next_id(case.name)
    body = SampleDeclared(
        sample=sample_id, number=number.number, number_key=number.key, apart_from=apart_from
    )
    turn.write(case.name, body)
    return turn.sample(sample_id)


def _declare_apart(turn: Turn, case: Case, number: NumberTold, others: list[Sample]) -> Placed:
    """Both jars bear the query: the number belongs to neither until a human says which."""
    sample = declare(turn, case, number, apart_from=others[0].id)
    doubt_number(turn, sample)
    return Placed(turn.sample(sample.id), fresh=True, apart=True)


def doubt_number(turn: Turn, sample: Sample) -> None:
    """Every jar told under this one's number bears the query, where there is more than one."""
    numbered = turn.find(("number", sample.case, sample.number_key))
    text = turn.word("query.number_twice", number=sample.number)
    for one in numbered if len(numbered) > 1 else ():
        if one.struck is None and not any(q.open and q.rule == "number_twice" for q in one.queries):
            raise_query(turn, one, "number", "number_twice", text)


def _another(sample: Sample, facts: tuple[FactTold, ...]) -> bool:
    """True where its own author's words cannot be about this jar: another seal, or another time and kind."""
    told = {fact.field: fact.value for fact in facts}
    seal = _seal_of(facts)
    struck = {str(one.old).upper() for one in sample.corrections if one.field == "seal"}
    if seal is not None and sample.seal is not None and seal.upper() not in {sample.seal.upper(), *struck}:
        return bool({"kind", "time", "position"} & told.keys())
    at = told.get("time")
    other_time = isinstance(at, dict) and sample.event_us not in (None, at["at_us"])
    return other_time and ("kind" in told or seal is not None)


def _seal_of(facts: tuple[FactTold, ...]) -> str | None:
    for fact in facts:
        if fact.field == "seal" and isinstance(fact.value, dict) and fact.value.get("number"):
            return str(fact.value["number"])
    return None


def tell(turn: Turn, sample: Sample, facts: tuple[FactTold, ...], why: str | None = None) -> Told:
    """Each fact is on record: new, as a correction, beside a later one, or as another's account."""
    if turn.person.name != sample.declared_by:
        turn.write(sample.case, AccountGiven(sample=sample.id, facts=facts))
        return Told(turn.sample(sample.id))
    photos = [fact for fact in facts if fact.field == "photo"]
    facts = tuple(fact for fact in facts if fact.field != "photo")
    for photo in photos:
        _declare_photos(turn, sample, photo)
    new = tuple(fact for fact in facts if fact.field not in sample.facts)
    if new:
        _tell_new(turn, sample, new)
    again, unexplained = ((), None) if len(new) == len(facts) else _tell_again(turn, sample, facts, why)
    _note_cooler(turn, turn.sample(sample.id), new)  # in the cooler that these words leave it in
    queries = _query(turn, turn.sample(sample.id), {*again, *(fact.field for fact in new)})
    return Told(turn.sample(sample.id), again, unexplained, queries)


def _tell_new(turn: Turn, sample: Sample, new: tuple[FactTold, ...]) -> None:
    turn.write(sample.case, SampleTold(sample=sample.id, facts=new), event=_event_of(new))
    _foresee_cooler(turn, turn.sample(sample.id), new)
    if any(fact.field == "seal" for fact in new):
        mark_seal(turn, turn.sample(sample.id))


def _tell_again(
    turn: Turn, sample: Sample, facts: tuple[FactTold, ...], why: str | None
) -> tuple[tuple[str, ...], str | None]:
    """The fields that hold a second value now, and the one whose reason is owed; earlier words are kept."""
    known = [fact for fact in facts if fact.field in sample.facts]
    second = [fact for fact in known if not _same(sample.facts[fact.field], fact)]
    late = tuple(fact for fact in second if sample.facts[fact.field].said_us > turn.message.said_us)
    if late:
        turn.write(sample.case, EarlierStatementKept(sample=sample.id, facts=late))
    now = [fact for fact in second if fact not in late]
    unexplained = None
    for fact in now:
        if not correct(turn, turn.sample(sample.id), fact, why):
            unexplained = fact.field
    return tuple(fact.field for fact in now), unexplained


def _note_cooler(turn: Turn, sample: Sample, new: tuple[FactTold, ...]) -> None:
    """The check bottle's reading as a jar goes in is one of the cooler's readings too."""
    told = next((fact for fact in new if fact.field == "cooler_celsius"), None)
    name = sample.text("cooler")
    if told is None or name is None or not isinstance(told.value, dict):
        return
    since = sample.instant("in_cold_at")
    at_us, at = since or (turn.message.said_us, iso_utc(turn.message.said_us))
    body = CoolerRead(
        cooler=turn.cooler_named(name),
        celsius=told.value["celsius"],
        raw=told.raw,
        at=at,
        at_us=at_us,
        unit_derived=told.value["unit_derived"],
        for_sample=sample.id,
    )
    turn.write(UNIT_CHAIN, body, event=at)


def _foresee_cooler(turn: Turn, sample: Sample, told: tuple[FactTold, ...]) -> None:
    """A jar that went in, or its reading, makes another forecast, as a move and a cooler's own line do."""
    name = sample.text("cooler") if any(fact.field in OF_COOLER for fact in told) else None
    if name is not None:
        ask_forecast(turn, turn.cooler_named(name))


def _declare_photos(turn: Turn, sample: Sample, fact: FactTold) -> None:
    """Photos announced in words are listed as missing until their files come."""
    wanted = fact.value.get("declared") if isinstance(fact.value, dict) else 1
    for _ in range(max(0, (wanted if isinstance(wanted, int) else 1) - len(sample.photos))):
        turn.write(sample.case, PhotoDeclared(sample=sample.id))


def would_change(sample: Sample, facts: tuple[FactTold, ...]) -> bool:
    """True where these words would put a second value in a field that nobody queried."""
    queried = {query.field for query in sample.queries if query.open}
    return any(
        fact.field in sample.facts and fact.field not in queried and not _same(sample.facts[fact.field], fact)
        for fact in facts
    )


def _same(fact: Fact, told: FactTold) -> bool:
    """The value already stands; how it was typed does not matter."""
    before, after = fact.value, told.value
    if told.field == "seal":
        return fact.raw.upper() == told.raw.upper()
    if isinstance(before, dict) and isinstance(after, dict):
        core = ("at_us",) if "at_us" in before else tuple(before)
        return all(before.get(key) == after.get(key) for key in core if not key.startswith(("source", "acc")))
    return before == after


def _event_of(facts: tuple[FactTold, ...]) -> str | None:
    for fact in facts:
        if fact.field == "time" and isinstance(fact.value, dict):
            return str(fact.value["at"])
    return None


def correct(turn: Turn, sample: Sample, fact: FactTold, why: str | None) -> bool:
    """The second value stands and the first is struck in place. False where its reason is still owed."""
    old = sample.number if fact.field == "number" else sample.facts[fact.field].raw
    query = next((q for q in sample.queries if q.open and q.field == fact.field), None)
    sort = "correction"
    if query is not None and why is None and not sample.confirmed:
        sort, why = "reentered", f"re-entered on query: {query.rule}"
    body = SampleCorrected(sample=sample.id, field=fact.field, old=old, fact=fact, why=why, sort=sort)
    turn.write(sample.case, body, event=_event_of((fact,)))
    follow_jar(turn, sample, fact, why)
    if fact.field == "seal":
        mark_seal(turn, turn.sample(sample.id))
    if fact.field == "cooler":
        for name in (sample.text("cooler"), fact.value):  # out of one, into the other
            ask_forecast(turn, turn.cooler_named(str(name)))
    for open_query in [q for q in sample.queries if q.open and q.field == fact.field]:
        close_query(turn, sample, open_query.id, "told again")
    if fact.field == "seal" and sample.offer is not None and sample.offer.differs:
        answer_difference(turn, turn.sample(sample.id), f"corrected: {fact.raw}", None)
    return why is not None


def explain(turn: Turn, sample: Sample, field: str, why: str | None) -> None:
    """The last correction of this field has its reason, or is marked as having none."""
    turn.write(sample.case, CorrectionExplained(sample=sample.id, field=field, why=why))
    name = sample.text("cooler")
    if field in FOLLOWED and name is not None:
        explain_cooler(turn, turn.cooler_named(name), why)


def raise_query(turn: Turn, sample: Sample, field: str, rule: str, text: str) -> str:
    """The difference is on record with the jar."""
    query = f"Q{len(turn.sample(sample.id).queries) + 1}"
    turn.write(sample.case, QueryRaised(sample=sample.id, query=query, field=field, rule=rule, text=text))
    return text


def close_query(turn: Turn, sample: Sample, query: str, how: str) -> None:
    """A person answered it."""
    turn.write(sample.case, QueryClosed(sample=sample.id, query=query, how=how))


def _query(turn: Turn, sample: Sample, changed: set[str]) -> tuple[str, ...]:
    """What in the changed fields differs from a rule: one query a field, so that one answer serves it."""
    by_field: dict[str, list[tuple[str, str]]] = {}
    for finding in findings(turn, sample, changed):
        by_field.setdefault(finding.field, []).append((finding.rule, wording_of(turn, finding)))
    texts = []
    for field, found in by_field.items():
        rules = "+".join(rule for rule, _ in found)
        text = " ".join(words for _, words in found)
        texts.append(raise_query(turn, sample, field, rules, text))
    return tuple(texts)


def fact(field: str, value: JsonValue, raw: str) -> FactTold:
    """A fact as told."""
    return FactTold(field=field, value=value, raw=raw)
