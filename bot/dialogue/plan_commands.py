"""PLAN, DONE and "what can I still take?": words about the plan, from anywhere."""

from __future__ import annotations

from ..model.case import Case
from ..model.entries import DoneSaid
from ..model.people import Kit
from ..model.times import MINUTE_US, utc
from ..rules.area import middle
from ..rules.kit import drafted_use, stock_of
from ..rules.plan import Matrix
from ..rules.roles import Action, who_may
from ..rules.sun import daylight
from .plan_text import listed, owed, plan_matrix, wanted_text
from .plan_walk import answer_field, start_plan
from .queries import kits_of
from .turn import Turn
from .walk import ask_again
from .which_case import ask_case, case_of_conversation

COUNTED = ("jar", "net", "pad")


def _case(turn: Turn) -> Case | None:
    turn.case = turn.case or case_of_conversation(turn)
    if turn.case is None:
        ask_case(turn)
    return turn.case


def hear_plan(turn: Turn, rest: list[str]) -> bool:
    """PLAN asks what it lacks and says the plan; PLAN WHY says why; PLAN OIL THICK tells one thing of it."""
    case = _case(turn)
    if case is None:
        return True
    if not rest:
        start_plan(turn, case)
        return True
    word = rest[0].lower()
    if word in ("why", "why?"):
        turn.say(turn.word("plan.why"))
        return True
    return answer_field(turn, case, word, " ".join(rest[1:]))


def hear_done(turn: Turn, rest: list[str]) -> bool:
    """What the offered plan still lacks, on record with the word; supervisors hear of a gap."""
    if _is_an_answer(turn):
        return False
    case = _case(turn)
    if case is None:
        return True
    plan, matrix = case.plan, plan_matrix(turn, case)
    missing = tuple(line.what for line in matrix.missing)
    turn.write(case.name, DoneSaid(words=turn.text, missing=missing))
    wanted = wanted_text(turn, matrix.missing, plan)
    if not missing:
        counts = {
            "taken": sum(len(line.taken) for line in matrix.lines),
            "refused": sum(1 for line in matrix.lines if line.refused),
            "impossible": sum(1 for line in matrix.lines if line.impossible),
        }
        turn.say(f"{turn.word('plan.done.none', **counts)} {owed(turn, plan)}".strip())
        return True
    leads = tuple(p for p in who_may(turn.board.unit, Action.HEAR_ALERTS) if p.name != turn.person.name)
    turn.say(f"{turn.word('plan.done.missing', wanted=wanted)} {owed(turn, plan)}".strip())
    told = turn.word("plan.done.alert", person=turn.person.name, case=case.name, wanted=wanted)
    turn.raise_alert("plan_gap", case.name, "push", leads, told)
    return True


def _is_an_answer(turn: Turn) -> bool:
    """True where the open question may be answered with DONE: then it is no command."""
    question = turn.conversation.question
    field = turn.trade.table.by_id.get(question or "")
    return question is not None and (field is None or field.free or field.reader == "yes_no")


def hear_what_can(turn: Turn, rest: list[str]) -> bool:
    """What is still wanted, against the numbers of the kits, the ships that sail and the daylight."""
    words = [word.lower() for word in rest]
    if words[:2] not in (["can", "i"], ["can", "we"]) and words != ["can"]:
        return False
    case = _case(turn)
    if case is None:
        return True
    kits = [kit.name for kit in kits_of(turn, case)]
    turn.need((("jars", case.name), *(("used", case.name, k) for k in kits), *(("kit", k) for k in kits)))
    matrix = plan_matrix(turn, case)
    sentences = [_wanted(turn, case, matrix), *_stock(turn, case, matrix), *_sailing(turn, case, matrix)]
    sentences.extend(_light(turn))
    text = " ".join(sentences)
    if turn.conversation.question is not None:
        ask_again(turn, text)
    else:
        turn.say(text)
    return True


def _wanted(turn: Turn, case: Case, matrix: Matrix) -> str:
    if not matrix.missing:
        return turn.word("plan.can.none")
    minutes = round(matrix.jars * turn.trade.limits.plan_minutes_per_jar)
    wanted = wanted_text(turn, matrix.missing, case.plan, 150)
    return turn.word("plan.can.wanted", wanted=wanted, jars=matrix.jars, time=_span(turn, minutes))


def _stock(turn: Turn, case: Case, matrix: Matrix) -> list[str]:
    """Numbers, jars, nets, pads and gloves of the case's kits together; kits not counted are named."""
    kits = kits_of(turn, case)
    counts = {kit.name: _counted(turn, kit) for kit in kits}
    said = _numbers(turn, case, [kit for kit in kits if kit.numbers is not None])
    there = {item: sum(one[item] for one in counts.values() if item in one) for item in COUNTED}
    known = [item for item in COUNTED if any(item in one for one in counts.values())]
    parts = [f"{turn.word(f'plan.can.{item}')} {there[item]}" for item in known]
    parts += _gloves(turn, kits)
    if parts:
        said.append(turn.word("plan.can.counted", parts=", ".join(parts)))
    uncounted = [name for name, one in counts.items() if not one]
    if uncounted:
        said.append(turn.word("plan.can.uncounted", kits=listed(turn, uncounted, 30)))
    if "jar" in known and there["jar"] < matrix.jars:
        said.append(turn.word("plan.can.short", count=matrix.jars - there["jar"]))
    return said


def _numbers(turn: Turn, case: Case, kits: list[Kit]) -> list[str]:
    """How many sample numbers the kits' blocks have left in this case."""
    left = 0
    for kit in kits:
        low, high = kit.numbers or (1, 0)
        used = turn.used_numbers(case.name, kit.name)  # of the whole case, as far as it is at hand
        left += max(0, high - low + 1 - sum(1 for number in used if low <= number <= high))
    if not kits:
        return []
    if len(kits) == 1:
        return [turn.word("plan.can.numbers", kit=kits[0].name, count=left)]
    return [turn.word("plan.can.numbers.many", kits=len(kits), count=left)]


def _counted(turn: Turn, kit: Kit) -> dict[str, int]:
    """What of a kit was counted and is not used up by its jars since, as far as their methods tell."""
    stock = stock_of(turn.unit.stock, kit.name)
    used = drafted_use(turn.trade.par, kit, stock, turn.taken_with(kit.name)) if stock.heard else {}
    counts = {item: stock.count(item) for item in COUNTED}
    return {item: max(0, count - used.get(item, 0)) for item, count in counts.items() if count is not None}


def _gloves(turn: Turn, kits: list[Kit]) -> list[str]:
    told = [stock_of(turn.unit.stock, kit.name).told("gloves") for kit in kits]
    sizes = " ".join(dict.fromkeys(size for one in told if one is not None for size in one.sizes))
    return [f"{turn.word('plan.can.gloves')} {sizes}"] if sizes else []


def _sailing(turn: Turn, case: Case, matrix: Matrix) -> list[str]:
    """The first suspect that sails with a line of it still open, its time as told."""
    open_names = {line.suspect for line in matrix.missing}
    sails = [(s.sails[1], s.name) for s in case.plan.suspects.values() if s.sails and s.name in open_names]
    if not sails:
        return []
    at_us, name = min(sails)
    minutes = (at_us - turn.message.received_us) // MINUTE_US
    if minutes <= 0:
        return [turn.word("plan.can.sailed", name=name, at=_clock(turn, at_us))]
    return [turn.word("plan.can.sails", name=name, at=_clock(turn, at_us), time=_span(turn, minutes))]


def _light(turn: Turn) -> list[str]:
    """Until when there is daylight at the middle of the unit's area, by the sun's own equations."""
    if turn.trade.area is None:
        return []
    now_us = turn.message.received_us
    sun = daylight(now_us, *middle(turn.trade.area))
    if sun.sets_us is None:
        return [turn.word("plan.light.all_day" if sun.up else "plan.light.none")]
    if sun.up:
        minutes = (sun.sets_us - now_us) // MINUTE_US
        return [turn.word("plan.light.until", at=_clock(turn, sun.sets_us), time=_span(turn, minutes))]
    return [turn.word("plan.light.down")]


def _clock(turn: Turn, at_us: int) -> str:
    return utc(at_us).astimezone(turn.trade.zone).strftime("%H:%M")


def _span(turn: Turn, minutes: int) -> str:
    hours, rest = divmod(int(minutes), 60)
    return turn.word("plan.span" if hours else "plan.span.min", hours=hours, minutes=rest)
