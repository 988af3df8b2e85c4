"""A disk that turns read-only under the running service, by the kernel's own hand, and is mounted again.

After an error of its own a file system of ext4 lets nobody write any more, however many hold files of it open
(`errors=remount-ro`, ext4(5)); `remount,abort` is the kernel's way to bring that about. It stays so until it is
mounted anew. `remount,ro` does not serve here: the kernel refuses it while a file is open for writing (mount(8)).
The service runs in a mount namespace of its own (unshare(1)); whoever mends its disk enters that (nsenter(1)).
Where a machine lets nobody mount, the store's files are made immutable instead (chattr(1)).
"""

from __future__ import annotations

import asyncio
import json
import os
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path

import pytest

from tests.channels.gateway import NUMBER, Phones, gateway
from tests.channels.test_sms_gateway import BY_WEB, R1, S1
from tests.conftest import ROOT
from tests.test_faults import NOTICE
from tests.watch.test_standby import says

pytestmark = pytest.mark.skipif(os.geteuid() != 0, reason="only root may mount a disk")


class Machine:
    """A mount namespace, in it a disk of 16 MB at `place`, or where nobody may mount only a folder there."""

    def __init__(self, folder: Path) -> None:
        self.image, self.place = folder / "disk.ext4", folder / "disk"
        self.place.mkdir()
        self.store = self.place / "store"
        with self.image.open("wb") as file:
            file.truncate(16_000_000)
        subprocess.run(["mkfs.ext4", "-q", "-F", self.image], check=True)
        held = ["unshare", "--mount", "--propagation", "private", "sh", "-c", "echo ready; exec cat"]
        self.holder = subprocess.Popen(held, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        assert self.holder.stdout is not None
        self.apart = self.holder.stdout.readline() == b"ready\n"
        self.has_disk = self.apart and self.mount()

    def inside(self, *command: object) -> list[str]:
        if not self.apart:
            return [*map(str, command)]
        return ["nsenter", "--target", str(self.holder.pid), "--mount", f"--wd={ROOT}", "--", *map(str, command)]

    def run(self, *command: object) -> str:
        done = subprocess.run(self.inside(*command), cwd=ROOT, capture_output=True, text=True, check=False)
        assert done.returncode == 0, (command, done.stdout, done.stderr)
        return done.stdout

    def coldjar(self, *words: object) -> str:
        return self.run(sys.executable, "-m", "bot", *words, "--store", self.store)

    def mount(self) -> bool:
        """Whether it could be."""
        command = self.inside("mount", "-t", "ext4", "-o", "loop,errors=remount-ro", self.image, self.place)
        return subprocess.run(command, check=False).returncode == 0

    def break_disk(self) -> None:
        if self.has_disk:
            self.run("mount", "-o", "remount,abort", self.place)
        else:
            self.run("chattr", "+i", self.store / "coldjar.db", self.store / "coldjar.db-wal")

    def mend_disk(self) -> None:
        """Taken off, let go of by the service by itself, looked over, and mounted again at the same place."""
        if not self.has_disk:
            self.run("chattr", "-i", self.store / "coldjar.db", self.store / "coldjar.db-wal")
            return
        self.run("umount", "--lazy", self.place)
        ends = time.monotonic() + 60
        while self.run("losetup", "--associated", self.image):
            assert time.monotonic() < ends, "the service holds on to the broken disk"
        looked_over = subprocess.run(["e2fsck", "-p", self.image], capture_output=True, text=True, check=False)
        assert looked_over.returncode in (0, 1), looked_over.stdout  # 1: errors were corrected, e2fsck(8)
        assert self.mount()

    @asynccontextmanager
    async def serving(self, **settings: str) -> AsyncIterator[asyncio.subprocess.Process]:
        line = await asyncio.create_subprocess_exec(
            *self.inside(sys.executable, "-m", "bot", "serve", "--store", self.store),
            cwd=ROOT,
            env={**os.environ, "COLDJAR_PORT": "0", "PYTHONPATH": str(ROOT), **settings},
            stderr=asyncio.subprocess.PIPE,
        )
        try:
            yield line
        finally:
            if line.returncode is None:
                line.terminate()
            await line.communicate()


@pytest.fixture
def machine(tmp_path: Path) -> Iterator[Machine]:
    made = Machine(tmp_path)
    try:
        (tmp_path / "unit.toml").write_text(BY_WEB.replace('"web:s1"', f'"sms:{S1}"'))
        made.coldjar("setup", tmp_path / "unit.toml")
        yield made
    finally:
        made.holder.communicate()  # its input ends, and with it the namespace and all that is mounted there


async def in_a_minute(phones: Phones, number: str, words: str) -> str:
    """The next text with these words: what lasts under half a minute is told to nobody."""
    async with asyncio.timeout(60):
        while True:
            with suppress(TimeoutError):
                return await phones.hears_that(number, words)


async def test_a_disk_turned_read_only_by_the_kernel_is_told_once_and_mounted_again_the_line_goes_on(
    machine: Machine, tmp_path: Path
) -> None:
    async with gateway(tmp_path / "gw") as (made, phones):
        to = {"COLDJAR_SMS_GATEWAY": f"127.0.0.1:{made.boxes}", "COLDJAR_SMS_NUMBER": NUMBER}
        async with machine.serving(**to) as line:
            await says(line, "is connected")
            phones.say(R1, "01 spill thick")
            await phones.hears_that(R1, "01 saved")
            machine.break_disk()
            phones.say(R1, "02 spill thick")
            assert "check the disk" in await in_a_minute(phones, S1, NOTICE)
            machine.mend_disk()
            await says(line, "the store takes writes again")
            await phones.hears_that(R1, "02 saved")
            phones.say(R1, "03 spill thick")
            await phones.hears_that(R1, "03 saved")
        said = b"".join(phones.lines)
        assert [said.count(f"0{number} saved".encode()) for number in (1, 2, 3)] == [1, 1, 1]
        assert said.count(NOTICE.encode()) == 1
    texts = [one["text"] for one in json.loads(machine.coldjar("show", "messages", "--json"))]
    assert texts == [f"0{number} spill thick" for number in (1, 2, 3)]
    assert machine.coldjar("verify", "--silent").endswith("Nothing was altered.\n")
