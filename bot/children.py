"""Slow work in a process of its own: its memory goes with it, and it stands behind replies."""

from __future__ import annotations

import asyncio
import json
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from .model.errors import ErrandFailed

ROOT = Path(__file__).resolve().parent.parent
BEHIND = 10  # steps of niceness behind the line itself
SLOW_S = 60.0


async def answer_of(what: str, module: Sequence[str], job: Any, longest_s: float | None = SLOW_S) -> Any:
    """Return what `python -m` MODULE answers to a job, JSON both ways. Raises ErrandFailed.

    `what` it makes is for people. A child that is too slow, or that nobody waits for any more, is killed.
    """
    child = await asyncio.create_subprocess_exec(
        # -P: whatever lies in the current directory is not imported.
        *(sys.executable, "-P", "-m", *module),
        env=_environment(),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        with suppress(ProcessLookupError):  # it is over already: what it said tells
            os.setpriority(os.PRIO_PROCESS, child.pid, os.getpriority(os.PRIO_PROCESS, 0) + BEHIND)
        async with asyncio.timeout(longest_s):
            answer, said = await child.communicate(json.dumps(job).encode())
    except TimeoutError as problem:
        raise ErrandFailed(f"{what} took longer than {longest_s:g} s") from problem
    finally:
        if child.returncode is None:
            child.kill()
            await child.wait()
    try:
        return json.loads(answer)
    except ValueError as problem:
        last = said.decode(errors="replace").strip().rpartition("\n")[2]
        raise ErrandFailed(f"{what} ended with: {last[:200] or child.returncode}") from problem


def _environment() -> dict[str, str]:
    """Ours, with this checkout found first and one thread for arithmetic: replies need the other core."""
    found_in = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(found_in), "OPENBLAS_NUM_THREADS": "1"}
