"""A Bot API server that this project did not write (`lo-bot-api-emulator`), with what it lacks added.

Added: edited messages, errors on demand, "message is not modified", a record of what was sent. What a phone
sends and what the line sends are held against the types of a second library, `aiogram`.
"""

from __future__ import annotations

import asyncio
import itertools
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

from aiogram.methods import (
    AnswerCallbackQuery,
    EditMessageReplyMarkup,
    SendMessage,
    SendPhoto,
    SetMyCommands,
    SetWebhook,
)
from aiogram.types import Update
from aiohttp import web
from lo_bot_api_emulator import ApiRefusal, LoBotApiEmulator
from lo_bot_api_emulator import updates as emulated

TOKEN = "123456:a-token-of-the-tests-that-is-nobodys-1234"
emulated.KINDS.add("edited_message")  # it knows the name and takes none by itself
CHECKED = {
    "sendMessage": SendMessage,
    "sendPhoto": SendPhoto,
    "editMessageReplyMarkup": EditMessageReplyMarkup,
    "answerCallbackQuery": AnswerCallbackQuery,
    "setMyCommands": SetMyCommands,
    "setWebhook": SetWebhook,
}


@dataclass(frozen=True)
class Call:
    """One request of the line, as the server took it."""

    method: str
    fields: dict[str, Any]
    at_s: float


class BotApi(LoBotApiEmulator):  # type: ignore[misc]  # it carries no types
    """The server: `calls` are those that were taken, `refusals` the errors that come first, by method."""

    def __init__(self) -> None:
        super().__init__(allow_insecure_loopback_webhooks=True, max_assets=1000)
        self.calls: list[Call] = []
        self.refusals: dict[str, list[ApiRefusal]] = {}
        self.sent: asyncio.Queue[Call] = asyncio.Queue()
        self.uploads: list[tuple[str, bytes]] = []
        self.url = ""
        self._markups: dict[tuple[str, str], Any] = {}
        self._ids = itertools.count(1)

    def refuse(self, method: str, status: int, words: str, **parameters: Any) -> None:
        self.refusals.setdefault(method, []).append(ApiRefusal(words, status, parameters or None))

    def validate(self, method: str, fields: dict[str, Any], uploads: dict[str, Any]) -> Any:
        waiting = self.refusals.get(method)
        if waiting:
            raise waiting.pop(0)
        if method in CHECKED:
            shown = {name: self._plain(name, value) for name, value in fields.items()}
            CHECKED[method].model_validate(shown | ({"photo": "a file"} if "photo" in uploads else {}))
        if method == "editMessageReplyMarkup":
            key = (str(fields["chat_id"]), str(fields["message_id"]))
            if self._markups.get(key, ...) == fields.get("reply_markup"):
                raise ApiRefusal("Bad Request: message is not modified")
            self._markups[key] = fields.get("reply_markup")
        result = super().validate(method, fields, uploads)
        if method != "getUpdates":
            call = Call(method, {name: self._plain(name, value) for name, value in fields.items()}, time.monotonic())
            self.calls.append(call)
            self.uploads += [(method, one["data"]) for one in uploads.values()]
            if method in ("sendMessage", "sendPhoto"):
                self.sent.put_nowait(call)
        return result

    def _plain(self, name: str, value: Any) -> Any:
        return self.decoded(value) if name in ("reply_markup", "commands", "allowed_updates") else value

    async def hears(self, chat: int, words: str = "") -> Call:
        """The next text to a chat that holds these words."""
        while True:
            call = await asyncio.wait_for(self.sent.get(), 20)
            said = call.fields["caption" if call.method == "sendPhoto" else "text"]
            if str(call.fields["chat_id"]) == str(chat) and words in said:
                return call

    # --- what a phone does ----------------------------------------------------------------------

    async def push(self, kind: str, body: dict[str, Any], *, checked: bool = True, update_id: int | None = None) -> int:
        update = {kind: body} | ({} if update_id is None else {"update_id": update_id})
        if checked:
            Update.model_validate({"update_id": 1} | update)
        return int(await self.enqueue_update(update, token=TOKEN))

    def body(self, chat: int, *, group: bool = False, **what: Any) -> dict[str, Any]:
        who = {"id": abs(chat), "is_bot": False, "first_name": "R"}
        where = {"id": chat, "type": "group", "title": "Crew"} if group else {"id": chat, "type": "private", "first_name": "R"}
        return {"message_id": next(self._ids), "date": int(time.time()), "chat": where, "from": who} | what

    async def says(self, chat: int, text: str, **more: Any) -> int:
        return await self.push("message", self.body(chat, text=text, **more))

    async def sends(self, chat: int, **what: Any) -> int:
        return await self.push("message", self.body(chat, **what))

    async def edits(self, chat: int, text: str) -> int:
        return await self.push("edited_message", self.body(chat, text=text, edit_date=int(time.time())))

    async def presses(self, chat: int, call: Call, label: str) -> str:
        """The button of a text that was sent."""
        rows = call.fields["reply_markup"]["inline_keyboard"]
        data = next(button["callback_data"] for row in rows for button in row if button["text"] == label)
        shown = self.body(chat, text=call.fields["text"]) | {"from": {"id": 7, "is_bot": True, "first_name": "L"}}
        who = {"id": chat, "is_bot": False, "first_name": "R"}
        press = {"id": str(next(self._ids)), "from": who, "message": shown, "chat_instance": "1", "data": data}
        await self.push("callback_query", press)
        return str(data)

    def file(self, data: bytes) -> dict[str, Any]:
        """A file that the server holds, as a message speaks of it."""
        name = f"file-{next(self._ids)}"
        self.assets[name] = {"data": data, "size": len(data)}
        return {"file_id": name, "file_unique_id": f"{name}-u", "file_size": len(data)}

    def photo(self, data: bytes) -> list[dict[str, Any]]:
        small = {"file_id": "thumb", "file_unique_id": "thumb-u", "width": 90, "height": 60}
        return [small, self.file(data) | {"width": 1280, "height": 960}]


@asynccontextmanager
async def bot_api() -> AsyncIterator[BotApi]:
    made = BotApi()
    runner = web.AppRunner(made.app(), access_log=None, shutdown_timeout=0.1)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    made.url = f"http://127.0.0.1:{runner.addresses[0][1]}"
    try:
        yield made
    finally:
        await runner.cleanup()
