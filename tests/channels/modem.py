"""The real gammu-smsd (Debian's 1.42) with its dummy phone and its configuration from deploy/.

A text that comes in is a file in the phone's own folder. What goes out the dummy throws away, so a trigger
of the test's own writes down each part as the program says that it sent it.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import signal
import sqlite3
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, closing
from pathlib import Path
from typing import Any

import pytest

from bot.rules.gsm import is_gsm
from tests.running import until

ROOT = Path(__file__).resolve().parents[2]
TABLES = Path("/usr/share/doc/gammu-smsd/examples/sqlite.sql")  # the program's own
# As Coldjar's first look at the tables sets them: readers, the tests' too, lock nobody out.
HEARD = """
PRAGMA journal_mode = WAL;
CREATE TABLE heard (at INTEGER PRIMARY KEY, id, place, number, text, udh, coding);
CREATE TRIGGER hear AFTER INSERT ON sentitems BEGIN INSERT INTO heard (id, place, number, text, udh, coding)
VALUES (NEW.ID, NEW.SequencePosition, NEW.DestinationNumber, NEW.TextDecoded, NEW.UDH, NEW.Coding); END;
"""


class Modem:
    """A gammu-smsd of the test's own, which can be killed and started again over the same phone and tables."""

    def __init__(self, folder: Path) -> None:
        drivers = Path("/usr/lib").glob("*/dbd/libdbdsqlite3.so")
        if shutil.which("gammu-smsd") is None or not any(drivers) or not TABLES.exists():
            pytest.skip("no gammu-smsd with SQLite and its tables: apt-get install gammu-smsd libdbd-sqlite3")
        for place in range(1, 6):
            (folder / "phone" / "sms" / str(place)).mkdir(parents=True)
        self.folder, self.database = folder, folder / "smsd.db"
        self._count = 0
        self._process: asyncio.subprocess.Process | None = None
        self.run(TABLES.read_text(encoding="utf-8") + HEARD)
        self.database.chmod(0o660)
        text = (ROOT / "deploy/gammu/smsdrc").read_text(encoding="utf-8")
        changes = {
            "device = /dev/ttyUSB0\nconnection = at115200": f"port = {folder / 'phone'}\nmodel = dummy\nconnection = none",
            "dbdir = /var/lib/coldjar-gammu": f"dbdir = {folder}",
            "commtimeout = 2": "commtimeout = 1",
            "receivefrequency = 5": "receivefrequency = 1",
            "statusfrequency = 60": "statusfrequency = 1",
        }
        for old, new in changes.items():
            assert old in text
            text = text.replace(old, new)
        (folder / "smsdrc").write_text(text)

    def run(self, script: str) -> None:
        with closing(sqlite3.connect(self.database)) as tables:
            tables.executescript(script)

    def rows(self, sql: str) -> list[Any]:
        with closing(sqlite3.connect(self.database)) as tables:
            return tables.execute(sql).fetchall()

    def say(self, number: str, text: str, udh: str = "") -> None:
        """A text lies in the phone, whole: it is written aside and renamed."""
        self._count += 1
        octets = text.encode("utf-16-be").hex().upper()
        coding = "Default_No_Compression" if is_gsm(text) else "Unicode_No_Compression"
        sent = time.strftime("%Y%m%dT%H%M%S", time.gmtime())
        lines = [
            "[SMSBackup000]", 'SMSC = "+447700900999"', f"Sent = {sent}", "State = UnRead", f'Number = "{number}"',
            f"Coding = {coding}", "Folder = 1", f"Length = {len(octets) // 4}",
            *(f"Text{at:02} = {octets[200 * at : 200 * at + 200]}" for at in range((len(octets) + 199) // 200)),
            "Class = -1", "ReplySMSC = False", "RejectDuplicates = False", "ReplaceMessage = 0", "MessageReference = 0",
            *([f"UDH = {udh}"] if udh else []),
        ]  # fmt: skip
        aside = self.folder / "aside"
        aside.write_text("\n".join(lines) + "\n")
        aside.rename(self.folder / "phone" / "sms" / "1" / str(self._count))

    async def hears(self, number: str, words: str = "") -> str:
        """The first text to a phone that holds these words, whole."""
        await until(lambda: self._sent(number, words))
        return self._sent(number, words)[0]

    def _sent(self, number: str, words: str) -> list[str]:
        texts: dict[int, str] = {}
        for id_, text in self.rows(f"SELECT id, text FROM heard WHERE number = '{number}' ORDER BY id, place"):
            texts[id_] = texts.get(id_, "") + text
        going = {id_ for (id_,) in self.rows("SELECT ID FROM outbox")}
        return [text for id_, text in texts.items() if words in text and id_ not in going]

    async def start(self) -> None:
        self._process = await asyncio.create_subprocess_exec(
            "gammu-smsd", "-c", self.folder / "smsdrc", "-p", "",
            stdout=asyncio.subprocess.DEVNULL, stderr=asyncio.subprocess.DEVNULL, env=os.environ,
        )  # fmt: skip

    async def stop(self, how: signal.Signals) -> None:
        assert self._process is not None
        if self._process.returncode is None:
            self._process.send_signal(how)
        await asyncio.wait_for(self._process.wait(), 20)


@asynccontextmanager
async def modem(folder: Path) -> AsyncIterator[Modem]:
    made = Modem(folder)
    await made.start()
    try:
        yield made
    finally:
        await made.stop(signal.SIGKILL)
