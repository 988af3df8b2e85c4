"""A jar or a cooler that is said to be lost, broken or leaking: on record, and told to who is in charge.

It stays on the count, with its holder: only STRIKE takes it off. The words are common practice, no source.
"""

from __future__ import annotations

import re

from ...model.entries import FactTold, NoteMade
from ...model.sample import Sample
from ..one_line import scan
from ..read_back import label
from ..readings import Source
from ..safety import in_charge
from ..turn import Turn
from ..which_case import case_of_conversation
from .jars import Found, by_case, find_jars, leading_numbers, listed, unknown

LONGEST = 100  # characters; a longer text tells more than that
KIND, SAID = "custody_gap", "said lost"
_WAY = r"(?:off|over|overboard|in|into|away|down|to)\b(?:\s+(?:the|a|our)\s+\w+)?"
_GONE = (
    r"lost|missing|stolen|vanished|overboard|sank|sunk|gone(?=\W*\Z|\s+(?:over|overboard|missing)\b)"
    rf"|(?:fell|fallen|knocked|swept|rolled|blew|blown|washed|slipped)\s+{_WAY}|(?:can'?t|cannot)\s+find"
    r"|went\s+(?:over(?:board)?|down)"
    r"|perdid[oa]s?|perdí|perdi|robad[oa]s?|por\s+la\s+borda|perdue?s?|volée?s?|par-dessus\s+bord|roubad[oa]s?"
    r"|borda\s+fora|mistet|tapt|borte|stjålet|over\s+bord"
)
_BROKEN = (
    r"dropped(?=\W*(?:\Z|on\b|onto\b|over|and\b|it\b|jar\b|sample\b|bottle\b|#?\d|smashed|broke))|broken?|smashed"
    r"|shattered|cracked|crushed|leak(?:s|ed|ing)|rot[oa]s?|rompió|gotean?|cassée?s?|brisée?s?|fuit|fuient"
    r"|partid[oa]s?|partiu(?!\s+para)|quebrad[oa]s?|quebrou|vertem?|knuste?|ødelagt|sprukket|lekker"
)
_HOW = rf"(?:(?P<broken>{_BROKEN})|{_GONE})\b"
_AGAIN = rf"(?:{_BROKEN}|{_GONE})\b"
_FILLING = (
    r"i|we|just|have|has|had|is|are|was|were|been|got|it|both|all|and|sorry|the|my|our|oh\s+no|se|está|he|la|el"
    r"|le|est|j'ai|o|er|ble|har|vi|cayó|passé|caiu|gikk|falt"
)
_SMALL = rf"(?:[\s,:]|\b(?:{_FILLING})\b)*"
_JAR = (
    r"(?:(?:jar|sample|bottle|frasco|tarro|bocal|flacon|krukke)s?\b[^\w#]*)?"
    r"(?:(?:no\.?|nr\.?|number)\s+|#)?(?=\S*\d)"
)


def _pattern(form: str) -> re.Pattern[str]:
    return re.compile(form, re.IGNORECASE | re.DOTALL)


_FIRST = _pattern(rf"{_SMALL}{_HOW}(?:{_SMALL}{_AGAIN})?{_SMALL}{_JAR}")
_THEN = _pattern(rf"{_SMALL}{_HOW}(?:{_SMALL}{_AGAIN})*")
_LEAD = _pattern(rf"{_SMALL}{_JAR}")
# Nothing more, or where and when: what else is lost or broken stands behind the word for it.
_WHERE = _pattern(
    rf"\W*(?:(?:in|on|onto|at|off|over|from|by|when|while|as|near|between|under|badly|sorry|just|now|again|{_SMALL}"
    rf"{_AGAIN})\b.*)?\Z"
)
_OF = r"(?:the\s+)?(?:cooler|fridge|nevera|glacière|geleira|kjøleboks)\s+(?P<name>[^\s,:]+)"
_COOLER_THEN = _pattern(rf"{_OF}\W*{_SMALL}(?:{_GONE})\b")
_COOLER_FIRST = _pattern(rf"{_SMALL}(?:{_GONE})\b\s*{_OF}")
_LEFT_SOMEWHERE = _pattern(r"dropped\W+(?:off|in|at|to|with|by)\b")
_MARKS = re.compile(r"(?<=\d)[.,:;!]+(?=\s|\Z)")  # "04: lost"
# Of a part of it, asked, denied, or over.
_NOT_IT = _pattern(
    r"[?]|\b(?:(?:seal|lid|label|tape|photo|picture|glove|card)s?|not|never|no\s+(?:longer|more)|isn'?t|wasn'?t"
    r"|aren'?t|nothing|found|almost|nearly)\b"
)
_TOLD_WITH_IT = frozenset(("time", "matrix"))  # "lost at 1130", "fell in the water"


def hear_lost(turn: Turn, text: str) -> bool:
    """`04 overboard`, `dropped jar 04`: words alone, of jars on record whose seal nobody is to read now."""
    if len(text) > LONGEST or turn.conversation.question == "why" or _NOT_IT.search(text):
        return False
    for form in (_COOLER_THEN, _COOLER_FIRST):
        if (cooler := form.match(text)) is not None and _WHERE.match(text[cooler.end() :]):
            return _hear_cooler_lost(turn, text, cooler["name"])
    said = _jars_said(turn, _MARKS.sub("", text))
    if said is None or {fact.field for fact in _scanned(turn, text)} - _TOLD_WITH_IT:
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


def _scanned(turn: Turn, text: str) -> list[FactTold]:
    return scan(text, Source(turn.trade, turn.message)).facts


def _jars_said(turn: Turn, text: str) -> tuple[Found, bool] | None:
    """The jars that the words name, and whether they broke; None where the words say no such thing."""
    before, lead = _FIRST.match(text), _LEAD.match(text)
    start = before or lead
    if start is None:
        return None
    numbers, rest = leading_numbers(text[start.end() :])
    how = before or _THEN.match(rest)
    if how is None or not numbers or _LEFT_SOMEWHERE.match(f"{how['broken']} {rest}"):
        return None
    if not _WHERE.match(rest if before is not None else rest[how.end() :]):
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
