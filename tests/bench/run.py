"""How fast, how small, how flat: each figure printed with what the project asks of it.

By hand:  python tests/bench/run.py [--only NAME] [--slow-fsync FILE.c] [--peers PATH [--peers-python PY]]
In CI:    python tests/bench/run.py --smoke
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).resolve().parent)]

from digests import digests  # noqa: E402 - found by the line above
from evidence import bundle, paper  # noqa: E402 - as above
from forecasts import forecasts  # noqa: E402 - as above
from kits import season  # noqa: E402 - as above
from load import Line, jar_by_hand, lettered, line, message  # noqa: E402 - as above
from pages import pages  # noqa: E402 - as above

from bot.wiring import settle_memory  # noqa: E402 - as above

SLOW_MS = "5"


async def jars(one: Line, first: int, count: int) -> int:
    """Every phone leads this many jars by the hand; how many texts that were."""
    return await texted(one, [texts_of(person, first, count) for person in range(one.people)])


def texts_of(person: int, first: int, count: int) -> Iterator[str]:
    """What this person texts for these jars."""
    return (text for jar in range(first, first + count) for text in jar_by_hand(person, jar))


async def texted(one: Line, texts: Sequence[Iterable[str]]) -> int:
    """Every phone sends its texts, one in flight a phone; how many texts that were."""
    sent = 0

    async def phone(person: int, told: Iterable[str]) -> None:
        nonlocal sent
        for text in told:
            await one.house.desk.take(message(person, text))
            sent += 1

    await asyncio.gather(*(phone(person, told) for person, told in enumerate(texts)))
    await settled(one)
    return sent


async def settled(one: Line) -> None:
    """Every reply has gone out."""
    while True:
        async with one.house.store.database.read() as tx:
            waiting = await tx.rows("SELECT COUNT(*) FROM outbox WHERE state IN ('waiting', 'leased')")
        if not waiting[0][0]:
            return
        await asyncio.sleep(0.01)


async def throughput(smoke: bool) -> dict[str, float]:
    """Messages a second with 64 phones: all at one question, as the peers are driven, and each at another."""
    in_step = await paced(0, smoke)
    apart = await paced(10, smoke)
    return in_step | {"messages/s, each at another question": apart["messages/s"]}


async def paced(questions: int, smoke: bool) -> dict[str, float]:
    """From text to reply sent and settled, with phones spread over so many questions as the clock starts.

    For as long as the peers are measured: the last replies are settled a twentieth of a second later, which
    is a part of a short run's time.
    """
    async with line(64) as one:
        texts = [texts_of(person, 0, 3 if smoke else 40) for person in range(one.people)]
        begun = [12 + person % questions if questions else 12 for person in range(one.people)]
        await texted(one, [islice(told, first) for told, first in zip(texts, begun, strict=True)])
        began, cpu = time.perf_counter(), time.process_time()
        count = await texted(one, texts)
        elapsed = time.perf_counter() - began
        return {
            "messages/s": count / elapsed,
            "CPU us/message": (time.process_time() - cpu) / count * 1e6,
            "messages": count,
        }


async def latency(smoke: bool) -> dict[str, float]:
    """Milliseconds from a text to its reply at the channel, 100 texts a second offered."""
    took: list[float] = []
    async with line(100) as one:
        await jars(one, 0, 1)
        texts = {person: iter([*jar_by_hand(person, 1), *jar_by_hand(person, 2)]) for person in range(100)}
        began = time.perf_counter()

        async def exchange(person: int) -> None:
            start = time.perf_counter()
            replied = asyncio.get_running_loop().create_future()
            one.phones.waiting[f"p{person}"] = replied
            await one.house.desk.take(message(person, next(texts[person])))
            await replied
            took.append((time.perf_counter() - start) * 1000)

        tasks = []
        for number in range(300 if smoke else 2000):
            await asyncio.sleep(max(0.0, began + number / 100 - time.perf_counter()))
            tasks.append(asyncio.create_task(exchange(number % 100)))
        await asyncio.gather(*tasks)
    took.sort()
    return {"p50 ms": took[len(took) // 2], "p99 ms": took[int(len(took) * 0.99)], "messages": len(took)}


async def flatness(smoke: bool) -> dict[str, float]:
    """CPU a message with few and with many stored samples, medians of five; and their ratio."""
    few, many = (128, 640) if smoke else (1_000, 100_000)
    async with line(64 if smoke else 160) as one:  # more phones: a thousand texts an hour of one are a flood
        await jars(one, 0, 1)
        jar = 1

        async def fill(samples: int) -> None:
            nonlocal jar
            rows = 0
            while rows < samples:
                await lines(one, jar, 20)
                jar += 20
                async with one.house.store.database.read() as tx:
                    rows = (await tx.rows("SELECT COUNT(*) FROM samples"))[0][0]

        async def measure() -> float:
            nonlocal jar
            costs = []
            for _ in range(5):
                cpu = time.process_time()
                count = await jars(one, jar, 2)
                costs.append((time.process_time() - cpu) / count * 1e6)
                jar += 2
            return statistics.median(costs)

        await fill(few)
        at_few = await measure()
        await fill(many)
        at_many = await measure()
    return {f"us at {few}": at_few, f"us at {many}": at_many, "ratio": at_many / at_few}


async def lines(one: Line, first: int, count: int) -> None:
    """Whole jars in one line each, to fill a store."""

    async def phone(person: int) -> None:
        for jar in range(first, first + count):
            number = lettered(person, jar)
            text = f"{number} spill sheen now 47.2830N 19.9510W pad seal {person:04d}{jar:05d}L cooler M 4.4C"
            await one.house.desk.take(message(person, text))

    await asyncio.gather(*(phone(person) for person in range(one.people)))
    await settled(one)


async def verifying(smoke: bool) -> dict[str, float]:
    """Seconds to verify a store of many entries."""
    from storage.verify import verify

    wanted = 3_000 if smoke else 100_000
    async with line(64) as one:
        jar, entries = 0, 0
        while entries < wanted:
            await lines(one, jar, 20)
            jar += 20
            async with one.house.store.database.read() as tx:
                entries = (await tx.rows("SELECT COUNT(*) FROM entries"))[0][0]
        began = time.perf_counter()
        async with one.house.store.database.read() as tx:
            verdict = await verify(tx)
        assert verdict.found == (), verdict.found[:3]
        return {"seconds": time.perf_counter() - began, "entries": verdict.entries}


def memory(smoke: bool) -> dict[str, float]:
    """Resident MB of `serve` with many conversations, after it has served a page."""
    people = 500 if smoke else 10_000
    with tempfile.TemporaryDirectory() as made:
        asyncio.run(_fill_conversations(Path(made), people))
        (Path(made) / "key").write_text("00" * 32)
        (Path(made) / "key").chmod(0o600)
        port = 18765
        env = {**os.environ, "COLDJAR_PORT": str(port), "PYTHONPATH": str(ROOT)}
        child = subprocess.Popen([sys.executable, "-m", "bot", "serve", "--store", made], env=env)
        try:
            first_page(port, child)
            return {"resident MB": _resident_mb(child.pid), "conversations": people}
        finally:
            child.terminate()
            child.wait()


async def _fill_conversations(folder: Path, people: int) -> None:
    async with line(people, folder) as one:
        for start in range(0, people, 64):
            batch = range(start, min(start + 64, people))
            await asyncio.gather(*(one.house.desk.take(message(person, "jar")) for person in batch))
        await settled(one)


def _resident_mb(pid: int) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    return int(re.findall(r"VmRSS:\s+(\d+)", status)[0]) / 1024


def first_page(port: int, child: subprocess.Popen[bytes] | subprocess.Popen[str]) -> float:
    """Seconds until the page answers."""
    import urllib.error
    import urllib.request

    began = time.perf_counter()
    while child.poll() is None:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5):
                return time.perf_counter() - began
        except urllib.error.HTTPError:
            return time.perf_counter() - began
        except OSError:
            time.sleep(0.02)
    raise RuntimeError(f"serve ended with {child.returncode}")


def demo_start(smoke: bool) -> dict[str, float]:
    """Seconds from an installed start of the demo to its first page."""
    port = 18766
    command = [sys.executable, "-m", "bot", "demo", "--port", str(port)]
    began = time.perf_counter()
    child = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    try:
        first_page(port, child)
        return {"seconds": time.perf_counter() - began}
    finally:
        child.terminate()
        child.wait()


def fsyncs(smoke: bool) -> dict[str, float]:
    """Syncs to disk for each message under load, counted by strace."""
    if shutil.which("strace") is None:
        return {"strace is not here, not counted": 0}
    with tempfile.TemporaryDirectory() as made:
        trace = Path(made) / "trace"
        command = ["strace", "-f", "-o", str(trace), "-e", "trace=fsync,fdatasync", sys.executable, __file__]
        said = subprocess.run(
            [*command, "--one", "throughput", "--smoke"], check=True, capture_output=True, text=True
        )
        count = len(re.findall(r"f(?:data)?sync\(", trace.read_text()))
    messages = json.loads(said.stdout)["messages"] * 3.2  # of both runs, with those before the clock starts
    return {"fsync/message": count / messages, "syncs": count}


ASKED: dict[str, tuple[Callable[[bool], object], str]] = {
    "throughput": (throughput, "at least 2,500 messages/s"),
    "latency": (latency, "99 % within 25 ms at 100 a second"),
    "fsyncs": (fsyncs, "at most 0.1 a message"),
    "flatness": (flatness, "within 1.2"),
    "verifying": (verifying, "100,000 entries under 10 s"),
    "memory": (memory, "under 180 MB with 10,000 conversations"),
    "bundle": (bundle, "half the speed of copying or more, export under 250 MB resident"),
    "paper": (paper, "40 jars under 1 s warm"),
    "demo_start": (demo_start, "under 5 s"),
    "forecasts": (forecasts, "under 50 ms"),
    "digests": (digests, "digest under 1 s, PDF under 3 s, no reply over 50 ms later"),
    "pages": (pages, "under 150 ms and 100 kB each"),
    "kits": (season, "a season's shortfalls within 200 ms"),
}


def run_one(name: str, smoke: bool) -> dict[str, float]:
    """One benchmark's figures."""
    settle_memory()  # as `serve` does
    found = ASKED[name][0](smoke)
    return asyncio.run(found) if asyncio.iscoroutine(found) else found  # type: ignore[return-value]  # awaited above


def slowed(source: Path) -> dict[str, str]:
    """The environment in which every sync takes 5 ms more."""
    made = Path(tempfile.gettempdir()) / "coldjar-slowfsync.so"
    subprocess.run(["gcc", "-O2", "-shared", "-fPIC", "-o", made, source, "-ldl"], check=True)
    return {**os.environ, "LD_PRELOAD": str(made), "BENCH_FSYNC_MS": SLOW_MS}


def show(title: str, asked: str, figures: dict[str, float]) -> None:
    """One line: name, what is asked, what was found."""
    listed = ", ".join(
        f"{name} {value:,.3g}" if value < 100 else f"{name} {value:,.0f}" for name, value in figures.items()
    )
    print(f"{title}: {listed}  (asked: {asked})", flush=True)


def peers(script: Path, python: str, slow: bool) -> None:
    """The peers' own table, from their own script; they take one message at a time."""
    env = {**os.environ, "BENCH_FSYNC_MS": SLOW_MS if slow else "0"}
    print(f"peers, one message at a time{', 5 ms more a sync' if slow else ''}:", flush=True)
    subprocess.run([python, str(script), "--nokill"], check=True, env=env, cwd=script.parent)


def main() -> None:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="small sizes: that it runs, not how fast")
    parser.add_argument("--only", choices=sorted(ASKED))
    parser.add_argument("--one", choices=sorted(ASKED), help="print one benchmark's figures as JSON")
    parser.add_argument("--slow-fsync", type=Path, metavar="FILE.c", help="a preload that slows every sync")
    parser.add_argument("--peers", type=Path, metavar="PATH", help="the peers' script")
    parser.add_argument(
        "--peers-python", default=sys.executable, help="a Python that has the peers' libraries"
    )
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(run_one(asked.one, asked.smoke)))
        return
    for name in [asked.only] if asked.only else ASKED:
        show(name, ASKED[name][1], run_one(name, asked.smoke))
    if asked.slow_fsync:
        command = [sys.executable, __file__, "--one", "throughput", *(["--smoke"] if asked.smoke else [])]
        said = subprocess.run(
            command, check=True, env=slowed(asked.slow_fsync), capture_output=True, text=True
        )
        show("throughput, 5 ms more a sync", "20 times the best durable peer", json.loads(said.stdout))
    if asked.peers:
        for slow in (False, True) if asked.slow_fsync else (False,):
            peers(asked.peers.resolve(), asked.peers_python, slow)
    else:
        print("peers: not run (give --peers PATH)")


if __name__ == "__main__":
    main()
