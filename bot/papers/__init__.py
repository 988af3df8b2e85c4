"""Papers as PDF and drawings as PNG, each set in a process of its own, so that its memory goes with it."""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Mapping
from importlib.resources import as_file, files
from typing import Any

from ..model.errors import ColdjarError

LONGEST_S = 60.0


class PaperFailed(ColdjarError):
    """A paper could not be set."""


async def render(template: str, values: Mapping[str, Any]) -> bytes:
    """The PDF of a template (`custody`, `labels`, …) filled with these values. Raises PaperFailed."""
    return await _set({"template": f"{template}.typ", "values": values, "as": {"format": "pdf"}})


async def picture(svg: str) -> bytes:
    """A drawing as PNG, 1,080 pixels wide. Raises PaperFailed."""
    job = {"template": "picture.typ", "values": {"svg": svg}, "as": {"format": "png", "ppi": 216}}
    return await _set(job)


async def _set(job: Mapping[str, Any]) -> bytes:
    with as_file(files("bot.reports") / "templates") as folder, as_file(files(__package__)) as here:
        child = await asyncio.create_subprocess_exec(
            *(sys.executable, "-I", str(here / "typeset.py"), str(folder)),
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
        )
        try:
            made, said = await asyncio.wait_for(child.communicate(json.dumps(job).encode()), LONGEST_S)
        except TimeoutError as problem:
            child.kill()
            await child.wait()
            raise PaperFailed("The paper took too long to set; print fewer jars at a time.") from problem
    if child.returncode:
        last = said.decode(errors="replace").strip().rpartition("\n")[2]
        raise PaperFailed(f"The paper could not be set ({last}); see that the program is whole.")
    return made
