"""Words that must be heard before all others: SOS, going in, and gas readings.

The stop may over-fire at its sender; it must not fire on the nouns alone ("08 struck", "cargo hold
aft", "cold hold"). Source of the hazard: 29 CFR 1915.12 (entry needs a competent person's test);
the word lists are common practice, no source.
"""

from __future__ import annotations

import re

_SOS = re.compile(
    r"^\W*(s\W?o\W?s|mayday|man\s?over\s?board|socorro|au secours|ayuda|hjelp|ajuda)\b", re.IGNORECASE
)
_CALL = re.compile(r"\bS\.?O\.?S\b|\b(?i:mayday|man\s?over\s?board)\b")  # in capitals wherever it stands
_NO = re.compile(
    r"\b(?:no|not|nobody|none|never|cannot|\w+n't|barred|forbidden|prohibited|refused|banned)\b",
    re.IGNORECASE,
)

_SPACES = (
    r"(?:tanks?|voids?|holds?|pump\s?rooms?|bilges?|cofferdams?|manholes?|hatch(?:es)?|confined\s+space|"
    r"engine\s?room|double\s+bottom|chain\s+locker|"
    r"tanques?|bodegas?|sentinas?|citernes?|cuves?|cales?|por[aã]o|por[oõ]es|lasterom(?:met)?|pumperom(?:met)?|tank(?:en|ene|er)|sala\s+de\s+bombas)"
)
_GO_IN = (
    r"(?:going|go|goes|gone|went|climb(?:ing|ed|s)?|get(?:ting)?|crawl(?:ing)?|lean(?:ing|ed)?|step(?:ping|ped)?|"
    r"head(?:ing|ed)?|jump(?:ing|ed)?|reach(?:ing|ed)?|send(?:ing)?(?:\s+\w+)?|"
    r"(?:i|we|he|she|they|r\d+|mate|crew|chief|engineer)(?:'?m|'?s|'?re|\s+am|\s+is|\s+are))"
    r"\s+(?:\w+\s+){0,2}?(?:in|into|inside|down|below|over|through|thru)\b"
)
_ENTER = (
    r"\b(?:enter(?:ing|ed|s)?|entry\s+(?:to|into)|entro|entrar|entrando|entrer|entre\s+dans|bajo\s+(?:a|al|por)|"
    r"bajar|descendre|descends|descer|des[cç]o|g[aå]r?\s+(?:inn|ned)|klatrer?\s+(?:inn|ned))\b"
)
_NEAR = r"[^.;!?\n]{0,40}?"
_LEAN = (
    rf"\blean(?:ing|ed|s)?\s+(?:\w+\s+){{0,2}}?(?:in|into|over|down)\b{_NEAR}"
    r"\b(?:sounding\s?pipes?|ullage)\b"
)
_THERE = (
    r"(?<!by )\b(?:i|we|he|she|they|r\d+|mate|crew|chief|engineer)\s+(?:in|inside|down)\b"
    rf"{_NEAR}\b{_SPACES}\b"
)
_AFTER = (  # "tank 2P, climbing down the ladder", not "tank 2P, level going down"
    rf"\b{_SPACES}\b{_NEAR}\b(?<!level )(?<!level is )(?<!oil )(?<!water )(?<!tide )(?<!it is )"
    r"(?:going|climbing|crawling|getting|heading|stepping|went|climbed)\s+(?:\w+\s+)?(?:in|inside|down|below)\b"
    r"(?=\s*(?:$|[,.;!?]|(?:now|there|again|for|myself|(?:the\s+|a\s+)?ladder)\b))"
)
_STOP = re.compile(
    rf"(?:\b{_GO_IN}{_NEAR}\b{_SPACES}\b)|(?:{_ENTER}{_NEAR}\b{_SPACES}\b)"
    rf"|(?:\binside\s+(?:the\s+|a\s+|this\s+)?{_SPACES}\b)|(?:\b{_SPACES}\b\s+(?:entry|going\s+(?:in|down)))"
    rf"|(?:\bin\s+(?:the\s+|a\s+)?{_SPACES}\s+now\b)|(?:{_LEAN})|(?:{_THERE})|(?:{_AFTER})",
    re.IGNORECASE,
)
_HINTS = (  # no text without one of these speaks of a space; looked for first, since most texts hold none
    *("tank", "tanq", "void", "hold", "pump", "bilge", "coffer", "manhole", "hatch", "confined"),
    *("engine", "bottom", "locker", "bodega", "sentin", "citern", "cuve", "cale", "pora", "porã", "porõ"),
    *("laste", "bomba", "sounding", "ullage"),
)

_GAS = re.compile(
    r"\b(?:h2s|lel|gas(?!\W?oil)(?:\s+reading)?|oxygen|o2|flammables?|vapou?rs?|ppm)\b",
    re.IGNORECASE,
)
_APPROVED = re.compile(r"\bapproved for flammables?\b", re.IGNORECASE)  # says something of a fridge
_FIGURE = re.compile(
    r"\d|\b(?:zero|nil|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|twenty|thirty|forty"
    r"|fifty|sixty|seventy|eighty|ninety|hundred|per\s?cent|high|low|normal|fine|ok|okay|clear|safe|alarm\w*)\b",
    re.IGNORECASE,
)

def is_sos(text: str) -> bool:
    """True where the text begins with a call for help, or holds one in capitals."""
    return len(text) < 400 and (_SOS.match(text) is not None or _CALL.search(text) is not None)


def denies(text: str) -> bool:
    """True where the words say no in any way: then the way on is not clear."""
    return _NO.search(text) is not None


def speaks_of_entry(text: str) -> bool:
    """True where somebody is going into, down or over a space, not where one is only named."""
    lower = text.lower()
    for hint in _HINTS:  # a plain loop: every text comes by here
        if hint in lower:
            return _STOP.search(text) is not None
    return False


def gives_gas_figure(text: str) -> bool:
    """True where a gas is named with a figure, in digits or words, or with how it is; never judged."""
    text = _APPROVED.sub("", text)
    found = _GAS.search(text)
    return found is not None and _FIGURE.search(_GAS.sub("", text)) is not None


def is_gas_alone(text: str) -> bool:
    """True where the text begins with the gas: then it is a reading and no answer."""
    return _GAS.match(text.strip()) is not None
