"""Texts as SMS takes them: plain letters where the words allow, so that a part holds 160 and not 70.

The folding is common practice, no source; what the alphabet holds is 3GPP TS 23.038 (`gsm.py`).
"""

from __future__ import annotations

import unicodedata

from .gsm import is_gsm

# Signs by the plain way to write them. A degree sign falls away: 4.4 \u00b0C is read as 4.4 C.
_SIGNS = {
    "": "\u00b0\u00ba\u00aa\u200b\ufeff",
    " ": "\u00a0\u202f\u2009\t",
    "'": "\u2018\u2019\u201a\u201b\u2032\u00b4`",
    '"': "\u201c\u201d\u201e\u2033\u00ab\u00bb",
    "-": "\u2010\u2011\u2012\u2013\u2014\u2212\u2022\u00b7",
    "...": "\u2026",
    "x": "\u00d7",
    "/": "\u00f7",
    "<=": "\u2264",
    ">=": "\u2265",
    "u": "\u00b5\u03bc",
    "1/2": "\u00bd",
    "1/4": "\u00bc",
    "3/4": "\u00be",
    "2": "\u00b2",
    "3": "\u00b3",
    "oe": "\u0153",
    "OE": "\u0152",
    "l": "\u0142",
    "L": "\u0141",
    "d": "\u0111\u00f0",
    "D": "\u0110\u00d0",
    "th": "\u00fe",
    "Th": "\u00de",
    "i": "\u0131",
}
_PLAIN = {ord(sign): plain for plain, signs in _SIGNS.items() for sign in signs}


def for_sms(text: str) -> str:
    """The text in the 7-bit alphabet where folding gets it there whole, else as it is.

    Letters that the alphabet holds keep their accents; others lose them. Where one sign stays outside,
    nothing is folded: the text goes as UCS-2 and folding would only spoil it.
    """
    if is_gsm(text):
        return text
    folded = "".join(one if is_gsm(one) else _bare(one) for one in text.translate(_PLAIN))
    return folded if is_gsm(folded) else text


def _bare(letter: str) -> str:
    """The letter without its accents."""
    return "".join(one for one in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(one))
