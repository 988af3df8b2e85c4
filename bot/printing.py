"""Which papers there are, and how each is made from what `show` prints."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any
from zoneinfo import ZoneInfo

from storage import bundle, reading
from storage.database import Tx
from storage.views import read_unit

from .model.entries import UNIT_CHAIN
from .model.errors import AskedWrongly
from .papers import render
from .reports.card import card
from .reports.kit import restock_paper
from .reports.papers import Facts, custody_sheet, exceptions, labels, packing, transmittal
from .reports.record import stated
from .rules.civil_time import local
from .show import show_in
from .trades import par_table

SIZES = {"a4": "a4", "letter": "us-letter"}


@dataclass(frozen=True)
class Order:
    """What is wanted of a paper: its jars (none: all), its boxes, what a transmittal says, and for whom."""

    jars: str | None = None
    boxes: Sequence[str] = ()
    asked: Mapping[str, str] = field(default_factory=dict)
    blind: bool = False


async def make(paper: str, facts: Facts, order: Order) -> bytes:
    """The paper as PDF. Raises AskedWrongly for what is not there, PaperFailed."""
    if paper not in PAPERS:
        raise AskedWrongly(f"There is no paper called {paper}; there are: {', '.join(PAPERS)}.")
    if order.jars is not None:
        wanted = numbers_of(order.jars, facts)
        facts = replace(facts, samples=[jar for jar in facts.samples if jar["number"] in wanted])
        facts = replace(facts, custody=[line for line in facts.custody if line["sample"] in wanted])
    if not facts.samples and paper not in EMPTY:
        raise AskedWrongly(f"No jar of {facts.case} is on record; there is nothing to print.")
    return await render(paper, PAPERS[paper](facts, order))


async def facts_of(tx: Tx, case: str, size: str, now_us: int) -> Facts:
    """What the papers say of a case, as of one instant. Raises AskedWrongly."""
    lists = {name: await show_in(tx, name, case) for name in ("samples", "custody")}
    unit, known = await read_unit(tx), (await reading.cases(tx))[case]
    seq, hash_ = await bundle.head(tx, case)
    return Facts(
        case=case,
        exercise=known.exercise,
        unit=unit.name,
        made_at=stated(local(now_us, ZoneInfo(unit.zone)).replace(microsecond=0).isoformat()),
        head=f"{case}#{seq} {hash_[:16]}",
        size=SIZES[size],
        zone=ZoneInfo(unit.zone),
        roles={name: person.roles for name, person in unit.people.items()},
        samples=lists["samples"],
        custody=lists.get("custody", ()),
    )


async def restock_list(tx: Tx, kits: tuple[str, ...], size: str, now_us: int) -> bytes:
    """The restock list of these kits as PDF. Raises PaperFailed."""
    unit = await read_unit(tx)
    seq, hash_ = await bundle.head(tx, UNIT_CHAIN)

    def on_clock(us: int) -> str:
        return stated(local(us, ZoneInfo(unit.zone)).replace(microsecond=0).isoformat())

    frame = {
        "case": f"Kit {kits[0]}" if len(kits) == 1 else "Kits",
        "exercise": all(unit.kits[name].training for name in kits),
        "unit": unit.name,
        "made_at": on_clock(now_us),
        "head": f"{UNIT_CHAIN}#{seq} {hash_[:16]}",
        "size": SIZES[size],
    }
    return await render("restock", restock_paper(unit, par_table(), kits, frame, on_clock))


def numbers_of(text: str, facts: Facts) -> list[str]:
    """The numbers that a list like "01-05,E07" names, as they stand on the lids. Raises AskedWrongly."""
    known = [str(jar["number"]) for jar in facts.samples]
    found = []
    for part in filter(None, re.split(r"[,\s]+", text)):
        ends = re.fullmatch(r"(\d+)-(\d+)", part)
        if ends is None:
            named = [one for one in known if one == part]
        else:
            named = [one for one in known if one.isdigit() and int(ends[1]) <= int(one) <= int(ends[2])]
        if not named:
            raise AskedWrongly(f"No jar {part} is on record in {facts.case}; name others.")
        found.extend(named)
    return found


def _boxes(facts: Facts, order: Order) -> list[list[str]]:
    """The jars of each box. Raises AskedWrongly for a jar in two."""
    boxes = [numbers_of(box, facts) for box in order.boxes]
    packed = [number for box in boxes for number in box]
    twice = sorted({number for number in packed if packed.count(number) > 1})
    if twice:
        raise AskedWrongly(f"{' '.join(twice)} cannot be in two boxes; name each jar once.")
    return boxes


PAPERS: dict[str, Callable[[Facts, Order], dict[str, Any]]] = {
    "custody": lambda facts, order: custody_sheet(facts, _boxes(facts, order), order.blind),
    "labels": lambda facts, order: labels(facts),
    "transmittal": lambda facts, order: transmittal(facts, order.asked),
    "packing": lambda facts, order: packing(facts, _boxes(facts, order)),
    "exceptions": lambda facts, order: exceptions(facts),
    "card": lambda facts, order: card(facts),
}
EMPTY = ("card",)  # what is printed before there is a jar
