"""What every answer says to the browser, and which hosts are ours.

Headers: OWASP Secure Headers Project, its table of recommended response headers; the policy
language is W3C Content Security Policy Level 3.
"""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from .parts import Look

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "manifest-src 'self'",
        "worker-src 'self'",
    )
)
ALLOWED_DEVICES = "geolocation=(self), camera=(self), microphone=(), payment=(), usb=(), display-capture=()"
ALWAYS = {
    "content-security-policy": POLICY,
    "cross-origin-embedder-policy": "require-corp",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": ALLOWED_DEVICES,
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "x-dns-prefetch-control": "off",
    "x-frame-options": "DENY",
    "x-permitted-cross-domain-policies": "none",
}
ONE_YEAR_S = 31_536_000
REVALIDATE = "no-cache"
NEVER_KEEP = "no-store"


class Guarded:
    """Wraps the app: answers carry the headers; requests for a host that is not ours are refused.

    The host is checked because a foreign name that resolves to this machine would make a foreign
    page same-origin with the log (DNS rebinding).
    """

    def __init__(self, app: ASGIApp, look: Look) -> None:
        self._app = app
        self._look = look
        self._always = dict(ALWAYS)
        if look.https:
            self._always["strict-transport-security"] = f"max-age={ONE_YEAR_S}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer with the headers, from the app or with the refusal."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        static = scope["path"].startswith("/static/") or scope["path"] == "/sw.js"

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(self._always)
                headers["cache-control"] = REVALIDATE if static else NEVER_KEEP
            await send(message)

        app = self._app if Headers(scope=scope).get("host") in self._look.hosts else NOT_OURS
        await app(scope, receive, send_with_headers)


NOT_OURS = PlainTextResponse(
    "This line is not reached under that address; open it under the one in its settings.", status_code=421
)
