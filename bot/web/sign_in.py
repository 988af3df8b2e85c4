"""The door: a one-time link becomes a session; signing out ends it."""

from __future__ import annotations

import re

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


class Door:
    """Who is at the other end of a browser, and how they came in."""

    def __init__(self, parts: Parts, pages: Pages) -> None:
        self._parts = parts
        self._pages = pages

    async def who(self, request: Request) -> str | None:
        """Return the address behind this browser, or None where nobody is signed in."""
        if self._parts.open_address is not None:
            return self._parts.open_address
        session = self._session(request)
        return None if session is None else await self._parts.sign_in.address_of(session)

    async def show_link(self, request: Request) -> Response:
        """Show one button: looking at a link, as a preview does, does not use it up."""
        return self._pages.draw(request, "sign_in.html", action=request.url.path)

    async def use_link(self, request: Request) -> Response:
        """Use the link up and sign its person in; whoever was before is signed out."""
        if not await self._own_form(request):
            return self._pages.sentence(request, STALE_FORM)
        link = request.path_params["token"]
        redeemed = await self._parts.sign_in.redeem(link) if TOKEN.fullmatch(link) else None
        if redeemed is None:
            return self._pages.sentence(request, NO_LINK)
        await self._end(request)
        response = RedirectResponse("/chat", SEE_OTHER)
        limits = self._parts.limits
        self._pages.set_cookie(response, self._pages.session_cookie, redeemed[1], limits.session_s)
        return response

    async def sign_out(self, request: Request) -> Response:
        """End the session and take its cookie away."""
        if not await self._own_form(request):
            return self._pages.sentence(request, STALE_FORM)
        await self._end(request)
        response = RedirectResponse("/out", SEE_OTHER)
        self._pages.set_cookie(response, self._pages.session_cookie, "", 0)
        return response

    async def signed_out(self, request: Request) -> Response:
        """Show the page for nobody in particular; its script empties what was kept for offline."""
        return self._pages.draw(request, "signed_out.html", SIGNED_OUT.status, sentence=SIGNED_OUT.sentence)

    async def _own_form(self, request: Request) -> bool:
        body = await read_body(request, self._parts.limits)
        if isinstance(body, Refusal):
            return False
        await body.close()
        key, token = self._pages.form_key(request), body.fields.get("token", "")
        return form_is_ours(request.headers, self._parts.look.origins, key, token)

    async def _end(self, request: Request) -> None:
        session = self._session(request)
        if session is not None:
            await self._parts.end_session(session)

    def _session(self, request: Request) -> str | None:
        session = request.cookies.get(self._pages.session_cookie, "")
        return session if TOKEN.fullmatch(session) else None
