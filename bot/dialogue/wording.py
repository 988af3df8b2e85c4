"""Every sentence that the line says, by key; the catalogues hold the words."""

from __future__ import annotations

from collections.abc import Mapping

from ..rules.worded import DEFAULT, Worded, said_in


class Words:
    """One language's catalogue. A key that it lacks is an error, never a blank and never another language."""

    def __init__(self, catalogue: Mapping[str, str], language: str = DEFAULT) -> None:
        self._catalogue = catalogue
        self.language = language

    def say(self, key: str, **values: object) -> str:
        """The sentence with its values. Raises KeyError for an unknown key or a missing value."""
        return Worded.of(self._catalogue[key].format_map(values), key, values, self.language)

    def has(self, key: str) -> bool:
        """True where the catalogue holds this key."""
        return key in self._catalogue

    def said_again(self, text: str, language: str) -> str:
        """A text of another language in this one; as it stands where it was put together from parts.

        Better told whole in the line's own language than not at all: it may be what wakes somebody.
        """
        if language == self.language:
            return text
        try:
            return said_in(self.language, self.say, text)
        except ValueError:
            return text
