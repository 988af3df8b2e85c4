"""The first life of a line, which a kill ends, and the second, in which everything must have come right.

Run as a program: prints one JSON line a kill, with the step it came before and what was found wrong.
Each life is a fork of this process, which holds no thread and no connection of its own.
"""

from __future__ import annotations

import asyncio
import gc
import json
import os
import shutil
import signal
import sys
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import asyncpg

from bot.clock import VirtualClock
from bot.model.errors import SendFailed
from bot.model.message import Incoming, Outgoing
from bot.model.times import MINUTE_US
from bot.rules.worded import DEFAULT
from bot.trades import catalogue, tables
from bot.wiring import House, build
from storage.database import Database, open_database
from storage.engine import Session
from storage.rebuild import contents, rebuild
from storage.verify import verify
from storage.work import Store
from tests.crash.mortal import Mortal, Steps
from tests.crash.script import SCRIPT, SHORT
from tests.lines import wrapped_database
from tests.talk import KEY

COMMITS = ("before commit", "after commit")


@dataclass
class Life:
    """A folder with a store, what was acknowledged there and what was sent; written by write(2)."""

    folder: Path
    url: str
    script: tuple[tuple[Incoming, ...], ...]

    def append(self, name: str, line: str) -> None:
        file = os.open(self.folder / name, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
        os.write(file, f"{line}\n".encode())
        os.close(file)

    def lines(self, name: str) -> list[str]:
        path = self.folder / name
        return path.read_text(encoding="utf-8").splitlines() if path.exists() else []


class Wire:
    """A channel that writes down what it sent, so that a kill cannot take it back.

    Every third text fails the first time it is tried, in whichever life that is.
    """

    name = "sms"

    def __init__(self, life: Life, step: Steps) -> None:
        self._life, self._step = life, step

    async def send(self, text: Outgoing) -> None:
        self._step("before send")
        if text.row % 3 == 0 and str(text.row) not in self._life.lines("failed"):
            self._life.append("failed", str(text.row))
            raise SendFailed("no signal")
        self._life.append("sent", json.dumps([text.row, text.address, text.text, text.again]))
        self._step("after send")


def house_of(life: Life, step: Steps, name: str) -> tuple[House, VirtualClock]:
    def mortal(session: Session) -> Session:
        stepped: Any = Mortal(session, step)
        return stepped  # type: ignore[no-any-return]  # it answers as the session it wraps

    database = wrapped_database(life.url, mortal)
    clock = VirtualClock(life.script[0][0].received_us)
    house = build(Store(database, lambda: "00" * 16), life.folder, {"sms": Wire(life, step)}, clock, name, KEY)
    return house, clock


async def hear(life: Life, house: House, clock: VirtualClock, batch: tuple[Incoming, ...], step: Steps) -> None:
    async def take(message: Incoming) -> None:
        await house.desk.take(message)
        step("before acknowledging")
        life.append("acknowledged", message.key)
        step("after acknowledging")

    clock.move_to(batch[0].received_us)
    waiting = [asyncio.ensure_future(take(message)) for message in batch]
    while not all(task.done() for task in waiting):
        await asyncio.sleep(0)
        await house.desk.gulp()
    for task in waiting:
        task.result()
    await house.pump.drain()


async def send_the_rest(house: House, clock: VirtualClock) -> None:
    """What failed before is tried again, and what waited behind it goes."""
    for _ in range(2):
        clock.move_to(clock.now_us() + MINUTE_US)
        await house.pump.drain()


async def first_life(life: Life, step: Steps) -> None:
    house, clock = house_of(life, step, "first")
    await house.pump.start()
    for batch in life.script:
        await hear(life, house, clock, batch, step)
    await send_the_rest(house, clock)
    await house.close()


async def second_life(life: Life) -> dict[str, Any]:
    """Delivered again is everything that was not acknowledged, and the two batches before it that were."""
    acknowledged = set(life.lines("acknowledged"))
    plain = await open_database(life.url)
    async with plain.read() as tx:
        kept = {key for (key,) in await tx.rows("SELECT key FROM raw_messages")}
        leased = [row for (row,) in await tx.rows("SELECT row FROM outbox WHERE state = 'leased'")]
    await plain.close()
    before = len(life.lines("sent"))
    step = Steps(0)
    house, clock = house_of(life, step, "second")
    whole = [all(message.key in acknowledged for message in batch) for batch in life.script]
    begun = next((place for place, done in enumerate(whole) if not done), len(whole))
    clock.move_to(life.script[min(begun, len(whole) - 1)][0].received_us)
    await house.pump.start()
    await house.pump.drain()
    for batch in life.script[max(0, begun - 2) :]:
        await hear(life, house, clock, batch, step)
    await send_the_rest(house, clock)
    found = await state_of(house.store.database)
    await house.close()
    return found | {"lost": sorted(acknowledged - kept), "leased": leased, "sent_before": before}


async def state_of(database: Database) -> dict[str, Any]:
    """Everything on record, what verify says of it, and whether a rebuild gives the same tables."""
    async with database.write() as tx:
        tables = await contents(tx)
        tables["entries"] = await tx.rows("SELECT * FROM entries ORDER BY chain, seq")
        tables["conversations"] = await tx.rows("SELECT address, doc FROM conversations ORDER BY address")
        # Without their row: on PostgreSQL a write that is undone uses its number up.
        tables["raw_messages"] = await tx.rows(
            "SELECT key, address, received_us, sent_us, state, sha256, text FROM raw_messages ORDER BY row"
        )
        outbox = await tx.rows("SELECT row, address, doc, state FROM outbox ORDER BY row")
        verdict = await verify(tx)
        await rebuild(tx)
        rebuilt = await contents(tx)
    same = all(tables[name] == rebuilt[name] for name in rebuilt)
    return {"tables": tables, "outbox": outbox, "verify": verdict.found, "rebuilt": same}


def problems(life: Life, got: dict[str, Any], wanted: dict[str, Any]) -> list[str]:
    """What is not as in a life that nobody disturbed."""
    found = [f"acknowledged and not kept: {key}" for key in got["lost"]]
    found += [f"verify: {sentence}" for sentence in got["verify"]]
    found += [] if got["rebuilt"] else ["a rebuild gives other tables"]
    found += [f"table {name} differs" for name, rows in wanted["tables"].items() if got["tables"][name] != rows]
    texts = [[doc for _, at, doc, _ in state["outbox"] if at == address] for state in (got, wanted) for address in
             sorted({at for _, at, _, _ in wanted["outbox"]})]
    if texts[: len(texts) // 2] != texts[len(texts) // 2 :]:
        found.append("other texts were queued")
    return found + sending_problems(life, got)


def sending_problems(life: Life, got: dict[str, Any]) -> list[str]:
    """Each text went once; twice only where it was being sent at the kill, and then marked."""
    sent = [json.loads(line) for line in life.lines("sent")]
    counts = Counter(row for row, *_ in sent)
    leased = set(got["leased"])
    marked = {row for place, (row, _, _, again) in enumerate(sent) if again and place >= got["sent_before"]}
    found = [f"row {row} is {state}" for row, _, _, state in got["outbox"] if state != "sent"]
    found += [f"row {row} was sent {counts[row]} times" for row, *_ in got["outbox"] if not 1 <= counts[row] <= 2]
    found += [f"row {row} went twice unleased" for row, count in counts.items() if count == 2 and row not in leased]
    found += [f"rows {sorted(marked ^ leased)} are marked wrongly"] if marked != leased else []
    firsts: dict[str, list[int]] = {}
    for row, address, *_ in sent:
        if row not in firsts.setdefault(address, []):
            firsts[address].append(row)
    return found + [f"{address} was answered out of order" for address, rows in firsts.items() if rows != sorted(rows)]


def forked(work: Callable[[], dict[str, Any]], answer: Path) -> int:
    """Run in a fork, its answer as JSON in a file; the wait status."""
    pid = os.fork()
    if pid == 0:
        try:
            answer.write_text(json.dumps(work()), encoding="utf-8")
            os._exit(0)
        except BaseException as problem:  # noqa: BLE001 - the fork must end here, whatever happened
            traceback.print_exception(problem)
            os._exit(1)
    return os.waitpid(pid, 0)[1]


def one_life(life: Life, last: int, sorts: tuple[str, ...]) -> tuple[bool, dict[str, Any]]:
    """Whether the kill came, and the state after the second life."""
    step = Steps(last, sorts)
    steps, after = life.folder / "steps", life.folder / "after"

    def lives() -> dict[str, Any]:
        asyncio.run(first_life(life, step))
        return {"steps": step.count}

    status = forked(lives, steps)
    killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    if not killed and status != 0:
        raise RuntimeError(f"the first life ended with status {status}")
    if forked(lambda: asyncio.run(second_life(life)), after):
        raise RuntimeError("the second life broke")
    return killed, json.loads(after.read_text(encoding="utf-8"))


def on_sqlite(template: Path, work: Path) -> None:
    """A kill before every step."""

    def fresh() -> Life:
        folder = work / "life"
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        shutil.copy(template, folder / "coldjar.db")
        return Life(folder, f"sqlite:///{folder / 'coldjar.db'}", SCRIPT)

    run(fresh, ())


def on_postgres(template: str, work: Path) -> None:
    """A kill before and after each commit, each life in a database of its own."""
    where = urlsplit(template)
    source, name = where.path.lstrip("/"), f"coldjar_life_{os.getpid()}"
    server = urlunsplit(where._replace(path="/postgres"))

    async def tell(*statements: str) -> None:
        connection = await asyncpg.connect(server)
        for statement in statements:
            await connection.execute(statement)
        await connection.close()

    drop = f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"

    def fresh() -> Life:
        asyncio.run(tell(drop, f"CREATE DATABASE {name} TEMPLATE {source}"))
        folder = work / "life"
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        return Life(folder, urlunsplit(where._replace(path=f"/{name}")), SHORT)

    try:
        run(fresh, COMMITS)
    finally:
        asyncio.run(tell(drop))


def run(fresh: Callable[[], Life], sorts: tuple[str, ...]) -> None:
    tables(), catalogue(DEFAULT)  # read once here, every fork has them
    gc.freeze()
    _, wanted = one_life(fresh(), 0, sorts)
    last = 0
    killed = True
    while killed:
        last += 1
        life = fresh()
        killed, got = one_life(life, last, sorts)
        print(json.dumps({"kill": last if killed else None, "problems": problems(life, got, wanted)}), flush=True)


if __name__ == "__main__":
    engine, template, work = sys.argv[1:]
    if engine == "sqlite":
        on_sqlite(Path(template), Path(work))
    else:
        on_postgres(template, Path(work))
