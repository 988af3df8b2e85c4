"""The receiver reads each seal off the jar, unshown; what agrees and has its condition told is received."""

from __future__ import annotations

from dataclasses import dataclass, field

from ...model.entries import CustodyReceived, SealRead
from ...model.sample import Sample
from ...rules.custody import is_gap
from ...rules.seals import agreement
from ..read_back import clock_at, clock_text
from ..readers.clock_time import TimeTold
from ..readings import time_value
from ..speakers import lacks_code
from ..turn import Turn
from .arrival import arrived
from .identity import speak_as
from .jars import MOST_NAMED, answer, keep_words, listed, look_up, numbered, several, tell_one, unknown
from .offer import like, own_time
from .retain import refuse_disposal
from .seal_lines import LIKELY, Item, Lines, scan_seals
from .settle import answer_difference, tell_of_marks, tell_of_own


@dataclass
class Heard:
    """What a text of readings came to, for its one reply."""

    time: TimeTold | None
    may_move: bool
    temperature: str | None = None
    moved: list[Sample] = field(default_factory=list)
    known: list[Sample] = field(default_factory=list)
    said: list[str] = field(default_factory=list)


def hear_reading(turn: Turn, text: str) -> bool:
    """Every reading is on record; a jar moves when its seal agrees and how it is was told."""
    if LIKELY.match(text) is None:
        return False
    lines = scan_seals(text)
    told = any(item.conditions or item.unread or item.tape for item in lines.items)
    if lines.left and not told:
        return False
    if not lines.items:
        return False
    look_up(turn, [item.number for item in lines.items])
    if all(_tells_its_seal(turn, item) for item in lines.items):
        return False
    if told:
        speak_as(turn)
    if not told and not any(_is_awaited(turn, item) for item in lines.items):
        return False
    _read_all(turn, lines, text)
    return True


def _tells_its_seal(turn: Turn, item: Item) -> bool:
    """Its author's words about a jar that has no seal yet and is offered to nobody tell its seal."""
    here = numbered(turn, item.number)
    own = [jar for jar in here if jar.declared_by == turn.person.name and jar.offer is None]
    bare = bool(item.tape) and not (item.conditions or item.unread)
    return bare and len(own) == len(here) == 1 and "seal" not in own[0].facts


def _is_awaited(turn: Turn, item: Item) -> bool:
    """Somebody waits for this person to read this jar."""
    return item.reads and any(_is_mine_to_read(turn, jar) for jar in numbered(turn, item.number))


def _is_mine_to_read(turn: Turn, jar: Sample) -> bool:
    return jar.offer is not None and turn.person.name == jar.offer.to


def _read_all(turn: Turn, lines: Lines, text: str) -> None:
    time = own_time(turn, lines.time or "")
    told = time if isinstance(time, TimeTold) else None
    heard = Heard(told, may_move=not isinstance(time, str), temperature=lines.temperature)
    if isinstance(time, str):
        heard.said.append(time)
    if lines.left:
        heard.said.append(turn.word("custody.left", words=" ".join(lines.left)[:MOST_NAMED]))
        keep_words(turn, [], text)
    for item in lines.items:
        _read_one(turn, item, heard)
    receive(turn, heard)
    done = received_text(turn, heard) if heard.moved else ""
    answer(turn, heard.known, (done, *heard.said))


def _read_one(turn: Turn, item: Item, heard: Heard) -> None:
    """One jar's reading is on record, and what it came to is said or done."""
    here = numbered(turn, item.number)
    mine = [jar for jar in here if _is_mine_to_read(turn, jar)]
    jars = mine or [jar for jar in here if _answers(turn, jar)] or here
    if len(jars) > 1 and turn.case is not None:
        jars = [jar for jar in jars if jar.case == turn.case.name] or jars
    if len(jars) != 1:
        keep_words(turn, jars, item.raw)
        none = unknown(turn, item.number.number)
        heard.said.append(several(turn, item.number, jars) if jars else none)
        return
    jar = jars[0]
    heard.known.append(jar)
    _write(turn, jar, item, heard)
    if mine:
        if settle(turn, jar, turn.sample(jar.id), heard):
            heard.moved.append(turn.sample(jar.id))
    elif _answers(turn, jar):
        heard.said.append(answer_difference(turn, jar, item.raw, item.seal))
    else:
        key = "custody.read_own" if jar.holder == turn.person.name else "custody.not_offered"
        heard.said.append(arrived(turn, jar) or turn.word(key, number=jar.number, person=jar.holder))
        if _marks(turn.sample(jar.id)) > _marks(jar):
            tell_of_own(turn, turn.sample(jar.id))


def _answers(turn: Turn, jar: Sample) -> bool:
    """The giver of a jar whose seal was read otherwise reads it too: that is an answer."""
    offer = jar.offer
    return offer is not None and offer.by == turn.person.name and offer.differs and not offer.answered


def _write(turn: Turn, jar: Sample, item: Item, heard: Heard) -> None:
    """The reading is an entry; told without a seal it speaks of the one read before."""
    offer = jar.offer if _is_mine_to_read(turn, jar) else None
    agrees = agreement(jar, item.seal, item.tape) if item.reads else offer.agrees if offer else None
    body = SealRead(
        samples=(jar.id,),
        offer=None if offer is None else offer.id,
        number=item.seal,
        tape=item.tape,
        unread=item.unread,
        raw=item.raw,
        condition=item.condition,
        agrees=None if item.unread else agrees,
        coded=turn.proven or None,
        on_phone_of=turn.phone_of,
        temperature=heard.temperature,
    )
    turn.write(jar.case, body, event=None if heard.time is None else heard.time.iso)


def settle(turn: Turn, before: Sample, jar: Sample, heard: Heard, box: str | None = None) -> bool:
    """True where the jar, or the box it is the first of, may move; else why not is said to both."""
    offer = jar.offer
    if offer is None:
        return False
    number = box or listed(turn, [jar])
    names = {"number": number, "person": offer.by, "like": like([jar]), "first": box or jar.number}
    if offer.agrees is None and not offer.unread and not offer.was_read:
        heard.said.append(turn.word("custody.ask_seal", **names))
    elif offer.differs:
        key = "custody.unread_seal" if offer.unread else "custody.differs"
        heard.said.append(turn.word(key, **names))
        tell_of_marks(turn, jar, fresh=_marks(jar) > _marks(before), box=box)
    elif offer.condition is None:
        heard.said.append(turn.word("custody.ask_condition", **names))
    elif offer.type == "disposal" and jar.custody is not None and jar.custody.retained is not None:
        refuse_disposal(turn, [jar], "read")
        heard.said.append(turn.word("custody.retained", number=number))
    elif lacks_code(turn):
        heard.said = list(dict.fromkeys((*heard.said, turn.word("code.hand_over"))))
    elif offer.paper:
        heard.said.append(turn.word("custody.paper_read", **names))
    else:
        return heard.may_move
    return False


def _marks(jar: Sample) -> int:
    return 0 if jar.custody is None else len(jar.custody.marks)


def receive(turn: Turn, heard: Heard) -> None:
    """What agreed is with the receiver now; each giver hears it."""
    offers: dict[str, list[Sample]] = {}
    for jar in heard.moved:
        offers.setdefault(jar.offer.id if jar.offer is not None else "", []).append(jar)
    for offer, jars in offers.items():
        at = heard.time
        body = CustodyReceived(
            samples=tuple(jar.id for jar in jars),
            offer=offer,
            at=None if at is None else at.iso,
            at_us=None if at is None else at.at_us,
            coded=turn.proven or None,
            on_phone_of=turn.phone_of,
        )
        turn.write(jars[0].case, body, event=body.at)
        giver = jars[0].offer.by if jars[0].offer is not None else ""
        told = {"person": turn.person.name, "numbers": listed(turn, jars), "at": _clock(turn, heard)}
        open_minutes = _gap_text(turn, jars, heard)
        heard.said.append(open_minutes)
        text = turn.word("custody.received_told", **told)
        tell_one(turn, giver, jars[0].case, f"{text} {open_minutes}" if open_minutes else text)
        for jar in jars:
            if jar.offer is not None and jar.offer.condition != "whole":
                tell_of_marks(turn, jar, fresh=True)


def _gap_text(turn: Turn, jars: list[Sample], heard: Heard) -> str:
    """What the two stated times leave open, on record for who sums up the day; empty where nothing is."""
    offer = jars[0].offer
    if offer is None or offer.at_us is None:
        return ""
    received_us = turn.message.received_us
    closed_us = received_us if heard.time is None else heard.time.at_us
    if not is_gap(offer.at_us, closed_us, offer.carrier, turn.trade.limits):
        return ""
    case, numbers = jars[0].case, listed(turn, jars)
    told = {
        "numbers": numbers,
        "from_": clock_at(offer.at_us, turn.trade, received_us),
        "to": clock_at(closed_us, turn.trade, received_us),
        "first": jars[0].number,
    }
    text = turn.word("custody.gap", **told)
    before, turn.case = turn.case, turn.case_named(case)
    for jar in jars:
        turn.raise_alert("custody_gap", f"jar {case} {jar.number}", "digest", (), text)
    turn.case = before
    return text


def received_text(turn: Turn, heard: Heard) -> str:
    """What was taken and when, with what stays on record of it."""
    cut = [jar for jar in heard.moved if jar.offer is not None and jar.offer.condition != "whole"]
    text = turn.word("custody.received", numbers=listed(turn, heard.moved), at=_clock(turn, heard))
    for jar in cut:
        how = turn.word(f"custody.condition.{jar.offer.condition}") if jar.offer is not None else ""
        text += " " + turn.word("custody.received_marked", number=jar.number, how=how)
    return text


def _clock(turn: Turn, heard: Heard) -> str:
    """The stated time of receipt, else when the text came in."""
    received_us = turn.message.received_us
    if heard.time is not None:
        return clock_text(time_value(heard.time), turn.trade, received_us)
    return clock_at(received_us, turn.trade, received_us)
