"""The record verified after midnight by a child process: what is found is one critical alert, nothing is silence."""

from __future__ import annotations

import asyncio
import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from bot.model.message import Outgoing
from bot.verifier import Verifier
from bot.watch.due import VERIFY
from tests.talk import Talk

ROOT = Path(__file__).resolve().parents[2]


def after_midnight(talk: Talk, folder: Path) -> None:
    """The line verifies its own store each night, as `serve` has it do."""
    talk.house.errands.learn(VERIFY, Verifier(folder, talk.clock))
    talk.house.ticker.verifies = True


def edit(folder: Path, sql: str) -> None:
    """Somebody with the store's file in hand."""
    with closing(sqlite3.connect(folder / "coldjar.db", isolation_level=None)) as plain:
        for (trigger,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            plain.execute(f'DROP TRIGGER "{trigger}"')
        assert plain.execute(sql).rowcount == 1


def of_record(sent: list[Outgoing]) -> list[tuple[str | None, str, str]]:
    return [(one.person, one.alert.level, one.text) for one in sent if one.alert and one.alert.kind == "record_altered"]


async def test_an_edited_file_is_told_once_at_night_and_an_untouched_one_to_nobody(night: Talk, tmp_path: Path) -> None:
    after_midnight(night, tmp_path)
    await night.says("R1", "01 spill sheen 0905 seal 5101", at="2026-10-12T09:10:00Z")
    assert of_record(await night.waits("2026-10-12T23:30:00Z")) == []
    async with night.house.store.database.read() as tx:
        assert await tx.rows("SELECT subject, state FROM due WHERE kind = 'verify'") == [("2026-10-12", "done")]
    edit(tmp_path, "UPDATE entries SET text = replace(text, '5101', '5109') WHERE chain = 'CH-014' AND seq = 3")
    ((who, level, text),) = of_record(await night.waits("2026-10-13T23:05:00Z"))
    assert (who, level) == ("S1", "critical")
    assert text.startswith("The record was altered: CH-014#3: ")
    assert text.endswith("Change nothing and keep every backup. Reply MINE RECORD to take this.")
    assert await night.says("S1", "mine record") == "Yours. Nobody else is woken for the record."
    again = of_record(await night.waits("2026-10-14T23:05:00Z"))
    assert {(who, level) for who, level, _ in again} == {("S1", "reminder")}
    edit(tmp_path, "UPDATE raw_messages SET text = replace(text, '5101', '5109') WHERE text LIKE '%seal 5101%'")
    news = of_record(await night.waits("2026-10-15T23:05:00Z"))
    assert [(who, level) for who, level, _ in news if level == "critical"] == [("S1", "critical")]
    assert len([one for one in await night.show("alerts") if one["kind"] == "record_altered"]) == 1


async def test_the_command_tells_the_ladder_as_well_unless_it_shall_only_read(night: Talk, tmp_path: Path) -> None:
    await night.says("R1", "01 spill sheen 0905 seal 5101", at="2026-10-12T09:10:00Z")
    edit(tmp_path, "UPDATE samples SET kind = 'clean' WHERE number = '01'")
    for more, told in (["--silent"], 0), ([], 1):
        command = [sys.executable, "-m", "bot", "verify", "--store", str(tmp_path), "--json", *more]
        done = await asyncio.to_thread(subprocess.run, command, cwd=ROOT, capture_output=True, check=False)
        assert done.returncode == 1, done.stderr
        async with night.house.store.database.read() as tx:
            rows = await tx.rows("SELECT subject FROM due WHERE kind = 'record_altered' AND state = 'waiting'")
        assert len(rows) == told
    assert json.loads(done.stdout)["found"][0][:100] in rows[0][0]
