"""The real bearerbox with its simulated phone network: Debian's kannel, its configuration from deploy/.

The network's own protocol is lines of `sender receiver sort data` (the package's fakesmsc speaks it too).
"""

from __future__ import annotations

import asyncio
import shutil
import signal
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from secrets import token_hex
from urllib.parse import quote_from_bytes, unquote_to_bytes

import pytest

ROOT = Path(__file__).resolve().parents[2]
NUMBER = "+447700900100"  # the line's own
BEARERBOX = shutil.which("bearerbox") or "/usr/sbin/bearerbox"
READY = b"MAIN: Start-up done, entering mainloop"
FAKE = """
group = smsc
smsc = fake
smsc-id = phones
host = 127.0.0.1
our-host = 127.0.0.1
port = {network}
connect-allow-ip = "127.0.0.1"
"""


def free_ports(count: int) -> list[int]:
    probes = [socket.socket() for _ in range(count)]
    for probe in probes:
        probe.bind(("127.0.0.1", 0))
    ports = [int(probe.getsockname()[1]) for probe in probes]
    for probe in probes:
        probe.close()
    return ports


@dataclass
class Phones:
    """Every phone of the network, over one connection; what they got, and the parts it came in."""

    writer: asyncio.StreamWriter
    got: asyncio.Queue[tuple[str, str]] = field(default_factory=asyncio.Queue)
    lines: list[bytes] = field(default_factory=list)

    def say(self, number: str, text: str) -> None:
        """One phone sends; what the alphabet lacks goes as UCS-2."""
        if text.isascii() and "\n" not in text:
            self.line(f"{number} {NUMBER} text {text}")
        else:
            self.line(f"{number} {NUMBER} ucs2 {quote_from_bytes(text.encode('utf-16-be'))}")

    def line(self, line: str) -> None:
        self.writer.write(line.encode() + b"\n")

    async def hears(self, number: str | None = None) -> str:
        """The next text to a phone, whole: parts of a long one are joined."""
        while True:
            who, text = await asyncio.wait_for(self.got.get(), 20)
            if number in (None, who):
                return text

    async def hears_that(self, number: str, words: str) -> str:
        """The next text to a phone that holds these words; after a kill an earlier one may come twice."""
        while words not in (text := await self.hears(number)):
            pass
        return text

    async def listen(self, reader: asyncio.StreamReader) -> None:
        parts: dict[tuple[str, int], dict[int, str]] = {}
        while line := await reader.readline():
            self.lines.append(line)
            _, receiver, sort, data = line.rstrip(b"\n").split(b" ", 3)
            who = receiver.decode()
            if sort != b"udh":
                self.got.put_nowait((who, _read(sort, data)))
                continue
            udh, inner, data = data.split(b" ", 2)
            head = unquote_to_bytes(udh.replace(b"+", b" "))  # 05 00 03 reference count place: 3GPP TS 23.040
            held = parts.setdefault((who, head[3]), {})
            held[head[5]] = _read(inner, data)
            if len(held) == head[4]:
                self.got.put_nowait((who, "".join(held[place] for place in sorted(held))))
                del parts[who, head[3]]


def _read(sort: bytes, data: bytes) -> str:
    if sort == b"text":
        return data.decode()
    octets = unquote_to_bytes(data.replace(b"+", b" "))
    wide = sort == b"ucs-2" or b"\0" in octets  # a part of a long one is called "data" whatever it holds
    return octets.decode("utf-16-be" if wide else "utf-8")


class Gateway:
    """A bearerbox of the test's own, which can be killed and started again over the same store."""

    def __init__(self, folder: Path) -> None:
        if not Path(BEARERBOX).exists():
            pytest.skip("no bearerbox: apt-get install kannel kannel-extras")
        folder.mkdir(exist_ok=True)
        self.folder = folder
        self.admin, self.boxes, self.network = free_ports(3)
        self._process: asyncio.subprocess.Process | None = None
        self._phones: Phones | None = None
        self._reading: list[asyncio.Task[None]] = []
        text = (ROOT / "deploy/kannel/bearerbox.conf").read_text(encoding="utf-8")
        changes = {
            "admin-port = 13000": f"admin-port = {self.admin}\nadmin-password = {token_hex(16)}",
            "13001": str(self.boxes),
            "/var/spool/kannel/store": str(folder / "store"),
            "/etc/kannel/network.conf": str(folder / "network.conf"),
        }
        for old, new in changes.items():
            assert old in text
            text = text.replace(old, new)
        (folder / "bearerbox.conf").write_text(text)
        (folder / "network.conf").write_text(FAKE.format(network=self.network))

    async def start(self) -> Phones:
        """It is up, and the phones are in its network."""
        self._process = await asyncio.create_subprocess_exec(
            BEARERBOX, self.folder / "bearerbox.conf",
            stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
        )  # fmt: skip
        assert self._process.stdout is not None
        said = b""
        while READY not in said:
            said = await asyncio.wait_for(self._process.stdout.readline(), 20)
            assert said, "the bearerbox ended"
        self._reading.append(asyncio.create_task(_drain(self._process.stdout)))
        while True:
            try:
                reader, writer = await asyncio.open_connection("127.0.0.1", self.network)
                break
            except ConnectionRefusedError:
                await asyncio.sleep(0)
        self._phones = phones = Phones(writer)
        self._reading.append(asyncio.create_task(phones.listen(reader)))
        return phones

    async def stop(self, how: signal.Signals) -> None:
        assert self._process is not None
        if self._process.returncode is None:
            self._process.send_signal(how)
        await asyncio.wait_for(self._process.wait(), 20)
        for task in self._reading:
            task.cancel()
        if self._phones is not None:
            self._phones.writer.close()
        await asyncio.gather(*self._reading, return_exceptions=True)
        self._reading.clear()


async def _drain(stream: asyncio.StreamReader) -> None:
    while await stream.readline():
        pass


@asynccontextmanager
async def gateway(folder: Path) -> AsyncIterator[tuple[Gateway, Phones]]:
    made = Gateway(folder)
    phones = await made.start()
    try:
        yield made, phones
    finally:
        await made.stop(signal.SIGKILL)
