"""The register over a unit with many stored jars: how long its first sheet and a case take, and how heavy they are."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import httpx
from kits import draft, jar_drafts

from bot.channels.webchat import WebChat
from bot.clock import SeededSecrets, SystemClock
from bot.model.entries import (
    UNIT_CHAIN,
    CaseClosed,
    CaseOpened,
    CoolerSet,
    Draft,
    PersonSet,
    SampleConfirmed,
    UnitSet,
)
from bot.page import StoredRegister
from bot.page.base import Makers
from bot.page.links import PageLinks
from bot.settings import Settings
from bot.sign_in import SignIn
from bot.trades import Trades
from bot.web.app import build_app
from bot.wiring import open_store
from storage.work import Store

ORIGIN = "http://127.0.0.1"
OPEN_CASES, OPEN_JARS, EACH = 10, 200, 50


async def fill(store: Store, jars: int) -> None:
    """Ten open cases with 200 jars that wait, and closed ones with all the others, all confirmed."""
    async with store.work() as work:
        salted = (await work.commitments(["web:s1"]))["web:s1"]
        person = PersonSet(name="S1", roles=("supervisor",), addresses=(salted,))
        unit = [UnitSet(name="Corrowby Haven", zone="UTC"), person, CoolerSet(name="M", cooler_class="50 L ordinary")]
        await work.change_unit([draft(UNIT_CHAIN, body) for body in unit])
    closed = jars // EACH
    for index in range(closed + OPEN_CASES):
        name = f"CH-{index:05d}"
        body = CaseOpened(name=name, exercise=False, opened="2026-03-01T08:00:00+00:00")
        is_open = index >= closed
        count = OPEN_JARS // OPEN_CASES if is_open else EACH
        async with store.work() as work:
            await work.change_unit([draft(name, body)])
            told = jar_drafts(name, 0, count, 2)
            await work.record(told if is_open else [*told, *_settled(name, told)])


def _settled(name: str, told: list[Draft]) -> list[Draft]:
    ids: list[Any] = [one.body.about[0] for one in told[::2]]
    return [*(draft(name, SampleConfirmed(sample=id_)) for id_ in ids), draft(name, CaseClosed(why="season over"))]


async def pages(smoke: bool) -> dict[str, float]:
    """Milliseconds at the server for the first sheet and a case's, and their kilobytes."""
    jars = 1_000 if smoke else 100_000
    with tempfile.TemporaryDirectory(prefix="coldjar-bench-") as made:
        secrets, clock = SeededSecrets("bench"), SystemClock()
        store = await open_store(Path(made), Settings(), secrets, make=True)
        try:
            await fill(store, jars)
            return {**await _looked_at(store, Path(made), clock, secrets), "jars": jars}
        finally:
            await store.close()


async def _looked_at(store: Store, folder: Path, clock: SystemClock, secrets: SeededSecrets) -> dict[str, float]:
    links = PageLinks(store, clock, secrets, b"bench", ORIGIN)
    nothing: Any = None  # no paper and no bundle is asked for
    register = StoredRegister(store, clock, folder, Trades().of, Makers(nothing, nothing))
    app = build_app(
        take=nothing, log=nothing, bell=WebChat(), sign_in=SignIn(store, clock, secrets, b"bench"), end_session=nothing, receive_file=nothing,
        clock=clock, secrets=secrets, title="Corrowby Haven", notice="", zone=ZoneInfo("UTC"), origins=(ORIGIN,),
        open_address="web:s1", register=register, page_sign_in=links, open_page_address="web:s1",
    )  # fmt: skip
    found: dict[str, float] = {}
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url=ORIGIN) as client:
        for what, path in (("first sheet", "/register"), ("a case", "/register/case?of=CH-00001")):
            took = []
            for _ in range(7):
                began = time.perf_counter()
                page = await client.get(path)
                took.append((time.perf_counter() - began) * 1000)
                assert page.status_code == 200, page.text[-300:]
            found[f"{what} ms"] = sorted(took)[len(took) // 2]
            found[f"{what} kB"] = len(page.content) / 1000
    return found
