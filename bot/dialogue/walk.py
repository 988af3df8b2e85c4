"""A jar led by the hand: the next question is always computed from what is on record."""

from __future__ import annotations

from ..model.case import Case
from ..model.entries import NoteMade
from ..model.message import Choice
from ..model.sample import Sample
from ..model.times import HOUR_US
from ..rules.fields import Field
from .kit_walk import ask_item_again
from .method import advice_for
from .order import order_words
from .queries import kits_of
from .read_back import label, read_back
from .readers.base import Ask
from .turn import Turn

SAFETY = ("safety", "phone")
STEPS_BEFORE_TAKING = ("kind", "duplicate_of", "matrix", "tank")


def start_jar(turn: Turn) -> None:
    """The safety questions, or the number's, is open; an unfinished jar is parked as it stands."""
    case = turn.case
    if case is None:
        return
    turn.note(
        waiting=(),
        case=case.name,
        walk="sample",
        sample=None,
        question=None,
        skipped=(),
        trail=(),
        redo=None,
    )
    for question in SAFETY:
        if not _recently_answered(turn, case, question):
            ask(turn, question, turn.word(f"walk.{question}.ask"), _choices(turn, question))
            return
    ask_number(turn, case)


def _recently_answered(turn: Turn, case: Case, question: str) -> bool:
    answered = case.safety.get(f"{turn.person.name}/{question}")
    if answered is None or answered[1] == "no":
        return False
    return turn.message.received_us - answered[2] < turn.trade.limits.safety_hours * HOUR_US


def ask_number(turn: Turn, case: Case) -> None:
    """Asked for what is written on the lid; the next free numbers are an offer, nothing more."""
    offers = [
        turn.word("walk.number.offer", kit=kit.name, number=f"{free:02d}")
        for kit in kits_of(turn, case)
        if kit.numbers is not None and (free := _next_free(turn, case, kit.name, kit.numbers)) is not None
    ]
    text = turn.word("walk.number.ask", case=case.name, offers=" ".join(offers))
    ask(turn, "number", text.replace("  ", " "))


def _next_free(turn: Turn, case: Case, kit: str, block: tuple[int, int]) -> int | None:
    used = turn.used_numbers(case.name, kit)
    return next((number for number in range(block[0], block[1] + 1) if number not in used), None)


def ask(turn: Turn, question: str, text: str, choices: tuple[Choice, ...] = ()) -> None:
    """The question is open and its text goes out."""
    turn.note(question=question)
    turn.say(text, asks=question, choices=choices)


def ask_next(turn: Turn, sample: Sample, prefix: str = "") -> None:
    """The next question of this jar is open; with none left it is read back."""
    walk = "more" if turn.conversation.walk == "more" else "sample"
    turn.note(walk=walk, sample=sample.id, case=sample.case, about=None)
    field = next_field(turn, sample)
    if _is_time_to_take(turn, sample, field):
        prefix += "".join(f"{sentence} " for sentence in order_words(turn, sample))
        row = advice_for(turn, sample)
        ask(turn, "take", prefix + turn.word(f"advice.{row.id}", number=label(turn, sample)))
        return
    if field is None:
        turn.note(question=None)
        read_back(turn, sample, prefix)
        return
    ask_field(turn, sample, field, prefix)


def start_more(turn: Turn, sample: Sample) -> None:
    """The fields wanted by a transfer or a transmittal, and the optional ones, are asked for in turn."""
    turn.case = turn.case_named(sample.case)
    turn.note(walk="more", sample=sample.id, question=None, skipped=(), trail=(), redo=None)
    ask_next(turn, sample)


def next_field(turn: Turn, sample: Sample) -> Field | None:
    """The first field of the walk's stages that applies, holds nothing and was not skipped."""
    skipped = turn.conversation.skipped
    table = turn.trade.table
    for field in table.later if turn.conversation.walk == "more" else table.now:
        wanted = field.walked and field.instead_of is None
        instead = field.instead_of is not None and _is_without(turn, sample, field.instead_of)
        if not (wanted or instead) or field.id in skipped or field.id in sample.facts:
            continue
        if field.applies(sample) and not field.holds(sample):
            return field
    return None


def _is_without(turn: Turn, sample: Sample, field_id: str) -> bool:
    """True where it was skipped, or told as none: what is asked instead is then wanted."""
    return field_id in turn.conversation.skipped or sample.told(field_id).get("source") == "none"


def _is_time_to_take(turn: Turn, sample: Sample, field: Field | None) -> bool:
    """Everything before the gloves is asked, and nothing after them is told yet."""
    if turn.conversation.walk == "more" or "take" in turn.conversation.skipped:
        return False
    if field is not None and field.id in STEPS_BEFORE_TAKING:
        return False
    return not any(id_ in sample.facts for id_ in ("time", "method", "seal", "cooler"))


def ask_field(turn: Turn, sample: Sample, field: Field, prefix: str = "") -> None:
    """This field's question is open, its choices each with a digit."""
    choices = _choices(turn, field.id, field)
    variant = _variant(turn, sample, field)
    key = f"sample.{field.id}.ask.{variant}" if variant else f"sample.{field.id}.ask"
    text = turn.word(key, number=label(turn, sample))
    ask(turn, field.id, f"{prefix}{text} {listed_choices(choices)}".strip(), choices)


def _variant(turn: Turn, sample: Sample, field: Field) -> str:
    """Which wording of a question fits what the case's plan was told."""
    case = turn.case_named(sample.case)
    if case is not None and field.id == "tank" and case.plan.suspects:
        return "whose"
    if field.id == "method":
        return {"source": "drawn", "material_blank": "unused"}.get(sample.text("kind") or "", "")
    if case is not None and field.id == "seal" and case.plan.text("court") in ("yes", "unsure"):
        return "court"
    return ""


def listed_choices(choices: tuple[Choice, ...]) -> str:
    """Each choice behind its digit."""
    return " ".join(f"{place} {choice.label}" for place, choice in enumerate(choices, 1))


def _choices(turn: Turn, question: str, field: Field | None = None) -> tuple[Choice, ...]:
    if question == "phone":
        return tuple(Choice(id=answer, label=turn.word(f"choice.{answer}")) for answer in ("yes", "no"))
    if field is None:
        return ()
    return turn.trade.choices(field)


def mark_exercise(turn: Turn) -> None:
    """What is asked of a case that will be an exercise says so, before there is the case."""
    told = turn.conversation.answers.get("exercise") if turn.conversation.walk == "case" else None
    if told is not None and told.value == "exercise":
        turn.exercise = True


def resume_walk(turn: Turn) -> None:
    """What a walk asked before something else was asked for is asked again, computed anew."""
    conversation = turn.conversation
    if conversation.walk in ("sample", "more") and conversation.sample is not None:
        turn.case = turn.case_named(conversation.sample.rpartition("#")[0])
        ask_next(turn, turn.sample(conversation.sample), _said_before(turn))
    elif conversation.walk == "sample" and conversation.case is not None:
        turn.case = turn.case_named(conversation.case)
        start_jar(turn)


def _said_before(turn: Turn) -> str:
    answered = turn.take_back_answer()
    return "" if answered is None else f"{answered} "


def ask_back(turn: Turn, question: str, back: Ask, said: str, prefix: str) -> None:
    """What was half understood is asked for; the words said are kept, so that the other half is enough."""
    turn.note(about=said)
    choices = tuple(Choice(id=id_, label=turn.word(f"choice.{id_}")) for id_ in back.choices)
    ask(turn, question, f"{prefix}{turn.word(back.key, **back.values)}", choices)


def ask_again(turn: Turn, prefix: str) -> None:
    """The open question stays open and is said again after a sentence."""
    conversation = turn.conversation
    question = conversation.question
    field = turn.trade.table.by_id.get(question or "")
    if question in SAFETY:
        ask(turn, question, f"{prefix} {turn.word(f'walk.{question}.ask')}".strip(), _choices(turn, question))
    elif conversation.walk == "kit":
        ask_item_again(turn, prefix)
    elif question == "number" and turn.case is not None:
        turn.say(f"{prefix} {turn.word('walk.number.again')}", asks="number")
    elif conversation.sample is not None and field is not None:
        ask_field(turn, turn.sample(conversation.sample), field, f"{prefix} ")
    elif (question or "").startswith(("case.", "plan.")):
        _ask_of_case(turn, question or "", prefix)
    else:
        turn.say(f"{prefix} {_asked_of(turn, question or '')}".strip(), asks=question)


def _asked_of(turn: Turn, question: str) -> str:
    """What a question that is no field of a jar wants; empty where only its own text can say it."""
    match question:
        case "take":
            return turn.word("walk.take.help")
        case "renumber":
            return turn.word("walk.number.again")
        case "case_pick":
            return turn.word("case.which", names=" ".join(case.name for case in turn.open_cases()[:8]))
    return ""


def skip_field(turn: Turn, words: str = "") -> bool:
    """The open field stays not stated, for the reason in these words, and the walk goes on."""
    conversation = turn.conversation
    if conversation.sample is None:
        return False
    sample = turn.sample(conversation.sample)
    if words:
        turn.write(sample.case, NoteMade(words=f"{sample.number} {conversation.question}: {words}"))
    turn.note(skipped=(*conversation.skipped, conversation.question or ""))
    ask_next(turn, sample)
    return True


def come_back(turn: Turn, asked: str | None, about: str | None) -> None:
    """After a side question the walk's own, still open as before, is put again in the same text."""
    conversation = turn.conversation
    if asked is None or turn.hushed or (conversation.question, conversation.sample) != (asked, about):
        return
    of_jar = asked in (*SAFETY, "number") or asked in turn.trade.table.by_id
    if not (of_jar or asked.startswith(("case.", "plan."))):
        return  # the jar is being taken, or a word is waited for that only its own text explains
    case = conversation.case if about is None else about.rpartition("#")[0]
    turn.case = turn.case_named(case or "") or turn.case
    answered = turn.take_back_answer()
    if answered is not None:
        ask_again(turn, answered if answered.endswith((".", "?", ":")) else f"{answered}.")


def _ask_of_case(turn: Turn, question: str, prefix: str) -> None:
    """A question about a case or its plan, said again with its choices."""
    mark_exercise(turn)
    sort, _, name = question.partition(".")
    asked = next((f for f in turn.trade.case_table.field if f.id == name), None)
    choices = () if asked is None else turn.trade.choices(asked)
    about = turn.conversation.about or ""
    if turn.conversation.walk == "refusal" and turn.case is not None and about.isdecimal():
        about = turn.case.plan.refused[int(about)].what
    text = turn.word(f"plan.{name}.ask" if sort == "plan" else f"case.{name}.ask", name=about)
    ask(turn, question, f"{prefix} {text} {listed_choices(choices)}".strip(), choices)
