"""What is on record of a jar, compact, in the words it was told in, and what is not stated."""

from __future__ import annotations

import re
from datetime import timedelta, timezone

from ..model.message import Choice
from ..model.sample import Fact, Sample
from ..model.times import utc
from ..rules.seals import is_blind
from .turn import Trade, Turn

_DIGITS = re.compile(r"[-+]?\d+(?:[.,]\d+)?")
_MINUS = re.compile(r"\bminus ", re.IGNORECASE)


def clock_text(value: object, trade: Trade, now_us: int) -> str:
    """HH:MM in the offset it stands in; with its date where that is not today's in the unit's zone."""
    if not isinstance(value, dict):
        return ""
    at = utc(value["at_us"]).astimezone(timezone(timedelta(minutes=value["offset_minutes"])))
    today = utc(now_us).astimezone(trade.zone).date()
    shown = at.strftime("%H:%M")
    if at.date() != today:
        shown = f"{at.day} {trade.words.say(f'month.{at.month}')} {shown}"
    return f"about {shown}" if value.get("estimate") else shown


def clock_at(us: int, trade: Trade, now_us: int) -> str:
    """`clock_text` of an instant, in the unit's zone."""
    offset = utc(us).astimezone(trade.zone).utcoffset()
    minutes = 0 if offset is None else round(offset.total_seconds() / 60)
    return clock_text({"at_us": us, "offset_minutes": minutes}, trade, now_us)


def as_typed(raw: str) -> str:
    """A temperature with its digits as typed: 4.4 C, or 39.9 F where that was said."""
    digits = _DIGITS.search(_MINUS.sub("-", raw))
    unit = "F" if raw.rstrip().lower().endswith("f") else "C"
    return f"{digits.group() if digits else raw} {unit}"


def _cooler(sample: Sample, trade: Trade, now_us: int) -> str:
    text = str(sample.value("cooler"))
    reading, since = sample.facts.get("cooler_celsius"), sample.facts.get("in_cold_at")
    if reading is not None:
        text += f" {as_typed(reading.raw)}"
    if since is not None:
        text += f" {trade.words.say('part.at')} {clock_text(since.value, trade, now_us)}"
    return trade.words.say("part.cooler", value=text)


def _photos(sample: Sample, trade: Trade) -> str:
    received = sum(1 for photo in sample.photos if photo.state == "received")
    waiting = len(sample.photos) - received
    parts = []
    if received:
        parts.append(trade.words.say("part.photo" if received == 1 else "part.photos", count=received))
    if waiting:
        parts.append(trade.words.say("part.photos_waiting", count=waiting))
    return ", ".join(parts)


def part_text(field_id: str, sample: Sample, trade: Trade, now_us: int) -> str:
    """One field as the read-back shows it, empty where nothing was told."""
    if field_id == "photo":
        return _photos(sample, trade)
    fact = sample.facts.get(field_id)
    if fact is None:
        return ""
    words = trade.words
    match field_id:
        case "time":
            return clock_text(fact.value, trade, now_us)
        case "cooler":
            return _cooler(sample, trade, now_us)
        case "seal":
            shown = fact.raw if sample.seal is None else words.say("part.seal", value=sample.seal)
            return words.say("part.seal_no_code", value=shown) if sample.without_code else shown
        case "position":
            return fact.raw if sample.place is not None else words.say("part.no_position")
        case _:
            return _worded(field_id, fact, trade)


def _worded(field_id: str, fact: Fact, trade: Trade) -> str:
    """With the catalogue's word for the choice or around the field, else as it was told."""
    words = trade.words
    for key in (f"part.{field_id}.{fact.value}", f"choice.{field_id}.{fact.value}", f"part.{field_id}"):
        if words.has(key):
            return words.say(key, value=fact.raw)
    return fact.raw


def parts(sample: Sample, trade: Trade, now_us: int) -> str:
    """Everything told, comma by comma, in the order of the table."""
    shown = [part_text(field_id, sample, trade, now_us) for field_id in trade.table.read_back]
    kind, matrix = (shown[trade.table.read_back.index(field_id)] for field_id in ("kind", "matrix"))
    if matrix and matrix in kind:
        shown.remove(matrix)  # "clean water" has said water
    return ", ".join(text for text in shown if text)


def missing_names(sample: Sample, trade: Trade) -> list[str]:
    """The *now* fields not stated, in a few words each."""
    return [trade.words.say(f"sample.{field_id}.name") for field_id in trade.table.missing(sample)]


def label(turn: Turn, sample: Sample) -> str:
    """The number as typed; with the case where this person has two open."""
    if len(turn.open_cases()) > 1:
        return f"{sample.case} {sample.number}"
    return sample.number


def for_eyes(turn: Turn, sample: Sample) -> Sample:
    """The jar as this person may see it: who is to read a seal unshown is shown none."""
    seal = sample.facts.get("seal")
    if seal is None or not is_blind(sample, turn.person.name):
        return sample
    unseen = seal.model_copy(update={"value": None, "raw": turn.word("part.seal_unseen")})
    return sample.model_copy(update={"facts": {**sample.facts, "seal": unseen}})


def old_words(turn: Turn, sample: Sample, field_id: str, words: str | None) -> str | None:
    """A struck or standing value as this person may see it."""
    unseen = field_id == "seal" and is_blind(sample, turn.person.name)
    return turn.word("part.seal_unseen") if unseen else words


def read_back(turn: Turn, sample: Sample, prefix: str = "") -> None:
    """The jar is read back and waits for OK."""
    trade = turn.trade
    now_us = turn.message.received_us
    told, missing = parts(for_eyes(turn, sample), trade, now_us), missing_names(sample, trade)
    key = "readback.whole" if not missing else "readback.missing"
    if sample.confirmed:
        key += ".confirmed"
    text = turn.word(
        key,
        number=label(turn, sample),
        parts=told or turn.word("readback.nothing"),
        missing=", ".join(missing),
    )
    hold(turn, sample)
    if sample.confirmed:
        turn.say(f"{prefix}{text}", catch_up=sample.id)
    else:
        turn.say(f"{prefix}{text}", asks="confirm", choices=ok_choice(turn), catch_up=sample.id)


def ok_choice(turn: Turn) -> tuple[Choice, ...]:
    """OK as a button, and as the digit 1."""
    return (Choice(id="ok", label=turn.word("choice.ok")),)


def hold(turn: Turn, sample: Sample) -> None:
    """The jar last shown waits for OK; an open question about another jar stays open."""
    waiting = () if sample.confirmed else (sample.id,)
    if turn.conversation.question is not None and turn.conversation.sample != sample.id:
        turn.note(waiting=waiting, shown_us=turn.message.received_us)
    else:
        turn.note(
            walk=None,
            question=None,
            sample=sample.id,
            waiting=waiting,
            shown_us=turn.message.received_us,
            redo=None,
            trail=(),
        )
