"""The register's routes: sheets, files to take away, and the stream that says when to look again."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import BaseRoute, Route

from bot.model.errors import StoreUnavailable
from bot.model.message import Incoming
from bot.ports import Download, Register, Shut

from .pages import Pages, said_no
from .parts import Parts, Refusal
from .same_site import STALE_FORM
from .sign_in import SEE_OTHER, Door, Way

SIGNED_OUT = Refusal(401, "You are not signed in. Text PAGE to the line and open the link that comes.")
NO_LINK = Refusal(
    410, "This link has been used or is too old. Text PAGE to the line and open the link that comes."
)
LOOK_S = 3.0  # how often an open sheet asks whether something was written
SESSION_S = 8 * 3600
ID_BYTES = 16
HANDLE_CHARS = 20
TAKING = ("mine", "have")


@dataclass(frozen=True)
class RegisterPages:
    """The routes of the register."""

    parts: Parts
    pages: Pages
    door: Door
    register: Register

    def routes(self) -> list[BaseRoute]:
        """Every route, those of its own door included."""
        return [
            Route("/page/{token}", self.door.show_link),
            Route("/page/{token}", self.door.use_link, methods=["POST"]),
            Route("/register", self.sheet),
            Route("/register/out", self.door.signed_out),
            Route("/register/out", self.door.sign_out, methods=["POST"]),
            Route("/register/take", self.take, methods=["POST"]),
            Route("/register/stream", self.stream),
            Route("/register/{name:str}", self.sheet),
            Route("/register/file/{name:str}", self.file),
        ]

    async def sheet(self, request: Request) -> Response:
        """Show a sheet; what it is about stands in the query as `of`."""
        address = await self.door.who(request)
        if address is None:
            return await self.door.signed_out(request)
        name, of = request.path_params.get("name", ""), request.query_params.get("of", "")
        sheet = await self.register.sheet(address, name, of)
        if isinstance(sheet, Shut):
            return self.pages.sentence(request, Refusal(sheet.status, sheet.sentence))
        return self.pages.draw(
            request,
            f"register/{sheet.template}",
            200,
            sheet=sheet,
            mark=await self.register.mark(),
            may_leave=self.door.may_leave,
            **sheet.values,
        )

    async def file(self, request: Request) -> Response:
        """Hand a file out, under its own name."""
        address = await self.door.who(request)
        if address is None:
            return await self.door.signed_out(request)
        name, of = request.path_params["name"], request.query_params.get("of", "")
        given = await self.register.download(address, name, of)
        if isinstance(given, Shut):
            return self.pages.sentence(request, Refusal(given.status, given.sentence))
        return _handed_out(given)

    async def take(self, request: Request) -> Response:
        """Hand MINE in for the reader, or at the change of a shift HAVE, as if they had texted it."""
        address = await self.door.who(request)
        if address is None:
            return await self.door.signed_out(request)
        fields = await self.door.own_form(request)
        if fields is None:
            return self.pages.sentence(request, STALE_FORM)
        word = fields.get("word", "")
        if word not in TAKING:
            return self.pages.sentence(request, STALE_FORM)
        channel, _, account = address.partition(":")
        message = Incoming(
            channel=channel,
            account=account,
            message_id=f"page-{self.parts.secrets.token(ID_BYTES)}",
            received_us=self.parts.clock.now_us(),
            text=f"{word} {fields.get('handle', '')[:HANDLE_CHARS]}",
        )
        try:
            await self.parts.take(message)
        except StoreUnavailable as problem:
            return self.pages.sentence(request, Refusal(503, str(problem)))
        return RedirectResponse("/register", SEE_OTHER)

    async def stream(self, request: Request) -> Response:
        """Say whenever something was written, until the session ends."""
        address = await self.door.who(request)
        if address is None:
            return said_no(SIGNED_OUT)
        return StreamingResponse(
            self._marks(request, address, request.query_params.get("mark", "")),
            media_type="text/event-stream",
            headers={"x-accel-buffering": "no"},
        )

    async def _marks(self, request: Request, address: str, seen: str) -> AsyncIterator[str]:
        yield "retry: 5000\n\n"
        rings = self.parts.bell.listen("register")  # nobody rings there; it ends when the line closes
        await anext(rings)
        closing = asyncio.ensure_future(anext(rings))
        try:
            while not closing.done() and await self.door.who(request) == address:
                mark = await self.register.mark()
                yield f"event: changed\ndata: {mark}\n\n" if mark != seen else ": still here\n\n"
                seen = mark
                await asyncio.wait({closing}, timeout=LOOK_S)
        finally:
            closing.cancel()
            with suppress(asyncio.CancelledError, StopAsyncIteration):
                await closing


def page_way(cookie: str, parts: Parts) -> Way | None:
    """The way to the register, None where there is none."""
    if parts.page_sign_in is None:
        return None
    return Way(
        cookie=cookie,
        redeem=parts.page_sign_in.redeem_page,
        address_of=parts.page_sign_in.page_address_of,
        end=parts.page_sign_in.end_page,
        leads_to="/register",
        out="/register/out",
        session_s=SESSION_S,
        what="in to the register",
        signed_out=SIGNED_OUT,
        no_link=NO_LINK,
        signed_out_page="register/out.html",
        open_address=parts.open_page_address,
    )


def _remove(path: str) -> None:
    Path(path).unlink(missing_ok=True)


def _handed_out(given: Download) -> Response:
    told = f"attachment; filename*=UTF-8''{quote(given.name)}"  # RFC 6266
    inline = given.media_type.startswith("image/")
    headers = {"content-disposition": "inline" if inline else told}
    if given.path is not None:
        gone = BackgroundTask(_remove, given.path) if given.once else None
        return FileResponse(given.path, media_type=given.media_type, headers=headers, background=gone)
    return Response(given.body, media_type=given.media_type, headers=headers)
