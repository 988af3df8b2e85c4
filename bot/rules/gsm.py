"""How many parts a text takes as SMS.

Source: 3GPP TS 23.038 (the 7-bit alphabet and its extension table) and TS 23.040 (a part of a
longer text gives six octets to its header, so 153 septets or 67 UCS-2 units stay).
"""

from __future__ import annotations

from dataclasses import dataclass

GSM_SINGLE = 160
GSM_PART = 153
UCS2_SINGLE = 70
UCS2_PART = 67

_ONE_SEPTET = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
_TWO_SEPTETS = frozenset("\f^{}\\[~]|€")
_ALPHABET = _ONE_SEPTET | _TWO_SEPTETS


@dataclass(frozen=True, slots=True)
class NotGsm:
    """The text holds these characters that the 7-bit alphabet lacks, each once, as they came."""

    characters: str


def is_gsm(text: str) -> bool:
    """True where every character is in the 7-bit alphabet or its extension table."""
    return _ALPHABET.issuperset(text)


def septets(text: str) -> int | NotGsm:
    """The septets that a text takes, or what it holds that has none."""
    if not is_gsm(text):
        return NotGsm("".join(dict.fromkeys(c for c in text if c not in _ALPHABET)))
    return len(text) + sum(map(text.count, _TWO_SEPTETS))


def parts(text: str) -> tuple[str, ...]:
    """The text cut into SMS parts, never inside an escape pair or a surrogate pair; "" is one part."""
    if is_gsm(text):
        weights = [2 if c in _TWO_SEPTETS else 1 for c in text]
        return _cut(text, weights, GSM_SINGLE, GSM_PART)
    weights = [2 if c > "\uffff" else 1 for c in text]
    return _cut(text, weights, UCS2_SINGLE, UCS2_PART)


def segments(text: str) -> int:
    """How many SMS parts a text takes, at least 1."""
    taken = septets(text)
    if isinstance(taken, int) and taken <= GSM_SINGLE:
        return 1
    return len(parts(text))


def _cut(text: str, weights: list[int], single: int, part: int) -> tuple[str, ...]:
    if sum(weights) <= single:
        return (text,)
    cut: list[str] = []
    start = used = 0
    for at, weight in enumerate(weights):
        if used + weight > part:
            cut.append(text[start:at])
            start, used = at, 0
        used += weight
    return (*cut, text[start:])
