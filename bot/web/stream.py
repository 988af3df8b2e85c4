"""New lines as they are sent, as server-sent events (WHATWG HTML, 9.2)."""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import AsyncIterator
from contextlib import suppress
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from bot.ports import LogLine

from .lines import shown
from .pages import said_no
from .parts import Parts
from .sign_in import SIGNED_OUT, Door

ROW = re.compile(r"[0-9]{1,18}")
HEARTBEAT = ": still here\nevent: beat\ndata: 1\n\n"  # a comment alone is out of reach of a page's script


@dataclass(frozen=True)
class Stream:
    """The route that a page listens to."""

    parts: Parts
    door: Door

    async def open(self, request: Request) -> Response:
        """Lines sent after the row that the browser names, then each as it comes.

        A page that names no row holds no line yet: it is given the last lines, both ways, as the past.
        """
        address = await self.door.who(request)
        if address is None:
            return said_no(SIGNED_OUT)
        named = request.headers.get("last-event-id") or request.query_params.get("after") or ""
        after = int(named) if ROW.fullmatch(named) else None
        return StreamingResponse(
            self._events(request, address, after),
            media_type="text/event-stream",
            headers={"x-accel-buffering": "no"},
        )

    async def _events(self, request: Request, address: str, after: int | None) -> AsyncIterator[str]:
        rings = self.parts.bell.listen(address)
        ring = asyncio.ensure_future(anext(rings))
        try:
            while True:
                await asyncio.wait({ring}, timeout=self.parts.limits.heartbeat_s)
                if await self.door.who(request) != address:
                    return  # the session ended while its page stood open
                if not ring.done():
                    yield HEARTBEAT
                    continue
                if isinstance(ring.exception(), StopAsyncIteration):
                    return  # the line is closing
                ring.result()
                ring = asyncio.ensure_future(anext(rings))  # before reading, so that no ring is missed
                kind = "past" if after is None else "line"
                for line in await self._new(address, after):
                    after = max(after or 0, line.row)
                    yield self._event(kind, line)
                after = after or 0
        finally:
            ring.cancel()
            with suppress(asyncio.CancelledError, StopAsyncIteration):
                await ring

    async def _new(self, address: str, after: int | None) -> list[LogLine]:
        if after is None:
            return await self.parts.log.recent(address, self.parts.limits.lines)
        return await self.parts.log.sent_after(address, after)

    def _event(self, kind: str, line: LogLine) -> str:
        data = json.dumps(shown(line, self.parts.look.zone), ensure_ascii=True)
        event_id = f"id: {line.row}\n" if line.row else ""
        return f"event: {kind}\n{event_id}data: {data}\n\n"
