"""Commands that hand a case on: export."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Annotated

import typer

from ..clock import SystemClock, SystemSecrets
from ..export import Exported, Wanted, export
from ..model.errors import AskedWrongly
from ..show import bundle_lists
from ..wiring import open_store
from .base import StoreOption, app, settings_of

CaseArgument = Annotated[str, typer.Argument(help="The case.")]
OutOption = Annotated[Path | None, typer.Option("--out", help="The file to write; without it CASE.zip here.")]


@app.command(name="export")
def export_command(
    case: CaseArgument,
    store: StoreOption,
    out: OutOption = None,
    disclosure: Annotated[
        bool, typer.Option("--disclosure", help="Telephone numbers and accounts stand as commitments.")
    ] = False,
    mask_texts: Annotated[
        bool,
        typer.Option("--mask", help="With --disclosure: every text of a person's is masked whole."),
    ] = False,
) -> None:
    """Write the whole CASE as one zip that proves itself, with a page that opens offline."""
    if mask_texts and not disclosure:
        raise AskedWrongly("--mask goes with --disclosure; give both, or neither.")
    settings = settings_of(store)
    to = out or Path(f"{case.replace('/', '_')}.zip")

    async def work() -> Exported:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            async with opened.database.read() as tx:
                lists = await bundle_lists(tx, case)
                wanted = Wanted(case, SystemClock().now_us(), lists, disclosure, mask_texts)
                return await export(tx, to, store / "originals", wanted)
        finally:
            await opened.close()

    done = asyncio.run(work())
    typer.echo(f"{case} stands in {to}: {done.head[0]} entries, {done.originals} originals.")
    typer.echo(f"Last entry {done.head[1]}; the bundle's own hash {done.fingerprint}. Note both elsewhere.")
    for sentence in done.found:
        typer.echo(sentence)
    raise typer.Exit(1 if done.found else 0)
