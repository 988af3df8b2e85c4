"""A season's kits: how long it takes to list what they lack."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

from bot.clock import SeededSecrets
from bot.model.entries import (
    UNIT_CHAIN,
    Body,
    CaseOpened,
    Draft,
    FactTold,
    ItemTold,
    KitInspected,
    KitSet,
    PersonSet,
    SampleDeclared,
    SampleTold,
)
from bot.settings import Settings
from bot.show import restock, show
from bot.trades import par_table
from bot.wiring import open_store
from storage.work import Store

CASES, JARS, KITS = 200, 5_000, 40
METHODS = ("jar", "pad", "net", "ring")


def draft(chain: str, body: Body, at_us: int = 1) -> Draft:
    return Draft(chain=chain, body=body, author="R1", channel="sms", said_us=at_us, received_us=at_us)


def kit_drafts(kits: int) -> list[Draft]:
    """Kits of 24 numbers each, all counted, each short of something."""
    found = [draft(UNIT_CHAIN, PersonSet(name="R1", roles=("responder",), gloves="L"))]
    for kit in range(kits):
        first = 1 + kit * 24
        found.append(draft(UNIT_CHAIN, KitSet(name=f"K{kit}", numbers=(first, first + 23), seals=("1", "24"))))
        told = tuple(
            ItemTold(item=item.id, count=max(0, item.par(16) - kit % 3), raw=item.name)
            for item in par_table().item
        )
        found.append(draft(UNIT_CHAIN, KitInspected(kit=f"K{kit}", fresh=True, told=told)))
    return found


def jar_drafts(case: str, first: int, count: int, seq: int) -> list[Draft]:
    """Jars of one case, two entries each; the second cites the first's id."""
    found = []
    for jar in range(count):
        number = str((first + jar) % (KITS * 24) + 1)
        id_ = f"{case}#{seq + 2 * jar}"
        found.append(draft(case, SampleDeclared(sample=id_, number=number, number_key=number), 2))
        method = METHODS[jar % len(METHODS)]
        facts = tuple(
            FactTold(field=field, value=value, raw=value)
            for field, value in (("kind", "spill"), ("method", method), ("matrix", "sheen"))
        )
        found.append(draft(case, SampleTold(sample=id_, facts=facts), 2))
    return found


async def fill(store: Store, cases: int, jars: int, kits: int) -> None:
    """The season is on record."""
    each = jars // cases
    async with store.work() as work:
        await work.change_unit(kit_drafts(kits))
        names = [f"CH-{case:03d}" for case in range(cases)]
        opened = [
            CaseOpened(name=n, exercise=False, kits=(f"K{i % kits}",), opened="2026-03-01T08:00:00+00:00")
            for i, n in enumerate(names)
        ]
        await work.change_unit([draft(body.name, body) for body in opened])
        for index, name in enumerate(names):
            await work.record(jar_drafts(name, index * each, each, 2))


async def median_ms(work: Callable[[], Awaitable[object]]) -> float:
    took = []
    for _ in range(7):
        began = time.perf_counter()
        await work()
        took.append((time.perf_counter() - began) * 1000)
    return sorted(took)[len(took) // 2]


async def season(smoke: bool) -> dict[str, float]:
    """Milliseconds to list a season's kits with their shortfalls, and the restock list alone."""
    cases, jars, kits = (10, 250, 4) if smoke else (CASES, JARS, KITS)
    with tempfile.TemporaryDirectory(prefix="coldjar-bench-") as made:
        secrets = SeededSecrets("bench")
        store = await open_store(Path(made), Settings(), secrets, make=True)
        try:
            await fill(store, cases, jars, kits)
            listed = await show(store.database, "kit", None)
            assert len(listed) == kits
            assert any(kit["shortfalls"] for kit in listed)
            return {
                "list ms": await median_ms(lambda: show(store.database, "kit", None)),
                "restock ms": await median_ms(lambda: restock(store.database, None)),
                "jars": jars,
                "kits": kits,
            }
        finally:
            await store.close()
