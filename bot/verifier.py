"""Verifies the record after each midnight, in a process of its own; what it finds is told at once."""

from __future__ import annotations

from pathlib import Path

from storage import due
from storage.work import Work

from .children import answer_of
from .errands import Finish
from .model.errand import Errand
from .model.message import Outgoing
from .ports import Clock
from .watch.altered import altered


class Verifier:
    """The doer of `verify` errands over the store in this folder."""

    def __init__(self, folder: Path, clock: Clock) -> None:
        self._folder = folder
        self._clock = clock

    async def __call__(self, errand: Errand) -> Finish:
        """Return what raises the alert, or ends it where nothing is altered. Raises ErrandFailed."""
        found = await found_by_a_child(self._folder)
        now_us = self._clock.now_us()

        async def finish(work: Work) -> list[Outgoing]:
            await due.wait(work.tx, [altered(found, now_us)])
            return []

        return finish


async def found_by_a_child(folder: Path) -> list[str]:
    """What `coldjar verify` finds, from a process that takes its memory with it. Raises ErrandFailed."""
    command = ["bot", "verify", "--store", str(folder), "--json", "--silent"]
    answer = await answer_of("The record's verifying", command, None, longest_s=None)
    found: list[str] = answer["found"]
    return found
