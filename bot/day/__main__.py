"""One digest in a process of its own: a job as JSON in, its text and what is behind it as JSON out.

The store's address comes in the job: an argument would show its password to everybody on the machine.
"""

from __future__ import annotations

import asyncio
import json
import sys

from storage.database import open_database

from ..trades import Trades
from . import gather


async def told(store: str, to: str, at_us: int) -> dict[str, str]:
    """The digest for a person at an instant. Raises StoreUnavailable, StoreUnfit."""
    database = await open_database(store, writes=False)
    try:
        async with database.read() as tx:
            found = await gather(tx, Trades().of, to, at_us)
    finally:
        await database.close()
    return {"text": found["text"], "more": found["more"]}


if __name__ == "__main__":
    json.dump(asyncio.run(told(**json.load(sys.stdin))), sys.stdout)
