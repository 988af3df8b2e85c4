"""A jar or a cooler that is said to be lost, broken or leaking: on record, and told to who is in charge.

It stays on the count, with its holder: only STRIKE takes it off. The words are common practice, no source.
"""

from __future__ import annotations

import re

from ...model.entries import NoteMade
from ...model.sample import Sample
from ..one_line import scan
from ..read_back import label
from ..readings import Source
from ..safety import in_charge
from ..turn import Turn
from ..which_case import case_of_conversation
from .jars import Found, by_case, find_jars, leading_numbers, listed, unknown

LONGEST = 200  # characters; a longer text tells more than that
KIND, SAID = "custody_gap", "said lost"
_GONE = (
    r"lost|missing|gone|stolen|vanished|overboard|perdid[oa]s?|robad[oa]s?|por\s+la\s+borda|perdue?s?|volée?s?"
    r"|par-dessus\s+bord|roubad[oa]s?|borda\s+fora|mistet|borte|stjålet|over\s+bord"
)
_BROKEN = (
    r"dropped|broken?|smashed|shattered|cracked|crushed|leak(?:s|ed|ing)|rot[oa]s?|rompió|gotean?|cassée?s?"
    r"|brisée?s?|fuit|fuient|partid[oa]s?|partiu|quebrad[oa]s?|quebrou|vertem?|knuste?|ødelagt|sprukket|lekker"
)
_HOW = rf"(?:(?P<broken>{_BROKEN})|{_GONE})\b"
_FILLING = "i|we|just|have|has|had|is|are|was|were|been|got|it|fell|went|and|all|sorry|the|my|our"
_SMALL = rf"(?:[\s,:]|\b(?:{_FILLING})\b)*"
_JAR = r"(?:(?:jar|sample|bottle)s?\b\W*)?(?:(?:no\.?|nr\.?|number)\s+|#)?(?=\S*\d)"


def _pattern(form: str) -> re.Pattern[str]:
    return re.compile(form, re.IGNORECASE | re.DOTALL)


_FIRST = _pattern(rf"{_SMALL}{_HOW}(?:{_SMALL}(?:{_BROKEN}|{_GONE})\b)?{_SMALL}{_JAR}")
_THEN = _pattern(rf"{_SMALL}{_HOW}")
_LEAD = _pattern(rf"{_SMALL}{_JAR}")
_WHERE = _pattern(r"\W*(?:(?:in|on|at|off|over|from|by|when|while|as|near|between|under)\b.*)?\Z")
_COOLER = _pattern(rf"(?:cooler|fridge)\s+(?P<name>\S+?)\s*[,:]?{_SMALL}{_HOW}")
# Of a part of it or of something else, asked, or denied.
_NOT_IT = _pattern(
    r"[?]|\b(?:(?:seal|lid|label|tape|photo|picture|glove|signal|contact|card|marker|phone|paper|sight)s?"
    r"|ice|kit|time|not|never|no\s+longer|isn'?t|wasn'?t|aren'?t|nothing)\b"
)


def hear_lost(turn: Turn, text: str) -> bool:
    """`04 overboard`, `dropped jar 04`: words alone, of jars on record whose seal nobody is to read now."""
    if len(text) > LONGEST or _NOT_IT.search(text):
        return False
    cooler = _COOLER.match(text)
    if cooler is not None:
        return _hear_cooler_lost(turn, text, cooler["name"])
    said = _jars_said(turn, text)
    if said is None or scan(text, Source(turn.trade, turn.message)).facts:
        return False
    found, broken = said
    if found.said or not found.jars or any(_is_read_by(jar, turn.person.name) for jar in found.jars):
        return False
    for case, _ in by_case(found.jars):
        turn.write(case, NoteMade(words=text))
    told = _tell(turn, text, found.jars)
    key = "lost.broken" if broken else "lost.gone"
    turn.say(turn.word(key, numbers=listed(turn, found.jars), told=told, first=found.jars[0].number))
    return True


def _jars_said(turn: Turn, text: str) -> tuple[Found, bool] | None:
    """The jars that the words name, and whether they broke; None where the words say no such thing."""
    before = _FIRST.match(text)
    lead = _LEAD.match(text)
    if before is not None:
        numbers, rest = leading_numbers(text[before.end() :])
        how = before if _WHERE.match(rest) else None
    elif lead is not None:
        numbers, rest = leading_numbers(text[lead.end() :])
        how = _THEN.match(rest)
    else:
        return None
    if how is None or not numbers:
        return None
    found = find_jars(
        turn, numbers, lambda jar: jar.struck is None, lambda number, _: unknown(turn, number.number)
    )
    return found, how["broken"] is not None


def _is_read_by(jar: Sample, name: str) -> bool:
    """How a jar is that waits for its receiver is part of their reading of it."""
    return jar.offer is not None and jar.offer.to == name


def _tell(turn: Turn, words: str, jars: list[Sample]) -> str:
    """Who is in charge hears it at any hour; a jar is called for until it is struck or explained."""
    others = tuple(person for person in in_charge(turn) if person.name != turn.person.name)
    fresh = [jar for jar in jars if not _is_called(turn, jar)]
    for jar in fresh:
        turn.case = turn.case_named(jar.case)
        told = {"person": turn.person.name, "number": label(turn, jar), "words": words[:80]}
        text = turn.word("lost.supervisor", **told, holder=jar.holder, first=jar.number)
        turn.raise_alert(KIND, f"jar {jar.case} {jar.number}", "critical", others, text, cause=SAID)
    return f" {turn.word('safety.harm.told')}" if others and fresh else ""


def _is_called(turn: Turn, jar: Sample) -> bool:
    alerts = turn.alerts(("alert_of", KIND, f"jar {jar.case} {jar.number}"))
    return any(alert.is_open and alert.cause == SAID for alert in alerts)


def _hear_cooler_lost(turn: Turn, text: str, name: str) -> bool:
    """Its jars stay on the count where they were said to be; who is in charge is told."""
    cooler = turn.cooler_named(name)
    case = turn.case or case_of_conversation(turn)
    if cooler not in turn.board.unit.coolers or case is None:
        return False
    turn.write(case.name, NoteMade(words=text))
    others = [person for person in in_charge(turn) if person.name != turn.person.name]
    for person in others:
        turn.tell(person, turn.word("lost.cooler.supervisor", person=turn.person.name, words=text[:100]))
    told = f" {turn.word('safety.harm.told')}" if others else ""
    turn.say(turn.word("lost.cooler", cooler=cooler, told=told))
    return True
