"""What a reader answers when it has no value to give, and the letters that look like others."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Unread:
    """Nothing of this sort stands in the text."""


@dataclass(frozen=True, slots=True)
class Ask:
    """Understood in part; a human must say the rest.

    `key` is a wording key and `values` fills it: "raw" is the words at issue as typed, "value" a
    number that lacks its unit. `choices` are the words that answer it, where they are few.
    """

    key: str
    values: dict[str, str] = field(default_factory=dict)
    choices: tuple[str, ...] = ()


UNREAD = Unread()

# One character for one, so that a place in the folded text is the same place in the typed one.
_LOOKALIKES = str.maketrans(
    {
        # ordinal indicator, ring above, ring operator
        **dict.fromkeys("\u00ba\u02da\u2218", "\u00b0"),
        # single quotation marks, prime, acute and grave accents, modifier prime
        **dict.fromkeys("\u2019\u2018\u2032\u00b4\u0060\u02b9", "'"),
        # double quotation marks, double prime, modifier double prime
        **dict.fromkeys("\u201d\u201c\u2033\u02ba", '"'),
        # minus sign, en and em dash, hyphen, hyphen that does not break
        **dict.fromkeys("\u2212\u2013\u2014\u2010\u2011", "-"),
        # spaces that do not break, thin space, tab, ends of lines
        **dict.fromkeys("\u00a0\u202f\u2009\t\r\n", " "),
    }
)


def folded(text: str) -> str:
    """The text with stray degree signs, primes, dashes and spaces as the plain ones, of equal length."""
    return text if text.isascii() and text.isprintable() else text.translate(_LOOKALIKES)


def squeezed(text: str) -> str:
    """The text folded, in lower case, with single spaces, and without a closing full stop."""
    return " ".join(folded(text).lower().split()).rstrip(".")


def decimal(digits: str) -> float:
    """The number that digits with a point or a comma tell."""
    return float(digits.replace(",", "."))
