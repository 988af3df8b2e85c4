"""Putting the pages together into one app."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from zoneinfo import ZoneInfo

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from bot.ports import Bell, ChatLog, Clock, PageSignIn, Register, Secrets, SignIn, Take

from .chat import Chat
from .headers import ALWAYS, NEVER_KEEP, Guarded
from .pages import STATIC, Pages, said_no
from .parts import EndSession, Look, Parts, ReceiveFile, Refusal, WebLimits
from .register import RegisterPages, page_way
from .sign_in import SEE_OTHER, Door, chat_way
from .stream import Stream

Handler = Callable[[Request, Exception], Awaitable[Response]]

NOT_THERE = "There is no page here. The log is at /chat."
NO_SHEET = "There is no page here. The register is at /register."
BROKE = Refusal(500, "Something failed here and was written down; what you sent last may not be kept.")


def build_app(
    *,
    take: Take,
    log: ChatLog,
    bell: Bell,
    sign_in: SignIn,
    end_session: EndSession,
    receive_file: ReceiveFile,
    clock: Clock,
    secrets: Secrets,
    title: str,
    notice: str,
    zone: ZoneInfo,
    origins: tuple[str, ...],
    limits: WebLimits | None = None,
    open_address: str | None = None,
    landing: tuple[str, ...] = (),
    register: Register | None = None,
    page_sign_in: PageSignIn | None = None,
    open_page_address: str | None = None,
) -> Starlette:
    """Return the app that serves the field log.

    `open_address` signs everyone in as that address: for a demonstration on loopback only.
    """
    reached_at = tuple(origin.rstrip("/") for origin in origins)
    look = Look(title=title, notice=notice, zone=zone, origins=reached_at, landing=landing)
    parts = Parts(
        take=take,
        log=log,
        bell=bell,
        sign_in=sign_in,
        end_session=end_session,
        receive_file=receive_file,
        clock=clock,
        secrets=secrets,
        look=look,
        limits=limits or WebLimits(),
        open_address=open_address,
        register=register,
        page_sign_in=page_sign_in,
        open_page_address=open_page_address,
    )
    pages = Pages(parts)
    return Starlette(
        routes=_routes(parts, pages),
        middleware=[Middleware(Guarded, look=look)],
        exception_handlers={HTTPException: _no_page(pages), Exception: _broke(pages)},
    )


def _routes(parts: Parts, pages: Pages) -> list[BaseRoute]:
    door = Door(parts, pages, chat_way(parts, pages))
    chat = Chat(parts, pages, door)

    async def front(request: Request) -> Response:
        if parts.open_address is None:
            return RedirectResponse("/chat", SEE_OTHER)
        return pages.draw(request, "landing.html")

    async def worker(request: Request) -> Response:
        return FileResponse(STATIC / "sw.js", media_type="text/javascript")

    routes: list[BaseRoute] = [
        Route("/", front),
        Route("/chat", chat.page),
        Route("/chat/shell", chat.shell),
        Route("/chat/plain", chat.plain, methods=["POST"]),
        Route("/chat/messages", chat.message, methods=["POST"]),
        Route("/chat/stream", Stream(parts, door).open),
        Route("/chat/drawing/{row:int}", chat.drawing),
        Route("/sw.js", worker),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    if parts.open_address is None:
        routes.extend(_door_routes(door))
    return [*routes, *_register_routes(parts, pages)]


def _register_routes(parts: Parts, pages: Pages) -> list[BaseRoute]:
    way = page_way(pages.page_cookie, parts)
    if way is None or parts.register is None:
        return []
    return RegisterPages(parts, pages, Door(parts, pages, way), parts.register).routes()


def _door_routes(door: Door) -> list[BaseRoute]:
    return [
        Route("/in/{token}", door.show_link),
        Route("/in/{token}", door.use_link, methods=["POST"]),
        Route("/out", door.signed_out),
        Route("/out", door.sign_out, methods=["POST"]),
    ]


def _no_page(pages: Pages) -> Handler:
    async def answer(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 404
        return pages.sentence(request, Refusal(status, NO_SHEET if pages.in_register(request) else NOT_THERE))

    return answer


def _broke(pages: Pages) -> Handler:
    async def answer(request: Request, error: Exception) -> Response:
        script = request.url.path == "/chat/messages"
        response = said_no(BROKE) if script else pages.sentence(request, BROKE)
        response.headers.update(ALWAYS | {"cache-control": NEVER_KEEP})  # made outside of Guarded
        return response

    return answer
