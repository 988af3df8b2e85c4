"""Reading the body of a request, within its limits and never into memory as a whole."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from dataclasses import dataclass, field

from python_multipart.multipart import parse_options_header
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.types import Message, Receive

from .parts import Refusal, WebLimits

CHUNK_BYTES = 65_536
DRAIN_TIMES = 3
TAIL_BYTES = 512
BROKEN = Refusal(422, "That message came in broken; send it again.")
CUT_OFF = Refusal(400, "The connection was cut before the message was whole; send it again.")
TOO_MUCH = Refusal(413, "That is too much for one message. Send fewer photos or smaller copies at a time.")
NOT_HERE = Refusal(415, "Messages come here as multipart/form-data or as JSON; open the log again.")


@dataclass
class Body:
    """The fields and files of a request; `close` lets go of the files."""

    fields: dict[str, str]
    files: list[UploadFile] = field(default_factory=list)

    @property
    def chosen(self) -> list[UploadFile]:
        """The files that a person chose."""
        return [file for file in self.files if _chosen(file)]

    async def close(self) -> None:
        """Let go of the temporary copies."""
        for file in self.files:
            await file.close()


async def read_body(request: Request, limits: WebLimits) -> Body | Refusal:
    """Return what came, or why it cannot be used."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    try:
        if kind == "application/json":
            bounded = _Bounded(request, limits.fields_bytes)
            return _from_json(await Request(request.scope, bounded).body())
        if kind == "multipart/form-data":
            return await _from_form(request, limits.request_bytes, limits)
        if kind == "application/x-www-form-urlencoded":
            return await _from_form(request, limits.fields_bytes, limits)
    except _TooMuchError:
        return TOO_MUCH
    except _CutShortError:
        return BROKEN
    except ClientDisconnect:
        return CUT_OFF
    return NOT_HERE


async def chunks(file: UploadFile) -> AsyncIterator[bytes]:
    """Yield the bytes of an uploaded file as they were sent."""
    while chunk := await file.read(CHUNK_BYTES):
        yield chunk


class _TooMuchError(Exception):
    """The body went past its limit."""


class _CutShortError(Exception):
    """A multipart body lacks its closing delimiter (RFC 2046, 5.1.1); the parser would not mind."""


class _Bounded:
    """The request's own receive, but an error after `limit` bytes or where the body ends too early."""

    def __init__(self, request: Request, limit: int, boundary: bytes = b"") -> None:
        self._receive, self._limit = request.receive, limit
        self._end = b"--" + boundary + b"--" if boundary else b""
        self._seen = 0
        self._tail = b""

    async def __call__(self) -> Message:
        message = await self._receive()
        body = message.get("body", b"")
        self._seen += len(body)
        self._tail = (self._tail + body[-TAIL_BYTES:])[-TAIL_BYTES:]
        if self._seen > self._limit:
            await _drain(self._receive, self._limit * DRAIN_TIMES, message)
            raise _TooMuchError
        if not message.get("more_body", False) and not self._tail.rstrip(b"\r\n").endswith(self._end):
            raise _CutShortError
        return message


async def _drain(receive: Receive, most: int, message: Message) -> None:
    """Read on and drop: a browser still sending would not see the answer, only a cut line."""
    while most > 0 and message.get("more_body", False):
        message = await receive()
        most -= len(message.get("body", b""))


def _from_json(raw: bytes) -> Body | Refusal:
    try:
        told = json.loads(raw, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        return BROKEN
    if not isinstance(told, dict) or not all(_plain(value) for value in told.values()):
        return BROKEN
    return Body({name: str(value) for name, value in told.items() if value is not None})


def _no_constant(name: str) -> object:
    raise ValueError(f"{name} is not in JSON (RFC 8259, section 6)")


def _plain(value: object) -> bool:
    return value is None or (isinstance(value, str | int | float) and not isinstance(value, bool))


async def _from_form(request: Request, limit: int, limits: WebLimits) -> Body | Refusal:
    _, options = parse_options_header(request.headers["content-type"])
    bounded = _Bounded(request, limit, options.get(b"boundary", b""))
    try:
        form = await Request(request.scope, bounded).form(
            max_files=limits.photos + 1, max_fields=20, max_part_size=limits.text_chars * 6
        )
    except (HTTPException, ValueError):  # ValueError: a charset that the parser cannot read
        return BROKEN
    body = Body({}, [part for _, part in form.multi_items() if isinstance(part, UploadFile)])
    refusal = _sort_out(body, form, limits)
    if refusal is None:
        return body
    await body.close()
    return refusal


def _sort_out(body: Body, form: FormData, limits: WebLimits) -> Refusal | None:
    """Fill the body's fields and leave it the files that were chosen, or say what does not belong."""
    for name, part in form.multi_items():
        if isinstance(part, str):
            body.fields[name] = part
        elif name != "photo":
            return Refusal(422, "Files come in the part named photo; open the log again.")
    if sum(_chosen(file) for file in body.files) > limits.photos:
        return Refusal(422, f"Send at most {limits.photos} photos at a time.")
    return None


def _chosen(file: UploadFile) -> bool:
    """Return no for the empty part that a form sends where no file was chosen (WHATWG HTML, form data)."""
    return bool(file.filename or file.size)
