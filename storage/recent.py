"""What was written lately, at hand as values: most of it is asked for again by the next message."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from bot.model.board import Conversation
from bot.model.errand import Errand, ErrandKey
from bot.model.sample import Sample

K = TypeVar("K")
T = TypeVar("T")
MOST = 512  # of each sort; beyond it one begins anew


class Recent:
    """The last jars, conversations and errands asked for, as committed; empty where another wrote."""

    def __init__(self) -> None:
        self.samples: dict[str, Sample] = {}
        self.conversations: dict[str, Conversation] = {}
        self.errands: dict[ErrandKey, Errand] = {}

    def remember(
        self,
        samples: Mapping[str, Sample],
        conversations: Mapping[str, Conversation],
        errands: Mapping[ErrandKey, Errand],
    ) -> None:
        """These rows were committed."""
        remember(self.samples, samples, MOST)
        remember(self.conversations, conversations, MOST)
        remember(self.errands, errands, MOST)

    def forget(self) -> None:
        """Nothing is at hand any more."""
        self.samples.clear()
        self.conversations.clear()
        self.errands.clear()


def remember(kept: dict[K, T], fresh: Mapping[K, T], most: int) -> None:
    """What was committed is at hand, within bounds."""
    if len(kept) + len(fresh) > most:
        kept.clear()
    kept.update(fresh)
