"""The real service on loopback, with a case that was played into it, and browsers without a window."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from tests.test_cli import ROOT, coldjar

SETUP = """
[unit]
name = "Corrowby Haven"
zone = "Europe/Lisbon"
area = { south = 47.20, north = 47.40, west = -20.10, east = -19.80 }
region = "GB"
[[people]]
name = "R1"
roles = ["responder"]
addresses = ["sms:+447700900001", "web:r1"]
[[people]]
name = "R2"
roles = ["responder"]
addresses = ["sms:+447700900002", "web:r2"]
[[people]]
name = "S1"
roles = ["supervisor"]
addresses = ["web:s1"]
[[people]]
name = "D1"
roles = ["deputy"]
addresses = ["web:d1"]
[[people]]
name = "C1"
roles = ["custodian"]
addresses = ["sms:+447700900003", "web:c1"]
[[people]]
name = "A1"
roles = ["administrator"]
addresses = ["web:a1"]
[[people]]
name = "L1"
roles = ["laboratory"]
addresses = ["web:l1"]
[[kits]]
name = "A"
numbers = [1, 19]
seals = ["5101", "5121"]
[[coolers]]
name = "M"
class = "50 L ordinary"
[[cases]]
name = "CH-014"
people = ["R1"]
kits = ["A"]
opened = "2026-10-12T09:00:00+01:00"
[[cases]]
name = "CH-900"
exercise = true
people = ["R2"]
opened = "2026-10-12T09:00:00+01:00"
"""
R1, R2, C1 = "+447700900001", "+447700900002", "+447700900003"
SCRIPT = [
    ("09:03:00", R1, "03 spill sheen 1002 47.2830N 19.9510W pad seal 5103"),
    ("09:03:30", R1, "03 cooler M 4.4C"),
    ("09:04:00", R1, "cooler M 8.4C at 0950"),
    ("09:04:10", R1, "cooler M 44C at 0945"),
    ("09:04:20", R1, "cooler M 4.4 not 44, misread"),
    ("09:05:00", R1, "03 seal is 5104 not 5103, misread"),
    ("09:06:00", R1, "ok"),
    ("09:07:00", R1, "04 spill 47.8830N 20.0W fill 50% seal 5105"),
    ("09:09:00", R1, "going into the tank"),
    ("09:10:00", R2, "50 spill 1005 seal E50"),
    ("09:19:00", C1, "03 5104 whole"),
    ("09:20:00", R1, "offer 03 to C1"),
    ("09:21:00", C1, "04 5105 whole"),
    ("09:30:00", R1, "cooler M 8.8C at 1029"),
    ("09:31:00", R2, "out till 1700"),
]


class Running:
    """A `serve` of its own, and the links that `setup` printed."""

    def __init__(self, folder: Path) -> None:
        self.store = folder / "store"
        self.sessions: dict[str, str] = {}
        unit, script = folder / "unit.toml", folder / "script.jsonl"
        unit.write_text(SETUP)
        lines = [{"at": f"2026-10-12T{at}Z", "channel": "sms", "from": who, "text": t} for at, who, t in SCRIPT]
        script.write_text("".join(json.dumps(line) + "\n" for line in lines))
        told = coldjar("setup", unit, "--store", self.store)
        assert told.returncode == 0, told.stderr
        self.links = dict(re.findall(r"^(\w+): \S+/in/(\S+)$", told.stdout, re.MULTILINE))
        played = coldjar("replay", script, "--store", self.store)
        assert played.returncode == 0, played.stderr

    def start(self) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = int(probe.getsockname()[1])
        self.url = f"http://127.0.0.1:{port}"
        env = {**os.environ, "COLDJAR_PORT": str(port), "PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-m", "bot", "serve", "--store", str(self.store)]
        self.process = subprocess.Popen(command, cwd=ROOT, env=env, stderr=subprocess.PIPE, text=True)
        ends = time.monotonic() + 30
        while not self._answers():
            assert self.process.poll() is None
            assert time.monotonic() < ends

    def _answers(self) -> bool:
        try:
            return httpx.get(f"{self.url}/out", timeout=1).status_code == 401
        except httpx.TransportError:
            return False

    def stop(self) -> None:
        self.process.send_signal(signal.SIGTERM)
        self.log = self.process.communicate(timeout=20)[1]

    @contextmanager
    def chat(self, who: str) -> Iterator[httpx.Client]:
        """A browser that is signed in to the field log as this person."""
        with httpx.Client(base_url=self.url, headers={"origin": self.url}, timeout=20) as client:
            if who not in self.sessions:
                self.sessions[who] = press(client, f"/in/{self.links[who]}").cookies["session"]
            client.cookies.set("session", self.sessions[who])
            yield client

    def page_link(self, client: httpx.Client) -> str:
        """The way to the register that a text PAGE is answered with."""
        client.post("/chat/messages", json={"id": os.urandom(8).hex(), "text": "page"})
        found = re.findall(r'href="(?:http://[^/"]+)?(/page/[0-9a-f]+)"', client.get("/chat").text)
        return str(found[-1])


def press(client: httpx.Client, path: str) -> httpx.Response:
    """Open a link and press the button on its page."""
    token = re.findall(r'name="token" value="([0-9a-f]{64})"', client.get(path).text)[-1]
    return client.post(path, data={"token": token})


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    running = Running(tmp_path_factory.mktemp("register"))
    running.start()
    yield running
    running.stop()
    assert "Traceback" not in running.log, running.log
    shutil.rmtree(running.store)


@pytest.fixture(scope="session")
def supervisor(played: Running) -> Iterator[httpx.Client]:
    """A browser in which S1 reads the register."""
    with played.chat("S1") as client:
        press(client, played.page_link(client))
        yield client


@pytest.fixture(scope="session")
def responder(played: Running) -> Iterator[httpx.Client]:
    """A browser in which R1, who works on one of two cases, reads the register."""
    with played.chat("R1") as client:
        press(client, played.page_link(client))
        yield client
