"""A case's papers and its bundle, each made in a process of its own: of hundreds of jars they delay replies.

As a program it takes a job as JSON and answers with JSON; the file itself stands at the path it was given.
"""

from __future__ import annotations

import asyncio
import json
import sys
import tempfile
from pathlib import Path
from typing import Any

from storage.database import Database, Tx, open_database

from .children import answer_of
from .export import Wanted, export
from .model.errors import AskedWrongly, ColdjarError
from .page.base import Makers
from .ports import Clock
from .printing import Order, facts_of, make
from .show import bundle_lists

LONGEST_S = 600.0  # hundreds of photos are copied


def makers(database: Database, originals: Path, clock: Clock) -> Makers:
    """How the register has papers and bundles made. Both raise AskedWrongly or ErrandFailed."""

    async def made(case: str, paper: str | None, to: Path) -> str:
        places = {"store": database.url, "originals": str(originals), "to": str(to)}
        job = {**places, "case": case, "paper": paper, "now_us": clock.now_us()}
        answer = await answer_of("The file's process", ["bot.handing"], job, LONGEST_S)
        if answer["refused"] is not None:
            raise AskedWrongly(answer["refused"])
        return str(answer["sha256"])

    async def paper(case: str, paper: str) -> bytes:
        with tempfile.TemporaryDirectory(prefix="coldjar-") as folder:
            to = Path(folder) / "made.pdf"
            await made(case, paper, to)
            return await asyncio.to_thread(to.read_bytes)

    async def bundle(case: str, to: Path) -> str:
        return await made(case, None, to)

    return Makers(paper, bundle)


async def _done(job: dict[str, Any]) -> dict[str, str | None]:
    """What a child answers: why there is no file, or a bundle's own hash."""
    database = await open_database(job["store"], writes=False)
    try:
        async with database.read() as tx:
            return {"refused": None, "sha256": await _file(tx, job)}
    except ColdjarError as refusal:
        return {"refused": str(refusal), "sha256": None}
    finally:
        await database.close()


async def _file(tx: Tx, job: dict[str, Any]) -> str | None:
    case, to, now_us = job["case"], Path(job["to"]), job["now_us"]
    if job["paper"] is None:
        wanted = Wanted(case, now_us, await bundle_lists(tx, case))
        return (await export(tx, to, Path(job["originals"]), wanted)).fingerprint
    pdf = await make(job["paper"], await facts_of(tx, case, "a4", now_us), Order())
    await asyncio.to_thread(to.write_bytes, pdf)
    return None


if __name__ == "__main__":
    json.dump(asyncio.run(_done(json.load(sys.stdin))), sys.stdout)
