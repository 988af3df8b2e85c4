"""Rendering: templates, and the cookies that go with a page."""

from __future__ import annotations

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from bot.rules.escaped import escaped

from .parts import Parts, Refusal
from .same_site import form_token

HERE = Path(__file__).parent
STATIC = HERE / "static"
FORM_KEY_BYTES = 32


class Pages:
    """Draws pages. Every page with a form goes with a cookie that its form token belongs to."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts
        self._templates = Environment(
            loader=FileSystemLoader(HERE / "templates"),
            autoescape=True,
            undefined=StrictUndefined,
            finalize=lambda value: escaped(value) if isinstance(value, str) else value,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        prefix = "__Host-" if parts.look.https else ""  # RFC 6265bis, 4.1.3.2
        self.session_cookie = prefix + "session"
        self.page_cookie = prefix + "page"
        self._visit_cookie = prefix + "visit"

    def draw(self, request: Request, template: str, status: int = 200, **values: object) -> Response:
        """Return the page; a browser that has no cookie for its forms is given one."""
        known = self.form_key(request)
        key = known or self._parts.secrets.token(FORM_KEY_BYTES)
        look = self._parts.look
        html = self._templates.get_template(template).render(look=look, token=form_token(key), **values)
        response = HTMLResponse(html, status)
        if known is None:
            self.set_cookie(response, self._visit_cookie, key)
        return response

    def sentence(self, request: Request, refusal: Refusal) -> Response:
        """Return a page that says one sentence, and leads back to the log or the register."""
        values = {"sentence": refusal.sentence, "in_register": self.in_register(request)}
        return self.draw(request, "sentence.html", refusal.status, **values)

    def in_register(self, request: Request) -> bool:
        """Whether the request was for the register, where there is one, and not for the log."""
        first = request.url.path.split("/")[1]
        return self._parts.register is not None and first in ("register", "page")

    def form_key(self, request: Request) -> str | None:
        """Return the cookie value that this browser's form tokens belong to."""
        cookies = request.cookies
        return cookies.get(self.session_cookie) or cookies.get(self._visit_cookie)

    def set_cookie(self, response: Response, name: str, value: str, max_age_s: int | None = None) -> None:
        """Set it so that it goes only to us, out of reach of scripts and not from other sites."""
        response.set_cookie(
            name, value, max_age_s, path="/", secure=self._parts.look.https, httponly=True, samesite="strict"
        )


def said_no(refusal: Refusal) -> Response:
    """Return the refusal for the script."""
    headers = {} if refusal.retry_after_s is None else {"retry-after": str(refusal.retry_after_s)}
    return JSONResponse({"sentence": refusal.sentence}, refusal.status, headers)
