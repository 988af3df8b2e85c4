"""The plan's questions, one at a time, asked when the plan is asked for; skipped ones are not asked again."""

from __future__ import annotations

from collections.abc import Iterator

from ..model.base import JsonValue
from ..model.case import Case
from ..model.entries import FactTold, PlanTold
from ..rules.fields import Field
from ..rules.roles import Action, may
from .keywords import NO, SKIPS
from .plan_text import say_plan
from .plan_told import name_suspect, read_suspects, read_tanks
from .readers.base import Ask, Unread
from .readings import Source, read_field
from .turn import Turn
from .walk import ask, listed_choices

NOBODY = frozenset(
    ("none", "no", "nobody", "no one", "nothing", "no other", "done", "n", "unknown", "not known", *NO)
)
TANKS_ASKED = 6  # suspects whose tanks are asked for one by one; common practice, no source


def start_plan(turn: Turn, case: Case) -> None:
    """The plan is said, after the questions that it still lacks; an open question stays open."""
    if turn.conversation.question is None and may(turn.person, Action.PLAN):
        turn.note(walk="plan", sample=None, skipped=(), trail=(), about=None, waiting=(), case=case.name)
        ask_next_plan(turn, case)
    else:
        say_plan(turn, case)


def _open_fields(case: Case, fields: dict[str, Field]) -> Iterator[tuple[Field, str]]:
    """Each question not answered yet, with the suspect whose tanks it asks for."""
    plan = case.plan
    for field in fields.values():
        if field.id == "tanks":
            bare = [one.name for one in plan.suspects.values() if not one.tanks and one.left is None]
            few = bare if len(bare) <= TANKS_ASKED else []
            yield from ((field, name) for name in few if f"tanks {name}" not in plan.told)
        elif field.id == "neighbours" and not plan.suspects:
            continue  # whose neighbours?
        elif field.id not in plan.told and field.applies(plan):
            yield field, ""


def ask_next_plan(turn: Turn, case: Case, prefix: str = "") -> None:
    """The next question is open; after the last the plan is said."""
    field, name = next(_open_fields(case, turn.trade.case_table.planned), (None, ""))
    if field is None:
        turn.note(walk=None, question=None, about=None, trail=())
        say_plan(turn, case, prefix)
        return
    turn.note(about=name or None)
    choices = turn.trade.choices(field)
    text = turn.word(f"plan.{field.id}.ask", name=name)
    ask(turn, f"plan.{field.id}", f"{prefix}{text} {listed_choices(choices)}".strip(), choices)


def answer_plan(turn: Turn, text: str) -> bool:
    """The answer is on record, or said not to be read and asked again."""
    case = turn.case or turn.case_named(turn.conversation.case or "")
    field = turn.trade.case_table.planned.get((turn.conversation.question or "").partition(".")[2])
    if case is None or field is None:
        return False
    turn.case = case
    refusal = _take(turn, case, field, text)
    case = turn.case_named(case.name) or case
    if not refusal:
        turn.note(trail=(*turn.conversation.trail, f"{field.id} {turn.conversation.about or ''}".strip()))
    if refusal or turn.conversation.walk == "plan":
        ask_next_plan(turn, case, f"{refusal} " if refusal else "")
    return True


def _take(turn: Turn, case: Case, field: Field, text: str) -> str:
    """What stands in the way of the answer, in words; empty where it is on record."""
    if text.lower() in SKIPS:
        return _tell(turn, case, _name_of(turn, field), None, text)
    if field.id in ("suspects", "neighbours"):
        return _take_suspects(turn, case, field, text)
    if field.id == "tanks":
        name = turn.conversation.about or ""
        tanks = () if text.lower() in NOBODY else read_tanks(text)
        if tanks:
            name_suspect(turn, case, name, tanks, text)
        return _tell(turn, case, f"tanks {name}", " ".join(tanks) or None, text)
    if field.id == "shore":
        return _take_shores(turn, case, text)
    read = read_field(field, text, Source(turn.trade, turn.message))
    if isinstance(read, (Ask, Unread)):
        return turn.word("read.unread", words=text[:40])
    return _tell(turn, case, field.id, read[0].value, text)


def answer_field(turn: Turn, case: Case, word: str, text: str) -> bool:
    """`PLAN OIL THICK`: one thing of the plan told by its word; False where the word is none."""
    field = turn.trade.case_table.planned.get(word)
    if field is None or field.id == "tanks" or not text:
        return False
    refusal = _take(turn, case, field, text)
    if refusal:
        turn.say(refusal)
    else:
        say_plan(turn, turn.case_named(case.name) or case)
    return True


def _name_of(turn: Turn, field: Field) -> str:
    return f"tanks {turn.conversation.about}" if field.id == "tanks" else field.id


def _tell(turn: Turn, case: Case, field: str, value: JsonValue, raw: str) -> str:
    turn.write(case.name, PlanTold(facts=(FactTold(field=field, value=value, raw=raw),)))
    return ""


def _take_suspects(turn: Turn, case: Case, field: Field, text: str) -> str:
    if text.lower().rstrip(".") in NOBODY:
        return _tell(turn, case, field.id, None, text)
    read = read_suspects(text, case.plan)
    if isinstance(read, Ask):
        return turn.word(read.key, **read.values)
    for name, tanks in read:
        name_suspect(turn, turn.case_named(case.name) or case, name, tanks, text[:400])
    return _tell(turn, case, field.id, len(read), text[:400])


def _take_shores(turn: Turn, case: Case, text: str) -> str:
    words = set(text.lower().replace(",", " ").replace(".", " ").split())
    shores = [shore.id for shore in turn.trade.plan_table.shore if words & set(shore.words)]
    if not shores and text.lower().rstrip(".") not in NOBODY:
        return turn.word("read.unread", words=text[:40])
    return _tell(turn, case, "shore", " ".join(shores) or None, text)


def redo_plan(turn: Turn) -> None:
    """The last answer of this walk is asked for again; the new one stands beside it, both on record."""
    case = turn.case or turn.case_named(turn.conversation.case or "")
    if case is None:
        return
    turn.case = case
    trail = turn.conversation.trail
    if not trail:
        ask_next_plan(turn, case, turn.word("wrong.first") + " ")
        return
    field, _, name = trail[-1].partition(" ")
    turn.note(trail=trail[:-1], about=name or None)
    choices = turn.trade.choices(turn.trade.case_table.planned[field])
    text = turn.word(f"plan.{field}.ask", name=name)
    ask(turn, f"plan.{field}", f"{text} {listed_choices(choices)}".strip(), choices)
