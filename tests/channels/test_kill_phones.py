"""kill -9 of the whole service at random while Telegram and the SMS gateway run: nothing is lost or doubled.

The service is a process of its own. Both ends are other people's: a Bot API emulator and Debian's bearerbox.
COLDJAR_KILLS says how many kills; 20 without it.
"""

from __future__ import annotations

import asyncio
import json
import os
import random
import signal
import sys
from collections import Counter
from pathlib import Path

from bot.clock import SystemClock, SystemSecrets
from bot.install import apply_setup
from bot.wiring import store_key
from storage.database import open_database
from storage.verify import verify
from storage.work import Store
from tests.channels.bot_api import TOKEN, BotApi, bot_api
from tests.channels.gateway import NUMBER, Gateway, Phones, gateway
from tests.talk import SETUP

ROOT = Path(__file__).resolve().parents[2]
KILLS = int(os.environ.get("COLDJAR_KILLS", "20"))
R1, R2 = "+447700900001", 502
UNIT = SETUP.replace('"sms:+447700900002"', f'"telegram:{R2}"').replace('numbers = [1, 19]', "numbers = [1, 999]")
# Forks of a process that has everything loaded: a start takes a tenth of a second.
SERVE = """
import os, sys
from pathlib import Path
import bot.channels.telegram
from bot.cli.line import serve
folder = Path(sys.argv[1])
for line in sys.stdin:
    pid = os.fork()
    if pid == 0:
        os.setsid()
        sys.stdin.close()
        serve(folder)
        os._exit(0)
    print(pid, flush=True)
    os.waitpid(pid, 0)
    print("gone", flush=True)
"""


class Service:
    """The service, killed and started again."""

    def __init__(self, made: Gateway, api: BotApi, folder: Path) -> None:
        self._told = {
            "COLDJAR_SMS_GATEWAY": f"127.0.0.1:{made.boxes}", "COLDJAR_SMS_NUMBER": NUMBER,
            "COLDJAR_TELEGRAM_TOKEN": TOKEN, "COLDJAR_TELEGRAM_API": api.url, "COLDJAR_PORT": "0",
        }  # fmt: skip
        self._folder = folder
        self.log = folder.parent / "service.log"

    async def begin(self) -> None:
        with self.log.open("ab") as log:
            self._nest = await asyncio.create_subprocess_exec(
                sys.executable, "-c", SERVE, self._folder, cwd=ROOT, env=os.environ | self._told,
                stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, stderr=log,
            )  # fmt: skip

    async def start(self) -> None:
        assert self._nest.stdin is not None
        assert self._nest.stdout is not None
        self._nest.stdin.write(b"\n")
        self.pid = int(await asyncio.wait_for(self._nest.stdout.readline(), 20))

    async def kill(self) -> None:
        assert self._nest.stdout is not None
        os.kill(self.pid, signal.SIGKILL)
        assert await asyncio.wait_for(self._nest.stdout.readline(), 20) == b"gone\n"

    async def end(self) -> None:
        self._nest.kill()
        await self._nest.wait()


async def talk(api: BotApi, phones: Phones, kills: int, service: Service) -> list[str]:
    """Both phones tell of jars while the service dies again and again; every text that was sent."""
    draw = random.Random(7)
    said: list[str] = []
    number = 0
    for _ in range(kills):
        await service.start()
        stop = asyncio.get_running_loop().time() + draw.uniform(0.15, 0.9)
        while (left := stop - asyncio.get_running_loop().time()) > 0:
            number += 1
            text = f"{number} spill thick now 47.2852N 19.9478W jar"
            if number % 2:
                phones.say(R1, text)
            else:
                await api.says(R2, text)
            said.append(text)
            try:
                async with asyncio.timeout(min(left, draw.uniform(0.02, 0.15))):
                    await api.sent.get()
            except TimeoutError:
                continue
        await service.kill()
    return said


async def test_random_kills_lose_nothing_double_no_fact_and_log_every_repeat(migrated_file: Path, tmp_path: Path) -> None:
    folder = tmp_path / "store"
    folder.mkdir(mode=0o700)
    (folder / "coldjar.db").write_bytes(migrated_file.read_bytes())  # noqa: ASYNC240 - nothing runs yet
    url = f"sqlite:///{folder / 'coldjar.db'}"
    store = Store(await open_database(url), lambda: SystemSecrets().token(16))
    await apply_setup(store, UNIT, SystemClock(), SystemSecrets(), store_key(folder, SystemSecrets(), make=True))
    await store.close()
    async with bot_api() as api, gateway(tmp_path / "gw") as (made, phones):
        service = Service(made, api, folder)
        await service.begin()
        said = await talk(api, phones, KILLS, service)
        await service.start()
        database = await open_database(url)
        async with asyncio.timeout(90):
            while True:
                async with database.read() as tx:
                    kept = [json.loads(text)["text"] for (text,) in await tx.rows("SELECT text FROM raw_messages")]
                    waits = await tx.rows("SELECT COUNT(*) FROM outbox WHERE state NOT IN ('sent', 'merged')")
                if len(kept) >= len(said) and waits == [(0,)]:
                    break
                await asyncio.sleep(0)
        await service.kill()
        await service.end()
        async with database.read() as tx:
            jars = [number for (number,) in await tx.rows("SELECT number FROM samples")]
            rows = await tx.rows("SELECT row, doc, again FROM outbox WHERE state = 'sent'")
            verdict = await verify(tx)
        await database.close()
        while not phones.got.empty():
            phones.got.get_nowait()
    assert sorted(kept) == sorted(said)
    assert Counter(jars) == Counter(text.split()[0] for text in said)
    assert list(verdict.found) == []
    log = service.log.read_text()
    repeats = [row for row, _, again in rows if again]
    assert [row for row in repeats if f"text {row} to " not in log] == []
    queued = Counter(json.loads(doc)["text"] for _, doc, _ in rows if json.loads(doc)["channel"] == "telegram")
    sent = Counter(call.fields["text"] for call in api.calls if call.method == "sendMessage")
    twice = {text for text in sent if sent[text] > queued[text]}
    marked = {json.loads(doc)["text"] for row, doc, again in rows if again}
    assert twice <= marked
    print(f"{KILLS} kills, {len(said)} texts in, {len(repeats)} may have gone twice, {len(twice)} did by Telegram")
