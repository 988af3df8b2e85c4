"""The door: a one-time link becomes a session; signing out ends it."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from .body import read_body
from .pages import Pages
from .parts import Parts, Refusal
from .same_site import STALE_FORM, form_is_ours

TOKEN = re.compile(r"[A-Za-z0-9_-]{8,256}")
NO_LINK = Refusal(410, "This link has been used or is too old. Ask your supervisor for a new one.")
SIGNED_OUT = Refusal(
    401, "You are not signed in on this phone. Ask your supervisor for a sign-in link and open it here."
)
SEE_OTHER = 303


@dataclass(frozen=True)
class Way:
    """A way in: its cookie, how a link becomes a session, whose one is and how it ends, and where it leads.

    `open_address` signs everybody in as that address: for a demonstration on loopback only.
    """

    cookie: str
    redeem: Callable[[str], Awaitable[tuple[str, str] | None]]
    address_of: Callable[[str], Awaitable[str | None]]
    end: Callable[[str], Awaitable[None]]
    leads_to: str
    out: str
    session_s: int
    what: str
    signed_out: Refusal
    no_link: Refusal = NO_LINK
    signed_out_page: str = "signed_out.html"
    open_address: str | None = None


def chat_way(parts: Parts, pages: Pages) -> Way:
    """The way to the field log: a phone of one's own, for a month."""
    return Way(
        cookie=pages.session_cookie,
        redeem=parts.sign_in.redeem,
        address_of=parts.sign_in.address_of,
        end=parts.end_session,
        leads_to="/chat",
        out="/out",
        session_s=parts.limits.session_s,
        what="this phone in to the line",
        signed_out=SIGNED_OUT,
        open_address=parts.open_address,
    )


class Door:
    """Who is at the other end of a browser, and how they came in."""

    def __init__(self, parts: Parts, pages: Pages, way: Way) -> None:
        self._parts = parts
        self._pages = pages
        self._way = way

    @property
    def may_leave(self) -> bool:
        """Whether there is a session to end."""
        return self._way.open_address is None

    async def who(self, request: Request) -> str | None:
        """Return the address behind this browser, or None where nobody is signed in."""
        if self._way.open_address is not None:
            return self._way.open_address
        session = self._session(request)
        return None if session is None else await self._way.address_of(session)

    async def show_link(self, request: Request) -> Response:
        """Show one button: looking at a link, as a preview does, does not use it up."""
        return self._pages.draw(request, "sign_in.html", action=request.url.path, what=self._way.what)

    async def use_link(self, request: Request) -> Response:
        """Use the link up and sign its person in; whoever was before is signed out."""
        if await self.own_form(request) is None:
            return self._pages.sentence(request, STALE_FORM)
        link = request.path_params["token"]
        redeemed = await self._way.redeem(link) if TOKEN.fullmatch(link) else None
        if redeemed is None:
            return self._pages.sentence(request, self._way.no_link)
        await self._end(request)
        response = RedirectResponse(self._way.leads_to, SEE_OTHER)
        self._pages.set_cookie(response, self._way.cookie, redeemed[1], self._way.session_s)
        return response

    async def sign_out(self, request: Request) -> Response:
        """End the session and take its cookie away."""
        if await self.own_form(request) is None:
            return self._pages.sentence(request, STALE_FORM)
        await self._end(request)
        response = RedirectResponse(self._way.out, SEE_OTHER)
        self._pages.set_cookie(response, self._way.cookie, "", 0)
        return response

    async def signed_out(self, request: Request) -> Response:
        """Show the page for nobody in particular; its script empties what was kept for offline."""
        no = self._way.signed_out
        return self._pages.draw(request, self._way.signed_out_page, no.status, sentence=no.sentence)

    async def own_form(self, request: Request) -> dict[str, str] | None:
        """The fields of a form that we gave to this browser, None where it is none of ours."""
        body = await read_body(request, self._parts.limits)
        if isinstance(body, Refusal):
            return None
        await body.close()
        key, token = self._pages.form_key(request), body.fields.get("token", "")
        ours = form_is_ours(request.headers, self._parts.look.origins, key, token)
        return body.fields if ours else None

    async def _end(self, request: Request) -> None:
        session = self._session(request)
        if session is not None:
            await self._way.end(session)

    def _session(self, request: Request) -> str | None:
        session = request.cookies.get(self._way.cookie, "")
        return session if TOKEN.fullmatch(session) else None
