"""Commands for whoever runs a unit: code, admin."""

from __future__ import annotations

import asyncio
from typing import Annotated

import typer

from ..administer import give_order, issue_code
from ..clock import SystemClock, SystemSecrets
from ..model.errors import AskedWrongly
from ..model.times import utc
from ..trades import Trades
from ..wiring import open_store, store_key
from .base import StoreOption, app, settings_of


@app.command(name="code")
def code_command(
    name: Annotated[str, typer.Argument(help="The person it is for.")],
    store: StoreOption,
    enrol: Annotated[bool, typer.Option("--enrol", help="For a new phone: counts once, for a day.")] = False,
    personal: Annotated[bool, typer.Option("--personal", help="For seals and hand-overs by SMS.")] = False,
    once: Annotated[bool, typer.Option("--once", help="For one hand-over on somebody else's phone.")] = False,
) -> None:
    """Make a code and show it here, once; only a commitment of it is kept. Say it by voice."""
    purposes = [name for name, asked in (("enrol", enrol), ("personal", personal), ("once", once)) if asked]
    if len(purposes) != 1:
        raise AskedWrongly(
            "Say what the code is for: --enrol for a new phone, --personal for seals by SMS, "
            "--once for a hand-over on somebody else's phone."
        )
    settings = settings_of(store)

    async def work() -> tuple[str, int]:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            key = store_key(store, SystemSecrets())
            return await issue_code(opened, name, purposes[0], SystemClock(), SystemSecrets(), key)
        finally:
            await opened.close()

    code, until_us = asyncio.run(work())
    if enrol:
        shown = "-".join(code[at : at + 4] for at in range(0, len(code), 4))
        typer.echo(f"{name}: {shown}")
        typer.echo(
            f"Good once, until {utc(until_us):%Y-%m-%d %H:%M} UTC. {name} texts it from the new phone."
        )
    elif once:
        typer.echo(f"{name}: {code}")
        typer.echo(
            f"Good once, until {utc(until_us):%Y-%m-%d %H:%M} UTC. "
            f"{name} types it behind the seals: code {code}."
        )
    else:
        typer.echo(f"{name}: {code}")
        typer.echo(
            f"{name} adds it to seals and hand-overs by SMS: code {code}. The one before counts no more."
        )


@app.command(name="admin")
def admin_command(
    words: Annotated[list[str], typer.Argument(help="The order, as it would be texted.")],
    store: StoreOption,
    as_person: Annotated[str, typer.Option("--as", help="Whose order it is.")],
) -> None:
    """Give an order as it would be texted: add and retire, close and reopen, revoke. Each is an entry."""
    settings = settings_of(store)

    async def work() -> list[str]:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            return await give_order(opened, Trades().of, as_person, " ".join(words), SystemClock())
        finally:
            await opened.close()

    for answer in asyncio.run(work()):
        typer.echo(answer)
