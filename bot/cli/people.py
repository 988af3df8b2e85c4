"""Commands about who is at the other end: code."""

from __future__ import annotations

import asyncio
from typing import Annotated

import typer

from ..administer import issue_code
from ..clock import SystemClock, SystemSecrets
from ..model.errors import AskedWrongly
from ..model.times import utc
from ..wiring import open_store, store_key
from .base import StoreOption, app, settings_of


@app.command(name="code")
def code_command(
    name: Annotated[str, typer.Argument(help="The person it is for.")],
    store: StoreOption,
    enrol: Annotated[bool, typer.Option("--enrol", help="For a new phone: counts once, for a day.")] = False,
    personal: Annotated[bool, typer.Option("--personal", help="For seals and hand-overs by SMS.")] = False,
) -> None:
    """Make a code and show it here, once; only a commitment of it is kept. Say it by voice."""
    if enrol == personal:
        raise AskedWrongly("Say what the code is for: --enrol for a new phone, --personal for seals by SMS.")
    settings = settings_of(store)

    async def work() -> tuple[str, int]:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            key = store_key(store, SystemSecrets())
            purpose = "enrol" if enrol else "personal"
            return await issue_code(opened, name, purpose, SystemClock(), SystemSecrets(), key)
        finally:
            await opened.close()

    code, until_us = asyncio.run(work())
    if enrol:
        shown = "-".join(code[at : at + 4] for at in range(0, len(code), 4))
        typer.echo(f"{name}: {shown}")
        typer.echo(
            f"Good once, until {utc(until_us):%Y-%m-%d %H:%M} UTC. {name} texts it from the new phone."
        )
    else:
        typer.echo(f"{name}: {code}")
        typer.echo(
            f"{name} adds it to seals and hand-overs by SMS: code {code}. The one before counts no more."
        )
