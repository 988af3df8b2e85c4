"""Every sentence that the line says, by key; the catalogues hold the words."""

from __future__ import annotations

from collections.abc import Mapping


class Words:
    """One language's catalogue. A key that it lacks is an error, never a blank."""

    def __init__(self, catalogue: Mapping[str, str]) -> None:
        self._catalogue = catalogue

    def say(self, key: str, **values: object) -> str:
        """The sentence with its values. Raises KeyError for an unknown key or a missing value."""
        return self._catalogue[key].format_map(values)

    def has(self, key: str) -> bool:
        """True where the catalogue holds this key."""
        return key in self._catalogue
