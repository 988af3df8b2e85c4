"""Many phones that come out of a dead zone at once, each with several jars, over a real channel."""

from __future__ import annotations

import asyncio
import time
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from string import ascii_uppercase
from typing import Any
from zoneinfo import ZoneInfo

from bot.wiring import House
from tests.channels.bot_api import TOKEN, bot_api
from tests.channels.gateway import NUMBER, gateway
from tests.running import running, until_rows
from tests.talk import SETUP

HEAD = SETUP[: SETUP.index("[[people]]")]


@dataclass
class Told:
    """What came of it: seconds until all was on record, and until the last text went; texts by account."""

    stored_s: float
    sent_s: float
    texts: dict[str, list[str]]
    gaps_s: list[float]


def setup_of(addresses: list[str]) -> str:
    people = "".join(
        f'[[people]]\nname = "R{n}"\nroles = ["responder"]\naddresses = ["{address}"]\n' for n, address in enumerate(addresses, 1)
    )
    return f'{HEAD}{people}[[cases]]\nname = "CH-014"\nopened = "2026-10-12T08:00:00+01:00"\n'


def jars(phone: int, each: int) -> list[str]:
    """Lines with times some hours back, each of a jar of its own."""
    then = datetime.now(ZoneInfo("Europe/Lisbon")) - timedelta(hours=3)
    letters = f"{ascii_uppercase[phone // 26]}{ascii_uppercase[phone % 26]}"
    return [
        f"{letters}-{jar} spill thick {then + timedelta(minutes=jar):%H%M} 47.2852N 19.9478W jar fill 3/4 gloves changed"
        for jar in range(1, each + 1)
    ]


async def over_telegram(url: str, folder: Path, phones: int, each: int) -> Told:
    chats = [10_000 + n for n in range(phones)]
    async with bot_api() as api:
        said = [jars(n, each) for n in range(phones)]
        for jar in range(each):  # as they are heard: one of each phone, then the next of each
            for n, chat in enumerate(chats):
                await api.says(chat, said[n][jar])
        told = {"telegram_token": TOKEN, "telegram_api": api.url}
        setup = setup_of([f"telegram:{chat}" for chat in chats])
        begun = time.monotonic()
        async with running(url, folder, told, setup=setup, chat_s=1.0, gather_late_s=2.0) as house:
            stored_s = await _stored(house, phones * each) - begun
            await _settled(house)
            sent = [call for call in api.calls if call.method == "sendMessage"]
    texts: dict[str, list[str]] = {}
    for call in sent:
        texts.setdefault(str(call.fields["chat_id"]), []).append(call.fields["text"])
    times = [call.at_s for call in sent]
    gaps = [later - earlier for earlier, later in zip(times, times[30:], strict=False)]
    return Told(stored_s, times[-1] - begun, texts, gaps)


async def over_sms(url: str, folder: Path, phones: int, each: int) -> Told:
    numbers = [f"+44770090{n:04}" for n in range(1000, 1000 + phones)]
    async with gateway(folder / "gw") as (made, network):
        told: dict[str, Any] = {"sms_gateway": f"127.0.0.1:{made.boxes}", "sms_number": NUMBER}
        async with running(url, folder, told, setup=setup_of([f"sms:{one}" for one in numbers]), gather_late_s=2.0) as house:
            await until_rows(house, "SELECT 1", lambda rows: True)
            said = [jars(n, each) for n in range(phones)]
            begun = time.monotonic()
            for jar in range(each):
                for n, number in enumerate(numbers):
                    network.say(number, said[n][jar])
            stored_s = await _stored(house, phones * each) - begun
            await _settled(house)
            sent_s = time.monotonic() - begun
            texts: dict[str, list[str]] = {}
            waiting = len(await until_rows(house, "SELECT row FROM outbox WHERE state = 'sent'", len))
            for _ in range(waiting):
                number, text = await asyncio.wait_for(network.got.get(), 20)
                texts.setdefault(number, []).append(text)
    return Told(stored_s, sent_s, texts, [])


async def _stored(house: House, count: int) -> float:
    await until_rows(house, "SELECT COUNT(*) FROM raw_messages", lambda rows: rows[0][0] >= count, 60)
    return time.monotonic()


async def _settled(house: House) -> None:
    pending = "SELECT COUNT(*) FROM outbox WHERE state NOT IN ('sent', 'merged')"
    await until_rows(house, pending, lambda rows: rows[0][0] == 0, 90)

