"""Commands that read the record: show, verify, rebuild."""

from __future__ import annotations

import asyncio
import json
from typing import Annotated

import typer

from storage import due
from storage.bundle import days_of
from storage.database import open_database
from storage.originals import FolderOriginals
from storage.reading import named_files
from storage.rebuild import contents, rebuild
from storage.six_words import words_read
from storage.verify import verify as verify_store

from ..clock import SystemClock, SystemSecrets
from ..model.errors import StoreUnavailable
from ..rules.escaped import escaped_json, in_one_line
from ..settings import database_url
from ..show import LISTS, show
from ..watch.altered import altered
from ..wiring import open_store, originals_of
from .base import CaseOption, JsonOption, StoreOption, app, findings_said, settings_of


@app.command(name="show")
def show_command(
    what: Annotated[str, typer.Argument(help=f"One of: {', '.join(sorted(LISTS))}.")],
    store: StoreOption,
    case: CaseOption = None,
    as_json: JsonOption = False,
    at: Annotated[str | None, typer.Option("--at", help="Custody: with whom each jar was then.")] = None,
) -> None:
    """Print what the store holds."""
    settings = settings_of(store)

    async def work() -> None:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            lines = await show(opened.database, what, case, at)
        finally:
            await opened.close()
        if as_json:
            typer.echo(escaped_json(json.dumps(lines, ensure_ascii=False)))
        for line in () if as_json else lines:
            typer.echo(
                in_one_line(
                    "  ".join(f"{key}={value}" for key, value in line.items() if value not in (None, [], {}))
                )
            )

    asyncio.run(work())


@app.command()
def verify(
    store: StoreOption,
    as_json: JsonOption = False,
    words: Annotated[
        str | None, typer.Option("--words", help="Six words from a notebook: which day's?")
    ] = None,
    silent: Annotated[bool, typer.Option("--silent", help="Wake nobody: only read.")] = False,
) -> None:
    """Say whether anything was altered, and exactly what; what was is told to who is on the ladder."""
    settings = settings_of(store)
    wanted = None if words is None else words_read(words)

    async def work() -> int:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            async with opened.database.read() as tx:
                verdict = await verify_store(tx)
                files = await named_files(tx)
                days = None if wanted is None else await days_of(tx, wanted)
            found = [*verdict.found, *await _originals_altered(originals_of(store, settings), files)]
            if found and not silent:
                async with opened.work() as work:
                    await due.wait(work.tx, [altered(found, SystemClock().now_us())])
        finally:
            await opened.close()
        if days == []:
            found.append(f"no midnight of this store has the words {wanted}")
        if as_json:
            held = {"entries": verdict.entries, "chains": verdict.chains, "messages": verdict.messages}
            named = {} if days is None else {"days": [day["day"] for day in days]}
            typer.echo(json.dumps({**held, **named, "found": found}))
        else:
            for day in days or ():
                ends = ", ".join(f"{chain} {seq} entries" for chain, (seq, _) in day["heads"].items())
                typer.echo(f"These are the words of {day['day']}: {ends}.")
            typer.echo(f"{verdict.entries} entries in {verdict.chains} chains, {verdict.messages} messages.")
            for sentence in found:
                typer.echo(sentence)
            typer.echo("Nothing was altered." if not found else findings_said(len(found)))
        return 1 if found else 0

    raise typer.Exit(asyncio.run(work()))


async def _originals_altered(originals: FolderOriginals, named: set[str]) -> list[str]:
    """Files with other bytes than their name says, and files on record that are nowhere."""
    names = await originals.check()
    found = [f"original {name}: its bytes do not give its name" for name in names]
    for name in sorted(named - set(await originals.sizes())):
        try:
            await originals.read(name)  # where machines share files, another may have it
        except KeyError:
            found.append(f"original {name}: it is missing")
        except StoreUnavailable:
            continue  # the bucket does not answer: that is told by itself, and no file is missing for it
    return found


@app.command(name="rebuild")
def rebuild_command(store: StoreOption) -> None:
    """Make the tables that people read again from the entries; says whether anything differed."""
    settings = settings_of(store)

    async def work() -> int:
        database = await open_database(database_url(store, settings), busy_s=settings.busy_s)
        try:
            async with database.write() as tx:
                before = await contents(tx)
                counts = await rebuild(tx)
                after = await contents(tx)
                await tx.run("UPDATE store_state SET writes = writes + 1 WHERE id = 1")
        finally:
            await database.close()
        changed = [table for table in before if before[table] != after[table]]
        typer.echo(", ".join(f"{table} {count}" for table, count in counts.items()))
        typer.echo(
            f"Different from before: {', '.join(changed)}." if changed else "Same as before, bit for bit."
        )
        return 1 if changed else 0

    raise typer.Exit(asyncio.run(work()))
