"""Advice on method, one line at the moment it helps; WHY says more. Advice, never an order."""

from __future__ import annotations

from ..model.sample import Sample
from ..rules.method import Advice
from .read_back import label
from .turn import Turn


def advice_for(turn: Turn, sample: Sample, told: dict[str, str] | None = None) -> Advice:
    """The row that fits what is told of the jar, and what was said of reach and amount."""
    said = told or {}
    situation = said.get("situation") or turn.trade.method.of_jar(sample)
    return turn.trade.method.pick(situation, said.get("access", ""), said.get("amount", ""))


def hear_situation(turn: Turn, text: str) -> bool:
    """While a jar is to be taken: words for reach, amount or place alone bring the advice that fits them."""
    sample_id = turn.conversation.sample
    told = turn.trade.method.read(text)
    if sample_id is None or told is None:
        return False
    sample = turn.sample(sample_id)
    turn.case = turn.case_named(sample.case)
    turn.note(about=text)
    row = advice_for(turn, sample, told)
    turn.say(turn.word(f"advice.{row.id}", number=label(turn, sample)), asks="take")
    return True


def hear_method(turn: Turn, rest: list[str]) -> bool:
    """METHOD and what one faces: the advice and its reasons, asked at any time."""
    told = turn.trade.method.read(" ".join(rest))
    if told is None or "situation" not in told:
        turn.say(turn.word("method.how"))
        return True
    row = turn.trade.method.pick(told["situation"], told.get("access", ""), told.get("amount", ""))
    if row.devices or row.id in ("close", "label", "material_blank"):
        turn.say(turn.word(f"advice.{row.id}", number=turn.word("method.advice")))
    turn.say(reasons(turn, row))
    return True


def reasons(turn: Turn, row: Advice) -> str:
    """Why it is done so, and what unused thing goes into a jar of its own."""
    why = turn.word(f"advice.{row.id}.why")
    return f"{why} {turn.word(f'method.blank.{row.blank}')}" if row.blank else why


def hear_why(turn: Turn, rest: list[str]) -> bool:
    """The reasons for the advice last given, or for how a jar is closed where its seal is asked for."""
    conversation = turn.conversation
    if conversation.sample is None or conversation.question not in ("take", "seal"):
        return False
    if conversation.question == "seal":
        turn.say(turn.word("advice.close.why"), asks="seal")
        return True
    told = turn.trade.method.read(conversation.about or "")
    turn.say(reasons(turn, advice_for(turn, turn.sample(conversation.sample), told)), asks="take")
    return True


def hear_litres(turn: Turn, rest: list[str]) -> bool:
    """Looks are never turned into litres here."""
    turn.say(turn.word("method.litres"), asks=turn.conversation.question)
    return True
