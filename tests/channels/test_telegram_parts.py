"""The parts of the Telegram line by themselves: long texts, limits, pushed updates, updates of any shape."""

from __future__ import annotations

import asyncio
import io
import json
import logging
import socket
from itertools import pairwise
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.pace import ChatPace
from bot.channels.telegram_texts import LONGEST, cut, units
from bot.channels.telegram_updates import hear
from bot.clock import SystemClock, SystemSecrets
from bot.logs import JsonLines
from bot.phone_lines import HOOK_PATH, phone_lines
from bot.settings import Settings
from tests.channels.bot_api import TOKEN, bot_api
from tests.channels.test_telegram import JAR, R1, UNIT
from tests.running import running, until_rows

SECRET = "a-secret-of-the-tests-0123456789"


@given(st.text(st.one_of(st.characters(codec="utf-8"), st.sampled_from(". \n\U0001f6f6")), max_size=3000), st.integers(8, 400))
def test_a_long_text_is_cut_so_that_each_piece_fits_and_no_word_is_lost(text: str, longest: int) -> None:
    pieces = cut(text, longest)
    # UTF-16 by Python's own encoder; the Bot API counts so.
    assert all(0 < len(piece.encode("utf-16-le")) // 2 <= longest for piece in pieces)
    assert "".join("".join(pieces).split()) == "".join(text.split())


def test_a_long_text_is_cut_behind_a_sentence() -> None:
    sentence = "Jar 04 is whole and stands in cooler M. "
    pieces = cut(sentence * 150)
    assert len(pieces) == 2
    assert all(piece.endswith("cooler M.") for piece in pieces)
    assert LONGEST - units(sentence) < units(pieces[0]) <= LONGEST


async def test_no_published_limit_is_broken_and_a_halt_holds_for_all() -> None:
    pace = ChatPace(overall_s=5, chat_s=0.2, group_minute=3)
    loop = asyncio.get_running_loop()
    gone: list[tuple[str, float]] = []

    async def send(account: str) -> None:
        await pace.turn(account)
        gone.append((account, loop.time()))

    begun = loop.time()
    async with asyncio.timeout(5), asyncio.TaskGroup() as group:
        for place in range(9):
            group.create_task(send(str(place % 4)))
    times = sorted(at for _, at in gone)
    assert all(later - earlier >= 0.999 for earlier, later in zip(times, times[5:], strict=False))
    for account in "0123":
        own = [at for name, at in gone if name == account]
        assert all(later - earlier >= 0.199 for earlier, later in pairwise(own))
    assert loop.time() - begun < 1.6
    pace.halt(0.3)
    halted = loop.time()
    await pace.turn("new")
    assert loop.time() - halted >= 0.299


async def test_a_group_gets_no_more_a_minute_than_is_allowed() -> None:
    pace = ChatPace(overall_s=30, chat_s=0.0, group_minute=3)
    for _ in range(3):
        await pace.turn("-7")
    with pytest.raises(TimeoutError):
        async with asyncio.timeout(0.1):
            await pace.turn("-7")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["message_id", "date", "chat", "id", "text", "photo", "file_id", "from", "location", "data", "message"]),
        inner, max_size=5),
    max_leaves=20,
)  # fmt: skip


@given(st.sampled_from(["message", "edited_message", "callback_query", "poll", "x"]), JSON)
def test_an_update_of_any_shape_is_read_or_kept_and_never_raises(kind: str, held: Any) -> None:
    heard = hear({"update_id": 5, kind: held}, "1", 1_000_000)
    assert heard.message is None or heard.message.message_id == "1.5"


def test_a_parked_update_names_no_account() -> None:
    message = hear({"update_id": 5, "message": {"chat": {"id": 987654321}, "date": "noon"}}, "1", 1).message
    assert message is not None
    assert message.unread is not None
    assert message.account == "987654321"
    assert "987654321" not in message.unread


async def test_a_pushed_update_is_answered_200_only_with_the_secret_and_after_the_commit(
    url: str, tmp_path: Path
) -> None:
    listening = socket.create_server(("127.0.0.1", 0))
    place = f"http://127.0.0.1:{listening.getsockname()[1]}"
    async with bot_api() as api:
        told = {"telegram_token": TOKEN, "telegram_api": api.url, "telegram_webhook_secret": SECRET, "public_url": place}
        async with running(url, tmp_path, told, setup=UNIT, serving=listening) as house:
            await until_rows(house, "SELECT 1", lambda rows: api._update_queues._state(TOKEN).url)
            await api.says(R1, JAR)
            await api.hears(R1, "04 saved")
            body = {"update_id": 99, "message": api.body(R1, text="fill 3/4")}
            async with httpx.AsyncClient() as client:
                for headers in ({}, {"X-Telegram-Bot-Api-Secret-Token": SECRET[:-1] + "8"}):
                    refused = await client.post(place + HOOK_PATH, json=body, headers=headers)
                    assert refused.status_code == 403
                right = {"X-Telegram-Bot-Api-Secret-Token": SECRET}
                for _ in range(2):  # a replayed push is taken once
                    assert (await client.post(place + HOOK_PATH, json=body, headers=right)).status_code == 200
                assert (await client.post(place + HOOK_PATH, content=b"[", headers=right)).status_code == 400
                assert (await client.post(place + HOOK_PATH, content=b" " * 1_000_001, headers=right)).status_code == 413
                photos = [api.body(R1, photo=api.photo(b"x"), media_group_id="g") for _ in range(2)]
                pushed = [
                    client.post(place + HOOK_PATH, json={"update_id": 100 + n, "message": one}, headers=right)
                    for n, one in enumerate(photos)
                ]
                assert [answer.status_code for answer in await asyncio.gather(*pushed)] == [200, 200]
            await api.hears(R1, "2 file seen")
            rows = await until_rows(house, "SELECT text FROM raw_messages ORDER BY row", lambda rows: len(rows) >= 3)
            assert [json.loads(text)["text"] for (text,) in rows][:3] == [JAR, "fill 3/4", ""]


def test_the_token_and_the_secret_are_in_no_log_whatever_is_logged() -> None:
    told = Settings(telegram_token=TOKEN, telegram_webhook_secret=SECRET)  # type: ignore[arg-type]  # as in the environment
    held = io.StringIO()
    handler = logging.StreamHandler(held)
    handler.setFormatter(JsonLines())  # not even told what is secret
    log = logging.Logger("tests")
    log.addHandler(handler)
    log.warning("POST https://api.example/bot%s/sendMessage %r", TOKEN, told)
    assert TOKEN not in held.getvalue()
    assert SECRET not in held.getvalue()


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        ({"telegram_token": "nonsense"}, "telegram_token is no bot's token"),
        ({"telegram_token": TOKEN, "telegram_webhook_secret": SECRET}, "needs public_url"),
        ({"telegram_token": TOKEN, "telegram_webhook_secret": "short", "public_url": "https://line.example"}, "must be 16"),
    ],
)
def test_no_secret_no_start(told: dict[str, str], sentence: str) -> None:
    with pytest.raises(Exception, match=sentence):
        phone_lines(Settings(**told), SystemClock(), SystemSecrets(), b"key")  # type: ignore[arg-type]  # as in the environment
