"""Commands of kits: the restock list."""

from __future__ import annotations

import asyncio
from typing import Annotated

import typer

from ..clock import SystemSecrets
from ..show import restock
from ..wiring import open_store
from .base import StoreOption, app, settings_of


@app.command(name="restock")
def restock_command(
    store: StoreOption,
    kit: Annotated[str | None, typer.Option("--kit", help="Only this kit.")] = None,
) -> None:
    """Print what the kits lack by their last count, in buying order, as CSV."""
    settings = settings_of(store)

    async def work() -> None:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            typer.echo(await restock(opened.database, kit), nl=False)
        finally:
            await opened.close()

    asyncio.run(work())
