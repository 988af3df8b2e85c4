"""What was read or written lately, at hand as values: most of it is asked for again by the next message."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from bot.model.board import Conversation
from bot.model.errand import Errand, ErrandKey
from bot.model.shelf import MOST, Shelf

from .projections import Columns

K = TypeVar("K")
T = TypeVar("T")


class Recent:
    """The last jars, conversations and errands asked for, as committed; empty where another wrote."""

    def __init__(self) -> None:
        self.shelf = Shelf()
        self.columns: dict[str, Columns] = {}  # of the jars on the shelf, as their rows stand
        self.conversations: dict[str, Conversation] = {}
        self.errands: dict[ErrandKey, Errand] = {}

    def remember(
        self, conversations: Mapping[str, Conversation], errands: Mapping[ErrandKey, Errand]
    ) -> None:
        """These rows were committed, and so was all that is on the shelf."""
        if self.shelf.is_full:
            self.forget_jars()
        remember(self.conversations, conversations, MOST)
        remember(self.errands, errands, MOST)

    def forget(self) -> None:
        """Nothing is at hand any more."""
        self.forget_jars()
        self.conversations.clear()
        self.errands.clear()

    def forget_jars(self) -> None:
        """No jar is at hand any more."""
        self.shelf = Shelf()
        self.columns.clear()


def remember(kept: dict[K, T], fresh: Mapping[K, T], most: int) -> None:
    """What was committed is at hand, within bounds."""
    if len(kept) + len(fresh) > most:
        kept.clear()
    kept.update(fresh)
