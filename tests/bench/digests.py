"""The digest of a large unit and its pages, made one after another, and what replies feel of it."""

from __future__ import annotations

import asyncio
import statistics
import sys
import tempfile
import time
from collections.abc import Coroutine
from itertools import chain, count
from pathlib import Path
from typing import Any

from load import CASE, PERSON, Line, jar_by_hand, line, message

ROOT = Path(__file__).resolve().parents[2]
PHONES, A_SECOND = 50, 50
TELLER, SUPERVISOR = 900, 901  # beside the phones, of which none has such a number
COOLERS, READINGS = 40, 12
EACH_S = 3.0
MORE = "".join((
    *(PERSON.format(TELLER), PERSON.format(SUPERVISOR), 'roles = ["supervisor"]\n'),
    CASE.format(TELLER, f'"P{TELLER}"'),
))  # fmt: skip
COOLER = '[[coolers]]\nname = "K{0}"\nclass = "50 L ordinary"\n'


async def digests(smoke: bool) -> dict[str, float]:
    """Seconds of a digest and of its pages, and milliseconds of replies at 50 messages/s without and with them."""
    jars, rounds = (60, 1) if smoke else (500, 12)
    more = MORE + "".join(COOLER.format(n) for n in range(COOLERS))
    alone: list[float] = []
    beside: list[float] = []
    took: list[tuple[float, float]] = []
    with tempfile.TemporaryDirectory(prefix="coldjar-bench-") as made:
        async with line(PHONES, Path(made), more) as one:
            await _fill(one, jars)
            one.jobs.append(asyncio.create_task(one.house.errands.run()))
            phones = _Phones(one)
            await phones.talk_while(asyncio.sleep(3 * EACH_S))  # the first texts of all open the cases
            for _ in range(rounds):  # by turns, so that what else the machine does is felt by both
                alone += (await phones.talk_while(asyncio.sleep(EACH_S)))[0]
                felt, seconds = await phones.talk_while(_made(one, Path(made)))
                beside += felt
                took.append(seconds)
    texts, pages = zip(*took, strict=True)
    return {
        "digest s": statistics.median(texts),
        "PDF s": statistics.median(pages),
        **_figures("alone", alone),
        **_figures("beside", beside),
        "messages": len(alone) + len(beside),
        "jars": jars,
    }


async def _fill(one: Line, jars: int) -> None:
    """That many jars in forty coolers, each read some times; the forecasts that this asks for are not waited for."""
    for jar in range(jars):
        place = f"47.{2800 + jar % 90}N 19.{9500 + jar % 70}W"
        text = f"L-{jar} spill sheen now {place} pad seal {jar:05d}L cooler K{jar % COOLERS} 4.4C"
        await one.house.desk.take(message(TELLER, text))
    for nth in range(READINGS):
        for cooler in range(COOLERS):
            await one.house.desk.take(message(TELLER, f"cooler K{cooler} {3 + nth / 10:.1f}C"))
    async with one.house.store.work() as work:
        await work.tx.run("UPDATE due SET state = 'done' WHERE state = 'asked'")


async def _made(one: Line, folder: Path) -> tuple[float, float]:
    """Seconds of the digest by text, and of its pages by the command right after it."""
    began = time.perf_counter()
    await _exchange(one, SUPERVISOR, "digest")
    told = time.perf_counter()
    command = ("digest", "--store", str(folder), "--to", f"P{SUPERVISOR}", "--pdf", str(folder / "a.pdf"))
    child = await asyncio.create_subprocess_exec(sys.executable, "-m", "bot", *command, cwd=ROOT)
    assert await child.wait() == 0
    return told - began, time.perf_counter() - told


async def _exchange(one: Line, person: int, text: str) -> None:
    """A text has its reply at the channel."""
    replied = asyncio.get_running_loop().create_future()
    one.phones.waiting[f"p{person}"] = replied
    await one.house.desk.take(message(person, text))
    await replied


class _Phones:
    """Fifty phones that lead jars by the hand, one after another."""

    def __init__(self, one: Line) -> None:
        self._one = one
        self._texts = [chain.from_iterable(jar_by_hand(person, jar) for jar in count()) for person in range(PHONES)]
        self._turns = [asyncio.Lock() for _ in range(PHONES)]

    async def talk_while(self, work: Coroutine[Any, Any, Any]) -> tuple[list[float], Any]:
        """Milliseconds from each text's own instant to its reply, until the work is done; what that gave."""
        took: list[float] = []
        doing = asyncio.create_task(work)
        said, began = [], time.perf_counter()
        for number in count():
            await asyncio.sleep(max(0.0, began + number / A_SECOND - time.perf_counter()))
            if doing.done():
                break
            said.append(asyncio.create_task(self._say(number % PHONES, took)))
        await asyncio.gather(*said)
        return took, await doing

    async def _say(self, person: int, took: list[float]) -> None:
        began = time.perf_counter()
        async with self._turns[person]:  # one that waits for the answer before is late, and counted so
            await _exchange(self._one, person, next(self._texts[person]))
        took.append((time.perf_counter() - began) * 1000)


def _figures(when: str, took: list[float]) -> dict[str, float]:
    took = sorted(took)
    return {
        f"{when} p50 ms": took[len(took) // 2],
        f"{when} p99 ms": took[int(len(took) * 0.99)],
        f"{when} worst ms": took[-1],
    }
