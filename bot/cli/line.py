"""Commands that run the line: setup, replay, serve, demo."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Annotated

import typer

from ..clock import SeededSecrets, SystemClock, SystemSecrets, VirtualClock
from ..install import apply_setup
from ..model.errors import AskedWrongly
from ..replay import channels_for, play, read_script
from ..serve import run_demo, run_serve
from ..setup import read_setup
from ..wiring import build, open_store, store_key
from .base import FileArgument, StoreOption, app, settings_of, text_of


@app.command()
def setup(file: FileArgument, store: StoreOption) -> None:
    """Bring the unit to what FILE says; each change is an entry. Prints sign-in links for web addresses."""
    settings = settings_of(store)
    text = text_of(file)
    read_setup(text)

    async def work() -> None:
        opened = await open_store(store, settings, SystemSecrets(), make=True)
        try:
            key = store_key(store, SystemSecrets(), make=True)
            result = await apply_setup(opened, text, SystemClock(), SystemSecrets(), key)
        finally:
            await opened.close()
        base = settings.public_url or f"http://{settings.host}:{settings.port}"
        typer.echo(f"{result.changes} changes on record.")
        for person, token in result.links:
            typer.echo(f"{person}: {base}/in/{token}")

    asyncio.run(work())


@app.command()
def replay(file: FileArgument, store: StoreOption) -> None:
    """Play messages from FILE (JSON Lines) through the real line on a clock of its own."""
    settings = settings_of(store)
    text = text_of(file)
    lines = read_script(text)

    async def work() -> None:
        clock = VirtualClock(lines[0].at_us if lines else 0)
        opened = await open_store(store, settings, SeededSecrets(text))
        try:
            channels = channels_for(lines, clock, typer.echo)
            house = build(opened, store, channels, clock, "replay", store_key(store, SystemSecrets()))
            await house.pump.start()
            await house.errands.start()
            await play(house, clock, lines, file.parent)
        finally:
            await opened.close()

    asyncio.run(work())


@app.command()
def serve(store: StoreOption) -> None:
    """Run the whole line in one process, until it is stopped."""
    settings = settings_of(store)
    run_serve(store, settings)


@app.command()
def demo(
    port: Annotated[int, typer.Option(help="Where the page listens here; 0 takes a free one.")] = 8765,
    store: Annotated[
        Path | None, typer.Option("--store", help="Keep it here instead of a new folder.")
    ] = None,
) -> None:
    """An invented harbour as an exercise, the web chat open on this machine only; no account needed."""
    if not 0 <= port < 65536:
        raise AskedWrongly(f"There is no port {port}; take one from 1 to 65535, or 0 for a free one.")
    run_demo(port, store)
