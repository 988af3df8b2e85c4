"""Commands that put a case on paper: print."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Annotated

import typer

from ..clock import SystemClock, SystemSecrets
from ..model.errors import AskedWrongly, StoreUnavailable
from ..printing import PAPERS, SIZES, Order, facts_of, make
from ..wiring import open_store
from .base import StoreOption, app, settings_of
from .evidence import CaseArgument


@app.command(name="print")
def print_command(
    paper: Annotated[str, typer.Argument(help=f"One of: {', '.join(PAPERS)}.")],
    case: CaseArgument,
    store: StoreOption,
    out: Annotated[
        Path | None, typer.Option("--out", help="The PDF; without it CASE-PAPER.pdf here.")
    ] = None,
    size: Annotated[str, typer.Option("--size", help="a4 or letter.")] = "a4",
    jars: Annotated[str | None, typer.Option("--jars", help="Only these, like 01-05,08.")] = None,
    box: Annotated[
        list[str] | None, typer.Option("--box", help="custody, packing: the jars of a box, once a box.")
    ] = None,
    blind: Annotated[bool, typer.Option("--blind", help="custody: every seal left empty.")] = False,
    to: Annotated[str, typer.Option("--to", help="transmittal: the laboratory.")] = "",
    question: Annotated[str, typer.Option("--question", help="transmittal: what is asked.")] = "",
    by: Annotated[str, typer.Option("--by", help="transmittal: who asks.")] = "",
    contact: Annotated[str, typer.Option("--contact", help="transmittal: whom to answer.")] = "",
    deadline: Annotated[str, typer.Option("--deadline", help="transmittal: wanted by.")] = "",
    afterwards: Annotated[str, typer.Option("--afterwards", help="transmittal: return or retain.")] = "",
) -> None:
    """Write a paper of CASE as PDF, black on white; an exercise is marked on every page."""
    if size not in SIZES:
        raise AskedWrongly(f"There is no paper size {size}; there are: {', '.join(SIZES)}.")
    asked = {"to": to, "question": question, "by": by, "contact": contact, "deadline": deadline}
    order = Order(jars, box or (), {**asked, "afterwards": afterwards}, blind)
    settings = settings_of(store)

    async def work() -> bytes:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            async with opened.database.read() as tx:
                facts = await facts_of(tx, case, size, SystemClock().now_us())
        finally:
            await opened.close()
        return await make(paper, facts, order)

    file = out or Path(f"{case.replace('/', '_')}-{paper}.pdf")
    pdf = asyncio.run(work())
    try:
        file.write_bytes(pdf)
    except OSError as problem:
        raise StoreUnavailable(
            f"{file} cannot be written: {problem.strerror}; name another file."
        ) from problem
    typer.echo(f"{file} is written.")
