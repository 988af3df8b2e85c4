"""OK: the author agrees to what was read back, or says that a queried value stands."""

from __future__ import annotations

from ..model.entries import SampleConfirmed
from ..model.sample import Sample
from ..model.times import HOUR_US, MINUTE_US
from .cold_struck import OF_COOLER, said_why
from .keywords import SKIPS
from .read_back import label, missing_names, read_back
from .record import close_query, explain
from .turn import Turn
from .walk import ask, ask_again, ask_next

SLACK_US = 2 * MINUTE_US  # phones' clocks differ by this much
OFFERED_WITHIN_US = 2 * HOUR_US  # an unfinished jar older than this waits for the digest


def hear_ok(turn: Turn, numbers: list[str]) -> bool:
    """OK alone is about the jars last shown, OK with numbers about those."""
    samples = _named(turn, numbers) if numbers else [turn.sample(id_) for id_ in turn.conversation.waiting]
    mine = [s for s in samples if s.declared_by == turn.person.name and s.struck is None]
    if not mine:
        return _nothing_waits(turn)
    turn.case = turn.case_named(mine[0].case)
    if turn.message.said_us < turn.conversation.shown_us - SLACK_US:
        read_back(turn, mine[-1])  # the OK was sent before its author could see this
        return True
    queried = [s for s in mine if s.open_query is not None and s.open_query.rule != "number_twice"]
    if queried:
        _let_stand(turn, queried[0])
    elif _is_being_asked_about(turn, mine):
        ask_again(turn, turn.word("ok.not_yet"))
    else:
        confirm(turn, mine)
    return True


def _nothing_waits(turn: Turn) -> bool:
    if turn.conversation.question is not None:
        ask_again(turn, turn.word("ok.not_yet"))
    else:
        turn.say(turn.word("ok.nothing"))
    return True


def _is_being_asked_about(turn: Turn, samples: list[Sample]) -> bool:
    """A question about one of these jars is open: it was not read back since."""
    conversation = turn.conversation
    return conversation.question is not None and conversation.sample in {sample.id for sample in samples}


def _named(turn: Turn, keys: list[str]) -> list[Sample]:
    case = turn.case
    if case is None:
        return []
    return [sample for key in keys for sample in turn.find(("number", case.name, key))]


def _let_stand(turn: Turn, sample: Sample) -> None:
    """The value stands as told and the query stays visible with this answer."""
    for query in sample.queries:
        if query.open and query.rule != "number_twice":
            close_query(turn, sample, query.id, "stands as told")
    noted = turn.word("query.stands") + " "
    if turn.conversation.walk in ("sample", "more") and turn.conversation.sample == sample.id:
        turn.note(skipped=(*turn.conversation.skipped, turn.conversation.question or ""))
        ask_next(turn, turn.sample(sample.id), noted)
    else:
        read_back(turn, turn.sample(sample.id), noted)


def confirm(turn: Turn, samples: list[Sample]) -> None:
    """These jars are confirmed; what each still waits for is said in the same text."""
    for sample in samples:
        if not sample.confirmed:
            turn.write(sample.case, SampleConfirmed(sample=sample.id))
    last = turn.sample(samples[-1].id)
    numbers = " ".join(label(turn, sample) for sample in samples)
    sentences = [turn.word("ok.on_record", numbers=numbers)]
    missing = missing_names(last, turn.trade) if len(samples) == 1 else []
    if missing:
        sentences.append(turn.word("ok.not_stated", missing=", ".join(missing)))
    if any(sample.evidence_number is None for sample in samples):
        sentences.append(turn.word("ok.evidence" if len(samples) == 1 else "ok.evidence.many"))
    if last.case not in turn.conversation.told and _lacks_background(turn, last):
        turn.note(told=(*turn.conversation.told[-9:], last.case))
        sentences.append(turn.word("ok.background"))
    aside = turn.conversation.question is not None and turn.conversation.sample not in {s.id for s in samples}
    if aside:
        turn.note(waiting=())
        ask_again(turn, " ".join(sentences))  # the open question is another jar's and stays open
        return
    turn.note(waiting=(), walk=None, question=None, sample=samples[-1].id, trail=())
    parked = next(iter(_parked(turn, samples)), None)
    if parked is not None:
        turn.note(sample=parked.id, walk="sample", offered=(*turn.conversation.offered[-40:], parked.id))
        lacks = ", ".join(missing_names(parked, turn.trade)[:3])
        sentences.append(turn.word("walk.resume.ask", number=label(turn, parked), missing=lacks))
        ask(turn, "resume", " ".join(sentences))
        return
    turn.say(" ".join(sentences))


def _lacks_background(turn: Turn, sample: Sample) -> bool:
    if sample.text("kind") not in ("spill", "source"):
        return False
    case = turn.case_named(sample.case)
    gone = case.plan.refused + case.plan.impossible if case is not None else ()
    if any(one.what == "background" for one in gone):
        return False
    return not turn.find(("kind", sample.case, "background"))


def _parked(turn: Turn, done: list[Sample]) -> list[Sample]:
    """This person's unfinished jars that were not offered back yet: each is offered once."""
    ids = {sample.id for sample in done}
    mine = turn.find(("open", turn.person.name))
    return [
        sample
        for sample in mine
        if sample.id not in ids
        and sample.id not in turn.conversation.offered
        and turn.message.received_us - sample.received_us < OFFERED_WITHIN_US
        and sample.case == (turn.case.name if turn.case else None)
        and missing_names(sample, turn.trade)
    ]


def answer_why(turn: Turn, text: str) -> None:
    """The reason is on record in its author's words; a mark without words is asked for once more."""
    conversation = turn.conversation
    cooler = (conversation.about or "").removeprefix(OF_COOLER)
    of_cooler = cooler != conversation.about
    if conversation.about is None or (conversation.sample is None and not of_cooler):
        return
    letters = sum(1 for letter in text if letter.isalpha())
    skipped = text.lower() in SKIPS
    if letters < 3 and conversation.redo != "why":
        turn.note(redo="why")
        turn.say(turn.word("correct.why.again"), asks="why")
        return
    field, why = conversation.about, text if letters >= 3 and not skipped else None
    turn.note(question=None, about=None, redo=None)
    if of_cooler:
        said_why(turn, cooler, why)
    elif conversation.sample is not None:
        explain(turn, turn.sample(conversation.sample), field, why)
        read_back(turn, turn.sample(conversation.sample))
