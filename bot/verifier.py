"""Verifies the record after each midnight, in a process of its own; what it finds is told at once."""

from __future__ import annotations

import asyncio
import json
import os
import sys
from pathlib import Path

from storage import due
from storage.work import Work

from .errands import Finish, nothing
from .model.errand import Errand
from .model.errors import ErrandFailed
from .model.message import Outgoing
from .ports import Clock
from .watch.altered import altered

ROOT = Path(__file__).resolve().parent.parent


class Verifier:
    """The doer of `verify` errands over the store in this folder."""

    def __init__(self, folder: Path, clock: Clock) -> None:
        self._folder = folder
        self._clock = clock

    async def __call__(self, errand: Errand) -> Finish:
        """Return what raises the alert, nothing where nothing was altered. Raises ErrandFailed."""
        found = await found_by_a_child(self._folder)
        now_us = self._clock.now_us()

        async def finish(work: Work) -> list[Outgoing]:
            await due.wait(work.tx, [altered(found, now_us)])
            return []

        return finish if found else nothing


async def found_by_a_child(folder: Path) -> list[str]:
    """What `coldjar verify` finds, from a process that takes its memory with it. Raises ErrandFailed."""
    found_in = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    child = await asyncio.create_subprocess_exec(
        *(sys.executable, "-P", "-m", "bot", "verify", "--store", str(folder), "--json", "--silent"),
        env={**os.environ, "PYTHONPATH": os.pathsep.join(found_in)},
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        answer, said = await child.communicate()
    finally:
        if child.returncode is None:
            child.kill()
            await child.wait()
    try:
        found: list[str] = json.loads(answer)["found"]
    except ValueError as problem:
        last = said.decode(errors="replace").strip().rpartition("\n")[2]
        raise ErrandFailed(f"The record could not be verified: {last[:200] or child.returncode}") from problem
    return found
