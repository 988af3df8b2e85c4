"""The log as a page, and the two ways a message comes in from it."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from .body import Body, read_body
from .fields import read_said
from .intake import fields_of_plain_form, take_in
from .lines import open_questions, shown
from .pages import Pages, said_no
from .parts import Parts, Refusal
from .same_site import ELSEWHERE, STALE_FORM, Sender, form_is_ours, sender_of
from .sign_in import SEE_OTHER, SIGNED_OUT, Door

OTHER_PERSON = Refusal(409, "This phone is signed in as someone else now; open the log again.")
NO_DRAWING = Refusal(404, "There is no drawing here. The log is at /chat.")
ID_BYTES = 16


@dataclass(frozen=True)
class Chat:
    """The routes of the log."""

    parts: Parts
    pages: Pages
    door: Door

    async def page(self, request: Request) -> Response:
        """Show the last lines of the log, usable without script."""
        address = await self.door.who(request)
        if address is None:
            return await self.door.signed_out(request)
        return await self._drawn(request, address)

    async def shell(self, request: Request) -> Response:
        """Show the log without a line or a name in it, which the browser keeps for when there is no line."""
        if await self.door.who(request) is None:
            return await self.door.signed_out(request)
        return self._page(request, bare=True)

    async def drawing(self, request: Request) -> Response:
        """Show the drawing of a line that this person was sent."""
        address = await self.door.who(request)
        if address is None:
            return said_no(SIGNED_OUT)
        drawn = await self.parts.log.drawing(address, request.path_params["row"])
        return said_no(NO_DRAWING) if drawn is None else Response(drawn, media_type="image/svg+xml")

    async def message(self, request: Request) -> Response:
        """Take a message from the script: 200 only after the commit that holds it."""
        address = await self.door.who(request)
        if address is None:
            return said_no(SIGNED_OUT)
        if sender_of(request.headers, self.parts.look.origins) is not Sender.OURS:
            return said_no(ELSEWHERE)
        body = await read_body(request, self.parts.limits)
        if isinstance(body, Refusal):
            return said_no(body)
        if body.fields.get("who", account_of(address)) != account_of(address):
            await body.close()
            return said_no(OTHER_PERSON)
        said = read_said(body.fields, self.parts.limits.text_chars)
        receipt = await take_in(self.parts, address, body, said)
        if isinstance(receipt, Refusal):
            return said_no(receipt)
        return JSONResponse({"state": receipt.state.value, "again": receipt.again})

    async def plain(self, request: Request) -> Response:
        """Take a message from the form without script; what is refused comes back in the form."""
        address = await self.door.who(request)
        if address is None:
            return await self.door.signed_out(request)
        body = await read_body(request, self.parts.limits)
        if isinstance(body, Refusal):
            return await self._drawn(request, address, body)
        refusal = await self._take_plain(request, address, body)
        if refusal is None:
            return RedirectResponse("/chat", SEE_OTHER)
        return await self._drawn(request, address, refusal, body.fields.get("text", ""))

    async def _take_plain(self, request: Request, address: str, body: Body) -> Refusal | None:
        key, token = self.pages.form_key(request), body.fields.get("token", "")
        if key is None or not form_is_ours(request.headers, self.parts.look.origins, key, token):
            await body.close()
            return STALE_FORM
        fields = fields_of_plain_form(body.fields, key)
        said = fields if isinstance(fields, Refusal) else read_said(fields, self.parts.limits.text_chars)
        outcome = await take_in(self.parts, address, body, said)
        return outcome if isinstance(outcome, Refusal) else None

    async def _drawn(
        self, request: Request, address: str, refusal: Refusal | None = None, text: str = ""
    ) -> Response:
        limits, look = self.parts.limits, self.parts.look
        lines = [shown(line, look.zone) for line in await self.parts.log.recent(address, limits.lines)]
        return self._page(
            request,
            status=200 if refusal is None else refusal.status,
            bare=False,
            who=account_of(address),
            lines=lines,
            standing=open_questions(lines),
            last_row=max((line["row"] for line in lines), default=0),
            sentence="" if refusal is None else refusal.sentence,
            text=text,
        )

    def _page(self, request: Request, *, bare: bool, status: int = 200, **values: object) -> Response:
        nothing = {"who": "", "lines": [], "standing": set(), "last_row": 0, "sentence": "", "text": ""}
        return self.pages.draw(
            request,
            "chat.html",
            status,
            **nothing | values,
            bare=bare,
            limits=self.parts.limits,
            fresh_id=self.parts.secrets.token(ID_BYTES),
            may_leave=self.parts.open_address is None,
        )


def account_of(address: str) -> str:
    """Return the part of an address after the channel."""
    return address.partition(":")[2]
