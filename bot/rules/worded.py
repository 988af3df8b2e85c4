"""A sentence that knows how it was made, so that somebody else can be told it in their own language.

People are offered only the languages of `OFFERED`, each with a catalogue that lacks nothing; a test insists.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

DEFAULT = "en"
OFFERED = (DEFAULT, "es", "fr", "nb", "pt")  # ISO 639-1, for a person's `language`


class Worded(str):
    """A text of the catalogue with its key, values and language; anything added to it makes it plain."""

    key: str
    values: Mapping[str, object]
    language: str

    @classmethod
    def of(cls, text: str, key: str, values: Mapping[str, object], language: str) -> Worded:
        """The text as this key gave it in this language."""
        made = cls(text)
        made.key, made.values, made.language = key, values, language
        return made


def recipe(text: str) -> dict[str, object] | None:
    """How a text of the catalogue was made, as JSON holds it; None for a text that was put together."""
    if not isinstance(text, Worded):
        return None
    return {"key": text.key, "values": {name: _kept(value) for name, value in text.values.items()}}


def _kept(value: object) -> object:
    made = recipe(value) if isinstance(value, Worded) else None
    return made or (value if isinstance(value, int | float) else str(value))


def retold(made: Mapping[str, Any], say: Callable[..., str]) -> str:
    """The text that this recipe makes, by a catalogue's `say`. Raises KeyError where that lacks its key."""
    values = {
        name: retold(value, say) if isinstance(value, dict) else value
        for name, value in made["values"].items()
    }
    return say(made["key"], **values)


def said_in(language: str, say: Callable[..., str], text: str) -> str:
    """The text in this language, by its catalogue's `say`; what was said inside it too.

    Raises ValueError for a text that was put together: nobody is silently told something half in another
    language.
    """
    if not isinstance(text, Worded):
        raise ValueError(f"a text that was put together cannot be said in {language}: {text[:80]}")  # noqa: TRY004 - it is the value that is wrong
    if text.language == language:
        return text
    values = {
        name: said_in(language, say, value) if isinstance(value, Worded) else value
        for name, value in text.values.items()
    }
    return say(text.key, **values)
