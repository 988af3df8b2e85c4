"""Commands of kits: the restock list."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Annotated

import typer

from storage.views import read_unit

from ..clock import SystemClock, SystemSecrets
from ..model.errors import AskedWrongly, StoreUnavailable
from ..printing import SIZES, restock_list
from ..show import kits_named, restock
from ..wiring import open_store
from .base import StoreOption, app, settings_of


@app.command(name="restock")
def restock_command(
    store: StoreOption,
    kit: Annotated[str | None, typer.Option("--kit", help="Only this kit.")] = None,
    pdf: Annotated[Path | None, typer.Option("--pdf", help="Write it as PDF instead.")] = None,
    size: Annotated[str, typer.Option("--size", help="a4 or letter.")] = "a4",
) -> None:
    """Print what the kits lack by their last count, in buying order, as CSV or to a PDF."""
    if size not in SIZES:
        raise AskedWrongly(f"There is no paper size {size}; there are: {', '.join(SIZES)}.")
    settings = settings_of(store)

    async def work() -> str | bytes:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            if pdf is None:
                return await restock(opened.database, kit)
            async with opened.database.read() as tx:
                kits = kits_named(await read_unit(tx), kit)
                if not kits:
                    raise AskedWrongly("No kit is set up; add one under kits in the unit's file.")
                return await restock_list(tx, kits, size, SystemClock().now_us())
        finally:
            await opened.close()

    made = asyncio.run(work())
    if pdf is None or isinstance(made, str):
        typer.echo(made, nl=False)
        return
    try:
        pdf.write_bytes(made)
    except OSError as problem:
        why = problem.strerror
        raise StoreUnavailable(f"{pdf} cannot be written: {why}; name another file.") from problem
    typer.echo(f"{pdf} is written.")
