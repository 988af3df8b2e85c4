"""What a tick and a digest cost: `python tests/bench/watch.py`, a tenth of the size with --smoke.

1,000,000 jars and as many done rows are stored, 50,000 wait, 100 are due: the tick must not feel the first.
"""

from __future__ import annotations

import argparse
import asyncio
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from bot.day import gather  # noqa: E402 - the checkout's own, wherever it is run from
from bot.model.times import MINUTE_US, us_of_iso  # noqa: E402 - as above
from bot.papers import render  # noqa: E402 - as above
from bot.reports.digest_paper import digest_paper  # noqa: E402 - as above
from bot.trades import Trades  # noqa: E402 - as above
from tests.talk import SETUP, START, Talk, talk_to  # noqa: E402 - as above

TICK_MS, DIGEST_S, PAPER_S = 20, 1.0, 3.0
FILL = """
WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {count})
INSERT INTO {table}
"""
SAMPLES = """(id, case_name, number, jar_key, number_int, told_by, declared_us, event_us, has_position, kind, open, doc)
SELECT 'OLD#' || i, 'OLD', i, 'OLD/' || i, i, 'R1', i, i, 0, 'spill', i > {done}, '{{}}' FROM n"""
DONE = "(kind, subject, due_us, state, done_us) SELECT 'not_in_cold', 'OLD#' || i, i, 'done', i FROM n"
WAITING = "(kind, subject, due_us, state) SELECT 'not_in_cold', 'OLD#' || i, {later} + i, 'waiting' FROM n"


def migrated(path: Path) -> str:
    subprocess.run([sys.executable, "-m", "storage.migrate", f"sqlite:///{path}"], cwd=ROOT, check=True)
    return f"sqlite:///{path}"


def fill(path: Path, stored: int) -> None:
    """Jars, done rows and rows that wait, written beside the house."""
    later = us_of_iso(START) * 2
    with sqlite3.connect(path) as plain:
        plain.execute(FILL.format(count=stored, table="samples") + SAMPLES.format(done=stored - stored // 20))
        plain.execute(FILL.format(count=stored, table="due") + DONE)
        plain.execute(FILL.format(count=stored // 20, table="due") + WAITING.format(later=later))
        plain.execute("ANALYZE")


async def hundred_alerts(talk: Talk) -> None:
    """A hundred alerts whose next rung is due in ten minutes."""
    now_us = talk.clock.now_us() + MINUTE_US
    for _ in range(100):
        talk.clock.move_to(now_us - MINUTE_US)
        await talk.hears("R1", "SOS")


async def tick_ms(folder: Path, stored: int, rounds: int) -> float:
    """The best of some ticks with a hundred rungs due, in ms: what else the machine does is not counted."""
    url = migrated(folder / "coldjar.db")
    fill(folder / "coldjar.db", stored)
    async with talk_to(url, folder, SETUP) as talk:
        took = []
        for _ in range(rounds):
            await hundred_alerts(talk)
            talk.clock.move_to(talk.clock.now_us() + 10 * MINUTE_US)
            began = time.perf_counter()
            done = await talk.house.ticker.tick()
            took.append((time.perf_counter() - began) * 1000)
            assert done >= 100, done
            await talk.house.drain()
        return min(took)


async def digest_s(folder: Path) -> tuple[float, float]:
    """How long the digest of 500 jars in 40 coolers takes, and its paper, in s."""
    coolers = "".join(f'[[coolers]]\nname = "K{n}"\nclass = "50 L ordinary"\n' for n in range(40))
    kit = '[[kits]]\nname = "Z"\nnumbers = [1, 999]\n'
    url = migrated(folder / "coldjar.db")
    async with talk_to(url, folder, SETUP + coolers + kit) as talk:
        for n in range(500):
            await talk.hears("R1", f"{n:03} spill sheen 0905 47.28{n % 100:02}N 19.95{n % 90:02}W pad cooler K{n % 40} 4.0C")
            talk.clock.move_to(us_of_iso(START))
        trades = Trades()
        async with talk.house.store.database.read() as tx:
            began = time.perf_counter()
            found = await gather(tx, trades.of, "S1", us_of_iso("2026-10-12T18:00:00Z"))
            gathered = time.perf_counter() - began
        assert sum(case["taken"] for case in found["cases"]) == 500
        trade = trades.of(talk.house.store.unit)
        began = time.perf_counter()
        pdf = await render("digest", digest_paper(found, trade.area, ZoneInfo("Europe/Lisbon"), trade.limits))
        (folder / "digest.pdf").write_bytes(pdf)
        return gathered, time.perf_counter() - began


def told(what: str, figure: float, most: float, unit: str) -> bool:
    print(f"{what}: {figure:.3g} {unit}, at most {most:g} {unit}: {'ok' if figure <= most else 'MISSED'}")
    return figure <= most


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a tenth of the size")
    smoke = parser.parse_args().smoke
    stored = 100_000 if smoke else 1_000_000
    with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
        fine = told(f"tick, {stored} stored, 100 due", asyncio.run(tick_ms(Path(one), stored, 5)), TICK_MS, "ms")
        gathered, set_in = asyncio.run(digest_s(Path(other)))
    fine &= told("digest, 500 jars, 40 coolers", gathered, DIGEST_S, "s")
    fine &= told("its paper", set_in, PAPER_S, "s")
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())
