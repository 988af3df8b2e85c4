"""Commands of exercises: drill."""

from __future__ import annotations

import asyncio
from typing import Annotated

import typer

from ..clock import SystemClock, SystemSecrets
from ..drilling import Asked, begin, score_now
from ..model.errors import AskedWrongly
from ..model.times import iso_utc
from ..trades import drills
from ..wiring import open_store
from .base import StoreOption, app, settings_of

SLOWEST, FASTEST = 0.1, 60


@app.command(name="drill")
def drill_command(
    name: Annotated[str, typer.Argument(help=f"One of: {', '.join(sorted(drills()))}.")],
    store: StoreOption,
    crew: Annotated[
        list[str] | None, typer.Option("--crew", help="Whose phones, once each; else all crews'.")
    ] = None,
    instructor: Annotated[str | None, typer.Option("--instructor", help="Who gets the score.")] = None,
    kit: Annotated[str | None, typer.Option("--kit", help="Which training kit.")] = None,
    cooler: Annotated[str, typer.Option("--cooler", help="The drill's own cooler, by name.")] = "T",
    pace: Annotated[float, typer.Option("--pace", help="2 is twice as fast.")] = 1.0,
    score: Annotated[str | None, typer.Option("--score", help="Print how this drill's case stands.")] = None,
) -> None:
    """Run an exercise on the crew's own phones; `serve` sends its texts and scores it at the end."""
    if not SLOWEST <= pace <= FASTEST:
        raise AskedWrongly(f"--pace goes from {SLOWEST} to {FASTEST}; 2 is twice as fast.")
    settings = settings_of(store)
    asked = Asked(tuple(crew or ()), instructor, kit, cooler, pace)

    async def work() -> str:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            if score is not None:
                return await score_now(opened, name, score)
            begun = await begin(opened, SystemClock(), name, asked)
        finally:
            await opened.close()
        crew_names = " ".join(begun.crew)
        return (
            f"{begun.case} has begun with {crew_names}; {begun.texts} texts go out while `serve` runs. "
            f"{begun.instructor} gets the score at {iso_utc(begun.ends_us)}."
        )

    typer.echo(asyncio.run(work()))
