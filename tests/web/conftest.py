"""A real server on loopback; behind it one small line in memory, at the seams of bot/ports.py."""

from __future__ import annotations

import asyncio
import re
import secrets
import socket
import threading
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest
import uvicorn
from starlette.applications import Starlette

from bot.channels.webchat import WebChat
from bot.model.errors import FileTooLarge, StoreUnavailable
from bot.model.message import Attachment, Choice, Incoming, MessageState, Outgoing, Receipt
from bot.ports import LogLine
from bot.web.app import build_app
from bot.web.parts import WebLimits

LIMITS = WebLimits(photo_bytes=2_000_000, request_bytes=6_000_000, heartbeat_s=0.2)


class Line:
    """Take, ChatLog and SignIn in memory. It answers each message with what it heard."""

    def __init__(self) -> None:
        self.bell = WebChat()
        self.taken: dict[str, Incoming] = {}
        self.lines: dict[str, list[LogLine]] = {}
        self.drawings: dict[tuple[str, int], str | None] = {}
        self.links: dict[str, str] = {}
        self.sessions: dict[str, str] = {}
        self.deliveries = 0
        self.full = False
        self.receipts = threading.Event()  # cleared: answers go out, but receipts are held back
        self.receipts.set()

    async def take(self, message: Incoming) -> Receipt:
        self.deliveries += 1
        if self.full:
            raise StoreUnavailable("The disk is full; free some of it.")
        if message.text == "break":
            raise RuntimeError("a fault of ours, not of the message")
        again = message.key in self.taken
        if not again:
            self.taken[message.key] = message
            said = LogLine(f"in:{message.message_id}", 0, message.said_us, False, message.text or "-")
            self.lines.setdefault(message.address, []).append(said)
            await self.say(message.address, f"heard {message.text or message.press or 'that'}")
        if not self.receipts.is_set():
            await asyncio.to_thread(self.receipts.wait)
        return Receipt(state=MessageState.TAKEN, again=again)

    async def say(
        self,
        address: str,
        text: str,
        choices: tuple[Choice, ...] = (),
        asks: str | None = None,
        *,
        urgent: bool = False,
        drawing: str | None = None,
    ) -> None:
        lines = self.lines.setdefault(address, [])
        row, at_us = len(lines) + 1, time.time_ns() // 1000
        drawn = drawing is not None
        lines.append(LogLine(f"out:{row}", row, at_us, True, text, choices, asks, urgent=urgent, drawn=drawn))
        self.drawings[address, row] = drawing
        await self.bell.send(Outgoing(channel="web", account=address.partition(":")[2], text=text))

    async def recent(self, address: str, limit: int) -> list[LogLine]:
        return self.lines.get(address, [])[-limit:]

    async def sent_after(self, address: str, row: int) -> list[LogLine]:
        return [line for line in self.lines.get(address, []) if line.row > row]

    async def drawing(self, address: str, row: int) -> str | None:
        return self.drawings.get((address, row))

    async def redeem(self, link_token: str) -> tuple[str, str] | None:
        address = self.links.pop(link_token, None)
        if address is None:
            return None
        session = secrets.token_hex(16)
        self.sessions[session] = address
        return address, session

    async def address_of(self, session_token: str) -> str | None:
        return self.sessions.get(session_token)

    async def end_session(self, session_token: str) -> None:
        self.sessions.pop(session_token, None)


class Shelf:
    """Files as they came, in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    async def receive(self, chunks: AsyncIterator[bytes], name: str | None) -> Attachment:
        whole = b"".join([chunk async for chunk in chunks])
        if len(whole) > LIMITS.photo_bytes:
            raise FileTooLarge(LIMITS.photo_bytes)
        digest = sha256(whole).hexdigest()
        (self.folder / digest).write_bytes(whole)
        return Attachment(sha256=digest, size=len(whole), media_type="application/octet-stream", name=name)


class Wall:
    """The clock and the secrets of this machine."""

    def now_us(self) -> int:
        return time.time_ns() // 1000

    def token(self, nbytes: int) -> str:
        return secrets.token_hex(nbytes)


class Served:
    """The app on a port of loopback, which can be stopped and started again as after a restart."""

    def __init__(self, line: Line, folder: Path, open_address: str | None) -> None:
        self.line, self.shelf, self.open_address = line, Shelf(folder), open_address
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        self.url = f"http://127.0.0.1:{self.port}"

    def app(self, origin: str) -> Starlette:
        wall, line = Wall(), self.line
        return build_app(
            take=line.take,
            log=line,
            bell=line.bell,
            sign_in=line,
            end_session=line.end_session,
            receive_file=self.shelf.receive,
            clock=wall,
            secrets=wall,
            title="Corrowby Haven",
            notice="EXERCISE",
            zone=ZoneInfo("Europe/Lisbon"),
            origins=(origin,),
            limits=LIMITS,
            open_address=self.open_address,
            landing=("Type jar and press Send.", "Or: 03 spill sheen 1002 47.2830N 19.9510W seal 5103"),
        )

    def start(self) -> None:
        self.line.bell = WebChat()
        app = self.app(self.url)
        config = uvicorn.Config(app, port=self.port, log_level="critical", ws="none", lifespan="off")
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._run)
        self._up = threading.Event()
        self._thread.start()
        assert self._up.wait(20)

    def _run(self) -> None:
        async def serve() -> None:
            self._loop = asyncio.get_running_loop()
            listening = socket.create_server(("127.0.0.1", self.port))
            self._up.set()
            await self._server.serve(sockets=[listening])

        asyncio.run(serve())

    def stop(self) -> None:
        self.line.receipts.set()
        self._loop.call_soon_threadsafe(self.line.bell.close)
        self._server.should_exit = True
        self._thread.join(20)
        assert not self._thread.is_alive()

    def say(self, text: str, *told: Any, urgent: bool = False, drawing: str | None = None) -> None:
        """Queue a text to web:r1, with its choices and what it asks."""
        said = self.line.say("web:r1", text, *told, urgent=urgent, drawing=drawing)
        asyncio.run_coroutine_threadsafe(said, self._loop).result(10)

    def until(self, holds: Callable[[], bool]) -> None:
        """Wait for what the server does by itself, a few seconds at most."""
        ends = time.monotonic() + 30
        while not holds():
            assert time.monotonic() < ends
            threading.Event().wait(0.01)  # nothing rings when the server has forgotten a page

    def client(self, **headers: str) -> httpx.Client:
        """A browser that tells its origin, as browsers do with a POST."""
        return httpx.Client(base_url=self.url, headers={"origin": self.url, **headers}, timeout=20)

    @contextmanager
    def signed_in(self, link: str) -> Iterator[httpx.Client]:
        """A browser after its link was opened and the button on the page pressed."""
        with self.client() as client:
            token = token_in(client.get(f"/in/{link}").text)
            assert client.post(f"/in/{link}", data={"token": token}).headers["location"] == "/chat"
            yield client


def token_in(page: str) -> str:
    """The token in the first form of a page."""
    found = re.search(r'name="token" value="([0-9a-f]{64})"', page)
    assert found is not None
    return found[1]


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Served]:
    """A served line where anyone is web:r1."""
    served = Served(Line(), tmp_path, "web:r1")
    served.start()
    yield served
    served.stop()


@pytest.fixture(scope="module")
def long_running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A served line where anyone is web:r1, one for all tests of a module."""
    served = Served(Line(), tmp_path_factory.mktemp("shelf"), "web:r1")
    served.start()
    yield served
    served.stop()


@pytest.fixture
def crew(tmp_path: Path) -> Iterator[Served]:
    """A served line where one has to sign in; the link for web:r1 is link-for-r1."""
    served = Served(Line(), tmp_path, None)
    served.line.links = {"link-for-r1": "web:r1", "link-for-r2": "web:r2"}
    served.start()
    yield served
    served.stop()


@pytest.fixture
async def crew_by_https(tmp_path: Path) -> AsyncIterator[httpx.AsyncClient]:
    """A browser of the line as it is reached behind a proxy that speaks HTTPS."""
    line = Line()
    line.links = {"link-for-r1": "web:r1"}
    origin = "https://line.example"
    transport = httpx.ASGITransport(Served(line, tmp_path, None).app(origin))
    async with httpx.AsyncClient(base_url=origin, transport=transport, headers={"origin": origin}) as client:
        yield client
