"""The supervisor's day as a command: digest."""

from __future__ import annotations

import asyncio
import json
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from storage.views import read_unit

from ..administer import known_person
from ..clock import SystemClock, SystemSecrets
from ..day import gather, instant_of_day
from ..model.errors import AskedWrongly
from ..model.people import Unit
from ..papers import render
from ..reports.digest_paper import digest_paper
from ..rules.roles import Action, may
from ..trades import Trades
from ..wiring import open_store
from .base import JsonOption, StoreOption, app, settings_of


@app.command(name="digest")
def digest_command(
    store: StoreOption,
    on: Annotated[str | None, typer.Option("--date", help="A day like 2026-10-12; today without it.")] = None,
    to: Annotated[str | None, typer.Option("--to", help="For whom; the first supervisor without it.")] = None,
    pdf: Annotated[Path | None, typer.Option("--pdf", help="Write it as pages into this file.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Print the digest of a day, as it stood at its hour; of today as it stands now."""
    settings = settings_of(store)
    clock = SystemClock()

    async def work() -> None:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            async with opened.database.read() as tx:
                unit = await read_unit(tx)
                name = _first(unit) if to is None else _supervisor(unit, to)
                if on is None:
                    at_us, past = clock.now_us(), False
                else:
                    at_us, past = instant_of_day(_day(on), unit, name, clock.now_us())
                trades = Trades()
                found = await gather(tx, trades.of, name, at_us, past=past)
        finally:
            await opened.close()
        if pdf is not None:
            trade = trades.of(unit)
            values = digest_paper(found, trade.area, trade.zone, trade.limits)
            _write(pdf, await render("digest", values))
        elif as_json:
            typer.echo(json.dumps(found, ensure_ascii=False))
        else:
            typer.echo("\n".join(filter(None, (found["text"], found["more"]))))

    asyncio.run(work())


def _first(unit: Unit) -> str:
    people = (one for role in ("supervisor", "deputy", "duty_office") for one in unit.with_role(role))
    first = next(people, None)
    if first is None:
        raise AskedWrongly("Nobody here is a supervisor; name somebody with --to.")
    return first.name


def _supervisor(unit: Unit, name: str) -> str:
    """This person, who gets digests. Raises AskedWrongly."""
    if not may(known_person(unit, name), Action.HEAR_ALERTS):
        names = ", ".join(sorted(one.name for one in unit.people.values() if may(one, Action.HEAR_ALERTS)))
        raise AskedWrongly(f"{name} gets no digest; these do: {names or 'nobody yet'}.")
    return name


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as problem:
        raise AskedWrongly(f"{text} is no day; write it like 2026-10-12.") from problem


def _write(file: Path, made: bytes) -> None:
    try:
        file.write_bytes(made)
    except OSError as problem:
        raise AskedWrongly(f"{file} cannot be written: {problem.strerror}; name another file.") from problem
