"""The words for a jar or a cooler that is lost, broken or leaking: common practice, no source."""

from __future__ import annotations

import re
from typing import NamedTuple

from ..readers.day_forms import WEEKDAYS, any_of
from ..readers.words import NumberTold
from .jars import leading_numbers

LONGEST = 100  # characters; a longer text tells more than that
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
    rf"\W*(?:(?:in|on|onto|at|off|over|from|by|since|last|yesterday|{any_of(WEEKDAYS)}|when|while|as|near|between"
    rf"|under|badly|sorry|just|now|again|{_SMALL}{_AGAIN})\b.*)?\Z"
)
_OF = r"(?:the\s+)?(?:cooler|fridge|nevera|glacière|geleira|kjøleboks)\s+(?P<name>[^\s,:]+)"
_COOLER_THEN = _pattern(rf"{_OF}\W*{_SMALL}(?:{_GONE})\b")
_COOLER_FIRST = _pattern(rf"{_SMALL}(?:{_GONE})\b\s*{_OF}")
_LEFT_SOMEWHERE = _pattern(r"dropped\W+(?:off|in|at|to|with|by)\b")
# Of a jar that somebody is to read and that did not come to them; and of one that is there again.
_WITH_IT = (
    r"(?:with|among)\s+(?:me|us|them|the\s+(?:others|rest|jars))"
    r"|in\s+(?:(?:the|this|your)\s+)?(?:cooler|box|bag|delivery|lot|fridge)"
)
_ABSENT = (
    rf"(?:not|never|isn'?t|wasn'?t|hasn'?t)\s+(?:here|there|received|arrived|come|{_WITH_IT})"
    r"|(?:did\s+not|didn'?t)\s+(?:come|arrive)|no\s+(?:est[aá]|lleg[oó])|falta|(?:n'est\s+)?pas\s+(?:l[àa]|re[çc]ue?s?)"
    r"|manque|n[ãa]o\s+(?:est[áa](?:\s+aqui)?|veio)|ikke\s+(?:her|med|mottatt)|mangler"
)
_NEVER_GOT = (
    r"(?:did\s+not|didn'?t|never|have\s+not|haven'?t|not)\s+(?:get|got|receive|received|have|had)"
    r"|no\s+recib[ií]|pas\s+re[çc]u|n[ãa]o\s+recebi|fikk\s+ikke|falta|(?:il\s+)?manque|mangler"
)
_TAIL = r"(?:\W*\b(?:yet|sorry)\b)*\W*\Z"
_ABSENT_THEN = _pattern(rf"{_SMALL}(?:{_ABSENT})\b{_TAIL}")
_NOTHING_MORE = _pattern(_TAIL)
_ABSENT_FIRST = _pattern(rf"{_SMALL}(?:{_NEVER_GOT})\b{_SMALL}{_JAR}")
_FOUND = r"found|recovered|retrieved|encontrad[oa]s?|retrouvée?s?|achad[oa]s?|funnet"
_FOUND_THEN = _pattern(
    rf"{_SMALL}(?:{_FOUND})\b(?:\W*(?:again|ok|okay|safe|whole|intact|in|on|under|at|by|behind|near|inside)\b"
    rf"(?:(?!\b(?:{_AGAIN}|(?:seal|lid|no|not|without)\b)|[,;.]\s*\d).)*)?\W*\Z"
)
_FOUND_FIRST = _pattern(rf"{_SMALL}(?:{_FOUND})\b{_SMALL}{_JAR}")
_PARTS = re.compile(r"\s*[,;.]\s+|\s+(?:but|and|pero|mais|mas|men)\s+")
_FINE = _pattern(
    rf"{_SMALL}(?:(?:rest|others|crew|everyone|everybody)|{_JAR}(?:\d{{1,3}}(?!\d)[\s&,-]*)+)\s*{_SMALL}"
    r"(?:ok|okay|fine|safe|good|here|whole|intact[oae]?s?|bien|bem)"
)
_MARKS = re.compile(r"(?<=\d)[.,:;!]+(?=\s|\Z)")  # "04: lost"
# Of a part of it, denied, or over.
_NOT_IT = _pattern(
    r"\b(?:(?:seal|lid|label|tape|photo|picture|glove|card)s?|not|never|no\s+(?:longer|more)|isn'?t|wasn'?t"
    r"|aren'?t|nothing|found|almost|nearly)\b"
)


class Loss(NamedTuple):
    """The jars that are said to be lost, `broken`, not `here` or `found`; or the `cooler`, as named."""

    numbers: tuple[NumberTold, ...] = ()
    broken: bool = False
    here: bool = True
    found: bool = False
    cooler: str | None = None


def read_loss(text: str) -> Loss | None:
    """What the words say is lost; None where they say no such thing, or more than that."""
    if len(text) > LONGEST or "?" in text:
        return None
    text = text.replace("\u2019", "'")  # as phones type it
    words = _MARKS.sub("", text)
    if (numbers := _jars_that(words, _ABSENT_FIRST, _ABSENT_THEN)) is not None:
        return Loss(numbers, here=False)
    if (numbers := _jars_that(words, _FOUND_FIRST, _FOUND_THEN)) is not None:
        return Loss(numbers, found=True)
    if _NOT_IT.search(text):
        return None
    for form in (_COOLER_THEN, _COOLER_FIRST):
        if (cooler := form.match(text)) is not None and _WHERE.match(text[cooler.end() :]):
            return Loss(cooler=cooler["name"])
    parts = [part for part in _PARTS.split(text) if not _FINE.fullmatch(part)]  # "04 ok, 05 lost"
    return _jars_lost(words) or (_jars_lost(_MARKS.sub("", parts[0])) if len(parts) == 1 else None)


def _jars_that(text: str, first: re.Pattern[str], then: re.Pattern[str]) -> tuple[NumberTold, ...] | None:
    """The jars that the words are about, before them or behind, and nothing else."""
    before, numbers, rest = _split(text, first)
    behind = then if before is None else _NOTHING_MORE
    return numbers if numbers and behind.match(rest) else None


def _jars_lost(text: str) -> Loss | None:
    before, numbers, rest = _split(text, _FIRST)
    how = before or _THEN.match(rest)
    if how is None or not numbers or _LEFT_SOMEWHERE.match(f"{how['broken']} {rest}"):
        return None
    if not _WHERE.match(rest if before is not None else rest[how.end() :]):
        return None
    return Loss(numbers, broken=how["broken"] is not None)


def _split(text: str, first: re.Pattern[str]) -> tuple[re.Match[str] | None, tuple[NumberTold, ...], str]:
    """What is said before the jars' numbers, where it is; the numbers; what stands behind them."""
    before = first.match(text)
    lead = before or _LEAD.match(text)
    return (before, *leading_numbers(text[lead.end() :])) if lead is not None else (None, (), text)
