"""Words of somebody unwell, hurt or in danger, short of SOS. The word lists are common practice, no source.

It may over-fire at its sender; "faint sheen", "jar fell in" and "boom collapsed" speak of no person.
"""

from __future__ import annotations

import re

# One of these must stand in the text before anything is looked at closely: a jar's line has none.
_HINTS = frozenset(
    (
        *("dizzy", "dizziness", "headed", "lightheaded", "nausea", "nauseous", "headache", "headaches"),
        *("sick", "unwell", "ill", "woozy", "faint", "fainted", "fainting", "vomiting", "vomited"),
        *("throwing", "threw", "breathe", "breath", "breathing", "collapsed", "unconscious", "passed"),
        *("fell", "fallen", "hurt", "hurts", "injured", "wounded", "burn", "burns", "burned", "burnt"),
        *("burning", "stinging", "stings", "fire", "explosion", "help", "emergency", "ambulance", "medic"),
        *("mareado", "mareada", "mareo", "náuseas", "nauseas", "cabeza", "herido", "herida", "fuego"),
        *("vertige", "vertiges", "nausée", "nausées", "tête", "blessé", "blessée", "feu"),
        *("tonto", "tonta", "tonturas", "enjoo", "enjoado", "enjoada", "cabeça", "ferido", "ferida", "fogo"),
        *("svimmel", "kvalm", "uvel", "hodepine", "skadet", "brann"),
    )
)
_WHO = r"\b(?:im|hes|shes|i|we|he|she|they|r\d+|mate|man|crew\w*|chief|engineer|skipper|some(?:one|body))\b"
_IS = r"(?:\s*'?(?:m|s|re)|\s+(?:am|is|are|was|were|has|have|got|just|been|both))*"
_HARM = re.compile(
    "|".join(
        (
            r"\b(?:dizzy|dizziness|light-?\s?headed|nausea|nauseous|headaches?|woozy|unconscious|explosion|ambulance)\b",
            r"\b(?:vomit(?:ing|ed)|(?:threw|throwing)\s+up|unwell|fainted|fainting|passed\s+out(?!\s+of))\b",
            rf"(?:\b(?:feel(?:s|ing)?|felt|getting)(?:\s+\w+)?|{_WHO}{_IS})\s+(?:sick|ill)\b",
            r"\b(?:feel(?:s|ing)?|felt)(?:\s+\w+)?\s+faint\b",
            r"\b(?:can'?t|cannot|hard\s+to|trouble|short\s+of)\s+breath(?:e|ing)?\b",
            r"\b(?:eyes?|throat|skin|lungs|chest|hands?|face|nose)\s+(?:is\s+|are\s+)?(?:burn(?:s|ing|ed|t)?|hurts?|sting(?:s|ing))\b",
            rf"{_WHO}{_IS}\s+(?:hurt|injured|wounded|burn(?:t|ed)|collapsed|fell|fallen)\b",
            r"\bfire\s+(?:on|in|aboard)\b|\bon\s+fire\b",
            r"^\W*(?:please\s+)?(?:(?:i|we)\s+)?(?:need|send)\s+(?:help|a\s+medic)\b(?!\s+with)",
            r"^\W*help\s+(?:me|us|now|please)\W*$|^\W*(?:(?:this|it)\W?\s?i?s\s+)?(?:an\s+)?emergency\W*$",
            r"\b(?:mare(?:ad[oa]|o)|n[aá]useas|dolor\s+de\s+cabeza|herid[oa]s?|hay\s+fuego)\b",
            r"\b(?:vertiges?|naus[eé]es?|mal\s+(?:à|a|de)\s+(?:la\s+)?tête|bless[eé]e?s?|le\s+feu)\b",
            r"\b(?:tont(?:[oa]|uras)|enjo(?:o|ad[oa])|dor\s+de\s+cabeça|ferid[oa]s?|há\s+fogo)\b",
            r"\b(?:svimmel|kvalm|uvel|hodepine|skadet|det\s+brenner|brann\s+(?:om|på|i))\b",
        )
    ),
    re.IGNORECASE,
)
_WORD = re.compile(r"[^\W\d_]{3,}")  # as long as the shortest hint
_DENIED = re.compile(r"\b(?:no|not|nobody|none|never|without|isn'?t|aren'?t)\s+(?:\w+\s+)?$", re.IGNORECASE)


def speaks_of_harm(text: str) -> bool:
    """True where somebody is said to be unwell, hurt or in danger."""
    if _HINTS.isdisjoint(_WORD.findall(text.lower())):
        return False
    return any(_DENIED.search(text[: found.start()]) is None for found in _HARM.finditer(text))
