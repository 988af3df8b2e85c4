"""The machine around the line fails: its clock, the names of its network, its database server.

A clock set back is libfaketime's, which moves the time of a running process; a name goes and comes in a hosts file
of the process's own (unshare(1)); `.invalid` never resolves (RFC 6761, 6.4); the server is a cluster of the test's own.
"""

from __future__ import annotations

import asyncio
import json
import os
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx
import pytest

from bot.model.errors import StoreUnavailable
from bot.model.message import Incoming, Outgoing
from bot.model.times import us_of_iso
from bot.wiring import House
from tests.channels.gateway import NUMBER, free_ports
from tests.channels.test_sms_gateway import BY_WEB
from tests.conftest import ROOT, migrate
from tests.lines import line_to
from tests.running import running, until, until_rows
from tests.test_cli import coldjar
from tests.test_keeping import serving

NOTICES = "SELECT doc FROM outbox WHERE address = 'web:s1'"
OF_THE_CLOCK = f"{NOTICES} AND doc LIKE '%clock%'"


@pytest.fixture
def store(tmp_path: Path) -> Path:
    (tmp_path / "setup.toml").write_text(BY_WEB)
    assert coldjar("setup", tmp_path / "setup.toml", "--store", tmp_path / "store").returncode == 0
    return tmp_path / "store"


# --- the clock ----------------------------------------------------------------------------------


def moved_by(file: Path) -> dict[str, str]:
    """The environment of a process whose time is the machine's and what stands in this file."""
    found = sorted(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"))
    if not found:
        pytest.skip("no libfaketime: apt-get install faketime")
    return {
        "LD_PRELOAD": str(found[0]),
        "FAKETIME_TIMESTAMP_FILE": str(file),
        "FAKETIME_CACHE_DURATION": "1",
        "FAKETIME_DONT_FAKE_MONOTONIC": "1",
    }


def until_found(plain: sqlite3.Connection, sql: str) -> list[tuple[str]]:
    """The rows, once there are any."""
    end_s = time.monotonic() + 60
    while not (rows := plain.execute(sql).fetchall()):
        assert time.monotonic() < end_s, sql
        time.sleep(0)
    return rows


def test_a_clock_set_back_an_hour_is_told_once_and_nothing_waits_for_that_hour(store: Path, tmp_path: Path) -> None:
    (tmp_path / "clock").write_text("+0")
    text = Outgoing(channel="sms", account="+447700900009", text="Read cooler M.").model_dump_json()
    soon_us = time.time_ns() // 1000 + 60_000_000
    with (
        closing(sqlite3.connect(store / "coldjar.db", isolation_level=None)) as plain,
        serving(store, COLDJAR_HEALTH_PORT="0", **moved_by(tmp_path / "clock")) as line,
    ):
        httpx.get(line.address)  # the ticker has ticked, and next does so in some seconds
        plain.execute(
            "INSERT INTO outbox (row, address, doc, queued_us, due_us, state) VALUES (999, ?, ?, 1, ?, 'waiting')",
            ("sms:+447700900009", text, soon_us),
        )
        plain.execute("INSERT INTO due (kind, subject, due_us, state) VALUES ('unknown', 'x', 1, 'waiting')")
        (tmp_path / "clock").write_text("-3600")
        [(told,)] = until_found(plain, OF_THE_CLOCK)
        assert re.search("clock went back (59|60) min, to ", told)
        until_found(plain, "SELECT kind FROM due WHERE kind = 'unknown' AND state = 'parked'")
        until_found(plain, "SELECT address FROM outbox WHERE problem = 'there is no sms line here'")
        (tmp_path / "clock").write_text("+0")
        until_found(plain, "SELECT kind FROM due WHERE kind = 'clock up'")
        assert plain.execute(OF_THE_CLOCK).fetchall() == [(told,)]
    assert coldjar("verify", "--store", store).returncode == 0


async def test_what_is_told_after_a_clock_was_set_back_is_on_record_in_its_order(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        await line.hears(line.message("R1", "01 spill thick"))
        line.clock.move_to(us_of_iso("2026-10-12T07:00:00Z"))
        await line.hears(line.message("R1", "fill 3/4"), line.message("R2", "02 spill"))
        async with line.house.store.database.read() as tx:
            rows = await tx.rows("SELECT text FROM raw_messages ORDER BY row")
        assert [json.loads(text)["text"] for (text,) in rows] == ["01 spill thick", "fill 3/4", "02 spill"]
        await line.house.pump.drain()
        assert "fill 3/4" in line.far.to("R1")[-1]


# --- names --------------------------------------------------------------------------------------


def said(message_id: str, text: str, place: int = 0) -> Incoming:
    """From R1 by web chat, `place` instants far enough apart to be no flood."""
    received_us = time.time_ns() // 1000 + place * 4_000_000
    return Incoming(channel="web", account="r1", message_id=message_id, received_us=received_us, text=text)


async def test_a_gateway_without_a_name_is_told_once_and_all_else_goes_on(
    migrated_file: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    url = f"sqlite:///{shutil.copy(migrated_file, tmp_path / 'coldjar.db')}"
    nameless = {"sms_gateway": "gateway.invalid:13001", "sms_number": NUMBER}
    async with running(url, tmp_path, nameless, setup=BY_WEB, told_after_s=0) as house:
        [(doc,)] = await until_rows(house, NOTICES, len)
        assert "the SMS gateway at gateway.invalid:13001 cannot be used: " in json.loads(doc)["text"]
        assert not (await house.desk.take(said("m1", "01 spill thick"))).again
        await until_rows(house, "SELECT row FROM outbox WHERE address = 'web:r1' AND state = 'sent'", len)
        assert len(await until_rows(house, NOTICES, len)) == 1


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may have a hosts file of its own")
async def test_a_gateway_whose_name_comes_back_is_reached_by_itself(store: Path, tmp_path: Path) -> None:
    hosts = tmp_path / "hosts"
    hosts.write_text("127.0.0.1 localhost\n")
    far = socket.create_server(("127.0.0.1", 0))
    far.setblocking(False)
    port = far.getsockname()[1]
    line = await asyncio.create_subprocess_exec(
        *("unshare", "--mount", "sh", "-c", 'mount --bind "$0" /etc/hosts && exec "$@"', str(hosts)),
        *(sys.executable, "-m", "bot", "serve", "--store", str(store)),
        cwd=ROOT,
        env={
            **os.environ,
            "COLDJAR_PORT": "0",
            "COLDJAR_SMS_GATEWAY": f"gateway.invalid:{port}",
            "COLDJAR_SMS_NUMBER": NUMBER,
        },
        stderr=asyncio.subprocess.PIPE,
    )
    try:
        assert line.stderr is not None
        async with asyncio.timeout(60):
            while b"cannot be used" not in await line.stderr.readline():
                assert line.returncode is None
            with hosts.open("a") as file:
                file.write("127.0.0.1 gateway.invalid\n")
            near, _ = await asyncio.get_running_loop().sock_accept(far)
            near.close()
    finally:
        line.terminate()
        await line.communicate()
        far.close()


# --- the database server ------------------------------------------------------------------------


class Cluster:
    """A PostgreSQL server of the test's own."""

    def __init__(self, folder: Path, programs: Path) -> None:
        self._folder, self._programs = folder, programs
        [self._port] = free_ports(1)
        self.url = f"postgresql://postgres@127.0.0.1:{self._port}/postgres"
        self._run("initdb", "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")

    def start(self) -> None:
        where = f"-p {self._port} -k {self._folder} -c listen_addresses=127.0.0.1"
        self._run("pg_ctl", "-w", "-l", str(self._folder / "log"), "-o", where, "start")

    def stop(self) -> None:
        self._run("pg_ctl", "-w", "-m", "fast", "stop")

    def _run(self, program: str, *words: str) -> None:
        as_postgres = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        command = [*as_postgres, str(self._programs / program), "-D", str(self._folder / "data"), *words]
        subprocess.run(command, cwd="/", check=True, stdout=subprocess.DEVNULL)


@pytest.fixture
def cluster() -> Iterator[Cluster]:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    if not found:
        pytest.skip("no PostgreSQL server here: apt-get install postgresql")
    with tempfile.TemporaryDirectory(prefix="cluster-", dir="/tmp") as folder:
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres")
        made = Cluster(Path(folder), found[-1])
        made.start()
        try:
            yield made
        finally:
            made.stop()


async def insist(house: House, message: Incoming) -> None:
    """As a phone's network does: until it is acknowledged."""
    while True:
        try:
            await house.desk.take(message)
        except StoreUnavailable:
            await asyncio.sleep(0)
        else:
            return


async def test_a_database_server_that_is_restarted_loses_and_doubles_nothing_and_is_told_once(
    cluster: Cluster, tmp_path: Path
) -> None:
    await asyncio.to_thread(migrate, cluster.url)
    async with running(cluster.url, tmp_path, {}, setup=BY_WEB, told_after_s=0) as house:
        assert await house.store.database.claim_writer()
        numbers = [f"{number:02d} spill thick" for number in range(1, 19)]
        load = [asyncio.create_task(insist(house, said(f"m{n}", text, n))) for n, text in enumerate(numbers)]
        await load[0]
        await asyncio.to_thread(cluster.stop)
        with pytest.raises(StoreUnavailable, match="check the database server"):
            await house.desk.take(said("m99", "19 spill thick", 30))
        first = house.store.database.refused
        await until(lambda: house.store.database.refused is not first)
        await asyncio.to_thread(cluster.start)
        await until(lambda: house.store.database.refused is None)  # by itself, or by what insists
        await asyncio.gather(*load)
        await insist(house, said("m99", "19 spill thick", 30))
        [(doc,)] = await until_rows(house, NOTICES, len)
        assert "nothing was stored; it works again." in json.loads(doc)["text"]
        rows = await until_rows(house, "SELECT text FROM raw_messages", len)
        kept = sorted(json.loads(text)["text"] for (text,) in rows)
        assert kept == [*numbers, "19 spill thick"]
        assert await until_rows(house, "SELECT COUNT(*) FROM samples", len) == [(19,)]
