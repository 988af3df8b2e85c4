"""The web chat as a channel: its texts wait in the store, so sending is only a ring of the bell."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator

from bot.model.message import Outgoing


class WebChat:
    """Channel and Bell of the web chat.

    Keeps one event for each open page and nothing for an address where no page is open.
    """

    name = "web"

    def __init__(self) -> None:
        self._open: dict[str, set[asyncio.Event]] = {}
        self._closed = False

    async def send(self, text: Outgoing) -> None:
        """Every open page of that address has been told to look. A closed one finds the text later."""
        for ring in self._open.get(text.address, ()):
            ring.set()

    async def listen(self, address: str) -> AsyncGenerator[None]:
        """Yield once at the start, then after each text or run of texts; end when the line closes."""
        ring = asyncio.Event()
        self._open.setdefault(address, set()).add(ring)
        try:
            yield
            while not self._closed:
                await ring.wait()
                ring.clear()
                yield
        finally:
            self._forget(address, ring)

    def close(self) -> None:
        """Every listener ends, so that a stopping server need not wait for open pages."""
        self._closed = True
        for rings in self._open.values():
            for ring in rings:
                ring.set()

    @property
    def addresses(self) -> frozenset[str]:
        """The addresses with a page open."""
        return frozenset(self._open)

    def _forget(self, address: str, ring: asyncio.Event) -> None:
        rings = self._open[address]
        rings.discard(ring)
        if not rings:
            del self._open[address]
