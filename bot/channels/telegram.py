"""Telegram, by polling or by webhook: what people sent is confirmed to it only after the commit.

The Bot API: an update that was not confirmed comes again, by offset when polled and until 200 when pushed.
"""

from __future__ import annotations

import asyncio
import logging
import warnings
from collections.abc import Coroutine
from datetime import timedelta
from typing import Any

from telegram import Bot, InlineKeyboardMarkup
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Conflict,
    Forbidden,
    InvalidToken,
    NetworkError,
    RetryAfter,
    TelegramError,
    TimedOut,
)  # fmt: skip
from telegram.request import HTTPXRequest

from ..model.errors import (
    AddressGone,
    ChannelDown,
    ErrandFailed,
    ErrandHopeless,
    SendFailed,
    StoreUnavailable,
)
from ..model.message import Outgoing
from ..papers import PaperFailed, picture
from ..ports import Clock, Hands, Pace
from .pace import ChatPace
from .telegram_texts import CAPTION, MENU, cut, keyboard, units
from .telegram_updates import KINDS, MOST_BYTES, NAME, Heard, as_album, hear

log = logging.getLogger("coldjar.telegram")

POLL_S = 25  # how long Telegram may hold a poll that has nothing
ALBUM_S = 0.7  # parts of an album come as updates of their own, with no word of how many
AGAIN_S = 1.0
CONFLICT_S = 2.0
REFUSED_S = 30.0  # between two tries with a token that was refused
LOOK_S = 60.0  # how often a line with a webhook makes sure that Telegram is there
DOWN_S = 5.0
STOP_S = 5.0
NOT_SENT = ("ConnectError", "ConnectTimeout", "PoolTimeout")  # of the HTTP library: nothing left here


class Telegram:
    """Channel and Line of one bot."""

    name = NAME

    def __init__(self, token: str, clock: Clock, api: str | None, webhook: tuple[str, str] | None) -> None:
        """`api` is the server's address where it is not Telegram's own; `webhook` is (address, secret)."""
        self.trouble: str | None = "Telegram was not reached yet"
        self._pace = ChatPace(overall_s=30, chat_s=1.0, group_minute=20)  # the Bot API's published limits
        self.pace: Pace | None = self._pace
        self._clock, self._webhook = clock, webhook
        self._bot_id = token.partition(":")[0]
        self._request = HTTPXRequest(connection_pool_size=64, read_timeout=20, pool_timeout=20)
        self._polling = HTTPXRequest(connection_pool_size=2, read_timeout=20)
        if api is None:
            self._bot = Bot(token, request=self._request, get_updates_request=self._polling)
        else:
            places = (f"{api}/bot", f"{api}/file/bot")
            self._bot = Bot(token, *places, request=self._request, get_updates_request=self._polling)
        self._hands: Hands | None = None
        self._moved: dict[str, str] = {}
        self._albums: dict[str, tuple[list[Heard], asyncio.Task[None]]] = {}
        self._beside: set[asyncio.Task[None]] = set()

    async def run(self, hands: Hands) -> None:
        """Take in what people send, for ever."""
        self._hands = hands
        offset: int | None = None
        begun = False
        try:
            while True:
                try:
                    if not begun:
                        await self._begin()
                        begun = True
                    offset = await self._look(offset)
                    self.trouble = None
                except (TelegramError, StoreUnavailable) as problem:
                    await asyncio.sleep(self._lost(problem))
        finally:
            self._pace.close()
            if self._beside:  # waited for: the HTTP library loses a connection that is cut while it is made
                await asyncio.wait(self._beside, timeout=STOP_S)
            await self._close()

    async def _begin(self) -> None:
        """The menu of commands stands; updates are pushed, or may be polled."""
        await self._bot.set_my_commands(MENU)
        if self._webhook is None:
            await self._bot.delete_webhook()
            return
        url, secret = self._webhook
        await self._bot.set_webhook(url, secret_token=secret, allowed_updates=KINDS)

    async def _look(self, offset: int | None) -> int | None:
        """Poll once and take in what came, or make sure that Telegram is there; the offset to go on from."""
        if self._webhook is not None:
            await self._bot.get_me()
            self.trouble = None
            await asyncio.sleep(LOOK_S)
            return None
        updates = await self._whole(await self._poll(offset, POLL_S if self.trouble is None else 0), offset)
        if not updates:
            return offset
        await self._take_all(updates)
        return int(updates[-1]["update_id"]) + 1

    async def _poll(self, offset: int | None, wait_s: int) -> list[dict[str, Any]]:
        """Updates as plain dictionaries, so that one which cannot be read holds up nothing."""
        asked: dict[str, Any] = {"timeout": wait_s, "allowed_updates": list(KINDS)}
        if offset is not None:
            asked["offset"] = offset
        with warnings.catch_warnings():
            # The library would rather read them itself, and then one that it cannot read stalls all.
            warnings.filterwarnings("ignore", message="Please use 'Bot.getUpdates'")
            found = await self._bot.do_api_request("getUpdates", asked, read_timeout=wait_s + 10)
        return list(found)

    async def _whole(self, updates: list[dict[str, Any]], offset: int | None) -> list[dict[str, Any]]:
        """The same from the same offset, waited for while an album at its end still grows."""
        while updates and _album_of(updates[-1]) is not None and len(updates) < 100:
            await asyncio.sleep(ALBUM_S)
            again = await self._poll(offset, 0)
            if len(again) <= len(updates):
                break
            updates = again
        return updates

    async def _take_all(self, updates: list[dict[str, Any]]) -> None:
        """Everything of these updates is on disk. Raises StoreUnavailable: none is confirmed."""
        now_us = self._clock.now_us()
        together: dict[str, list[Heard]] = {}
        for place, raw in enumerate(updates):
            heard = hear(raw, self._bot_id, now_us)
            together.setdefault(heard.album or f"#{place}", []).append(heard)
        takes = [self._take(as_album(parts) if parts[0].album else parts[0]) for parts in together.values()]
        for problem in await asyncio.gather(*takes, return_exceptions=True):
            if isinstance(problem, BaseException):
                raise problem

    async def hear_pushed(self, raw: dict[str, Any]) -> None:
        """A pushed update is on disk. Raises StoreUnavailable: let it come again."""
        heard = hear(raw, self._bot_id, self._clock.now_us())
        if heard.album is None:
            await self._take(heard)
            return
        if heard.album not in self._albums:
            parts: list[Heard] = []
            self._albums[heard.album] = (parts, asyncio.create_task(self._take_album(heard.album, parts)))
        parts, taking = self._albums[heard.album]
        parts.append(heard)
        await asyncio.shield(taking)

    async def _take_album(self, album: str, parts: list[Heard]) -> None:
        await asyncio.sleep(ALBUM_S)
        del self._albums[album]
        await self._take(as_album(parts))

    async def _take(self, heard: Heard) -> None:
        hands = self._hands
        if hands is None:
            raise StoreUnavailable("The line is not ready yet; send it again.")
        if heard.moved_to is not None:
            await self._follow(heard.raw["chat"], heard.moved_to)
        if heard.message is not None:
            await hands.take(heard.message)
        if heard.callback is not None:
            self._do_beside(self._answer_button(heard))

    async def _follow(self, old: str, new: str) -> None:
        """A group has another number from now on."""
        self._moved[old] = new
        if self._hands is not None:
            await self._hands.moved(f"{NAME}:{old}", f"{NAME}:{new}")

    async def _answer_button(self, heard: Heard) -> None:
        """The phone stops waiting, and a button that was used is gone; neither is worth a try more."""
        message = heard.message
        try:
            await self._bot.answer_callback_query(heard.callback or "")
            if message is not None and heard.pressed_in is not None:
                await self._pace.turn(message.account)
                await self._bot.edit_message_reply_markup(message.account, heard.pressed_in)
        except (TelegramError, ChannelDown) as problem:
            log.info("a button was not answered: %s", type(problem).__name__)

    async def send(self, text: Outgoing) -> None:
        """Telegram has the text, cut where it is too long, beneath its picture where it has one."""
        pieces, shown = cut(text.text), await _picture(text)
        for place, piece in enumerate(pieces):
            last = place == len(pieces) - 1
            chat = self._moved.get(text.account, text.account)
            if place:
                await self._pace.turn(chat)
            await self._send(chat, piece, keyboard(text) if last else None, shown, followed=False)

    async def _send(
        self,
        chat: str,
        words: str,
        buttons: InlineKeyboardMarkup | None,
        shown: bytes | None,
        *,
        followed: bool,
    ) -> None:
        try:
            if shown is None:
                await self._bot.send_message(chat, words, reply_markup=buttons)
            else:
                await self._bot.send_photo(chat, shown, caption=words, reply_markup=buttons)
        except ChatMigrated as moved:
            if followed:
                raise AddressGone("its group moved twice") from None
            await self._follow(chat, str(moved.new_chat_id))
            await self._send(str(moved.new_chat_id), words, buttons, shown, followed=True)
        except TelegramError as problem:
            if shown is None or not isinstance(problem, BadRequest):
                raise self._refusal(problem) from None
            await self._send(chat, words, buttons, None, followed=followed)  # the words say all of it

    def _refusal(self, problem: TelegramError) -> SendFailed:
        """What an error means for the text; the library's own words may hold the address with the token."""
        match problem:
            case RetryAfter():
                after_s = _seconds(problem)
                self._pace.halt(after_s)
                return ChannelDown(f"Telegram asked to wait {after_s:.0f} s", after_s)
            case Forbidden():
                return AddressGone("Telegram says that this chat has blocked the line or ended")
            case InvalidToken():
                return ChannelDown(self._note("Telegram refuses the token"), REFUSED_S)
            case BadRequest():
                return AddressGone(f"Telegram refused it: {problem.message[:80]}")
            case _ if type(problem.__cause__).__name__ in NOT_SENT:
                return ChannelDown("Telegram is not reached", DOWN_S)
            case _:
                said = f"Telegram did not say that it took it ({type(problem).__name__})"
                return SendFailed(said, maybe_sent=True)

    async def fetch(self, file: str) -> bytes:
        """The bytes behind a file's handle. Raises ErrandFailed or ErrandHopeless."""
        try:
            found = await self._bot.get_file(file)
            if (found.file_size or 0) > MOST_BYTES:
                raise ErrandHopeless("Telegram gives no file over 20 MB")
            return bytes(await found.download_as_bytearray(read_timeout=120))
        except RetryAfter as problem:
            raise ErrandFailed("Telegram asked to wait", _seconds(problem)) from None
        except BadRequest as problem:
            raise ErrandHopeless(f"Telegram has that file no more: {problem.message[:80]}") from None
        except TelegramError as problem:
            raise ErrandFailed(f"Telegram did not give the file ({type(problem).__name__})") from None

    async def _close(self) -> None:
        await self._request.shutdown()
        await self._polling.shutdown()

    async def check(self) -> list[str]:
        """One sentence for each thing that is wrong with the token or the webhook."""
        try:
            await self._bot.get_me()
            info = await self._bot.get_webhook_info()
        except InvalidToken:
            return ["Telegram refuses telegram_token; ask its maker for the one in force."]
        except TelegramError as problem:
            return [f"Telegram is not reached ({type(problem).__name__}); look at this machine's way out."]
        finally:
            await self._close()
        if info.url and self._webhook is None:
            return ["Telegram pushes this bot's messages elsewhere; serve takes them back when it starts."]
        return []

    def _lost(self, problem: TelegramError | StoreUnavailable) -> float:
        """What is wrong is known; how many seconds to wait before the next try."""
        match problem:
            case StoreUnavailable():
                log.warning("what came by Telegram was not stored; it comes again: %s", problem)
                return AGAIN_S
            case InvalidToken():
                self._note("Telegram refuses the token")
                return REFUSED_S
            case Conflict():
                self._note("another program takes this bot's messages from Telegram")
                return CONFLICT_S
            case RetryAfter():
                return _seconds(problem)
            case NetworkError() | TimedOut():
                self._note("Telegram is not reached")
                return AGAIN_S
            case _:
                self._note(f"Telegram does not answer as it should ({type(problem).__name__})")
                return DOWN_S

    def _note(self, trouble: str) -> str:
        if self.trouble != trouble:
            log.warning("%s", trouble)
        self.trouble = trouble
        return trouble

    def _do_beside(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.create_task(work)
        self._beside.add(task)
        task.add_done_callback(self._beside.discard)


async def _picture(text: Outgoing) -> bytes | None:
    """The drawing as PNG, None where there is none or it cannot be shown: the words say all of it."""
    if text.drawing is None or units(text.text) > CAPTION:
        return None
    try:
        return await picture(text.drawing)
    except PaperFailed as problem:
        log.warning("a drawing went as its words alone: %s", problem)
        return None


def _album_of(raw: dict[str, Any]) -> object:
    message = raw.get("message")
    return message.get("media_group_id") if isinstance(message, dict) else None


def _seconds(problem: RetryAfter) -> float:
    """How long to wait; the library gives seconds or a span of time, and warns of the change."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        after = problem.retry_after
    return after.total_seconds() if isinstance(after, timedelta) else float(after)
