"""Opening a case by answering questions; open cases are shown first, a person says which it is."""

from __future__ import annotations

from ..model.entries import CaseOpened
from ..model.times import DAY_US, iso_utc
from ..rules.fields import Field
from .keywords import SKIPS
from .kit_case import kit_news
from .readers.base import Ask, Unread
from .readings import Source, read_field
from .turn import Turn
from .walk import listed_choices, mark_exercise


def start_case(turn: Turn) -> None:
    """The first question is open; cases of the last day are named before another is opened."""
    recent = [case.name for case in turn.open_cases() if turn.message.received_us - case.opened_us < DAY_US]
    turn.note(walk="case", question=None, sample=None, answers={}, skipped=(), trail=())
    turn.case = None
    prefix = turn.word("case.recent", names=" ".join(recent[:6])) + " " if recent else ""
    ask_next_case(turn, prefix)


def ask_next_case(turn: Turn, prefix: str = "") -> None:
    """The next unanswered question of the walk is open; after the last the case is opened."""
    conversation = turn.conversation
    for field in turn.trade.case_table.opening:
        if field.id not in conversation.answers and field.id not in conversation.skipped:
            _ask(turn, field, prefix)
            return
    _open(turn)


def _ask(turn: Turn, field: Field, prefix: str) -> None:
    mark_exercise(turn)
    choices = turn.trade.choices(field)
    turn.note(question=f"case.{field.id}")
    turn.say(
        f"{prefix}{turn.word(f'case.{field.id}.ask')} {listed_choices(choices)}".strip(),
        asks=f"case.{field.id}",
        choices=choices,
    )


def answer_case(turn: Turn, text: str) -> None:
    """The answer is kept with the walk; what cannot be used is said and asked again."""
    field = next(f for f in turn.trade.case_table.opening if f"case.{f.id}" == turn.conversation.question)
    lower = text.lower()
    if lower in SKIPS:
        if field.id in ("name", "exercise"):
            _ask(turn, field, turn.word("case.needed") + " ")
            return
        turn.note(skipped=(*turn.conversation.skipped, field.id))
        ask_next_case(turn)
        return
    read = read_field(field, text, Source(turn.trade, turn.message))
    if isinstance(read, Ask):
        turn.say(turn.word(read.key, **read.values), asks=turn.conversation.question)
        return
    if isinstance(read, Unread):
        _ask(turn, field, turn.word("read.unread", words=text[:40]) + " ")
        return
    if field.id == "name" and _taken(turn, text):
        _ask(turn, field, turn.word("case.taken", name=text) + " ")
        return
    turn.note(
        answers={**turn.conversation.answers, field.id: read[0]},
        trail=(*turn.conversation.trail, field.id),
    )
    ask_next_case(turn)


def _taken(turn: Turn, name: str) -> bool:
    return bool(turn.board.cases_like(name)) or name.upper() == "UNIT" or " " in name or "#" in name


def redo_case(turn: Turn) -> None:
    """The last answer is taken back and asked again."""
    trail = turn.conversation.trail
    if not trail:
        ask_next_case(turn, turn.word("wrong.first") + " ")
        return
    answers = {key: value for key, value in turn.conversation.answers.items() if key != trail[-1]}
    turn.note(answers=answers, trail=trail[:-1])
    ask_next_case(turn)


def _open(turn: Turn) -> None:
    answers = turn.conversation.answers
    name = answers["name"].raw
    kit = answers["kit"].raw if "kit" in answers else ""
    kits = tuple(word for word in kit.replace(",", " ").split() if word in turn.board.unit.kits)
    going = answers["going"].raw if "going" in answers else ""
    named = {word.strip(",.;") for word in going.split()} & set(turn.board.unit.people)
    body = CaseOpened(
        name=name,
        exercise=answers["exercise"].value == "exercise",
        people=tuple(sorted(named | {turn.person.name})),
        kits=kits,
        opened=iso_utc(turn.message.said_us),
        told=answers,
    )
    turn.write(name, body, event=body.opened)
    turn.case = turn.case_named(name)
    turn.note(walk=None, question=None, answers={}, skipped=(), trail=(), case=name)
    news = kit_news(turn, turn.case, kit) if turn.case is not None else []
    turn.say(" ".join((turn.word("case.opened", name=name), *news)))
