"""Where a messenger pushes what people sent: the secret first, 200 only after the commit."""

from __future__ import annotations

import hmac
import json
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from bot.model.errors import StoreUnavailable

MOST_BYTES = 1_000_000  # of one update; the Bot API's own are far smaller


@dataclass(frozen=True)
class Hook:
    """One place to push to. `header` carries the secret; `hear` returns after the commit."""

    path: str
    header: str
    secret: str
    hear: Callable[[dict[str, Any]], Awaitable[None]]

    def route(self) -> Route:
        """The hook as a route of the app."""
        return Route(self.path, self.take, methods=["POST"])

    async def take(self, request: Request) -> Response:
        """Answer 200 once the update is on disk, 503 where it shall come again."""
        told = request.headers.get(self.header, "")
        if not hmac.compare_digest(told.encode(), self.secret.encode()):
            return PlainTextResponse("That secret is not this line's.", status_code=403)
        body = bytearray()
        async for chunk in request.stream():
            body.extend(chunk)
            if len(body) > MOST_BYTES:
                return PlainTextResponse("That is over 1 MB.", status_code=413)
        try:
            update = json.loads(bytes(body))
        except ValueError:
            return PlainTextResponse("That is not JSON.", status_code=400)
        if not isinstance(update, dict) or not isinstance(update.get("update_id"), int):
            return PlainTextResponse("That is no update.", status_code=400)
        try:
            await self.hear(update)
        except StoreUnavailable:
            return PlainTextResponse("Not stored; send it again.", status_code=503)
        return PlainTextResponse("Stored.")
