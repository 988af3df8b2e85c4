"""The same script of a whole case over the web chat, Telegram and SMS gives the same record.

What may differ is what names the channel: addresses, hashes over them, and the times of receipt.
"""

from __future__ import annotations

import json
import shutil
import uuid
from pathlib import Path
from typing import Any

from bot.model.message import Incoming
from bot.show import show
from bot.wiring import House
from tests.channels.bot_api import TOKEN, bot_api
from tests.channels.gateway import NUMBER, gateway
from tests.running import running, until_rows
from tests.talk import SETUP

R1 = "+447700900001"
SCRIPT = (
    "jar", "mate, cleared", "yes", "03", "1", "1", "shut 12 Oct 2026 1002 pad", "47.2830N 19.9510W", "5103", "skip", "M 4.4C 12 Oct 2026 1009",
    "gloves changed ok", "04 spill thick 12 Oct 2026 1016 47.2852N 19.9478W jar fill 3/4 gloves changed seal 5104",
    "04 seal is 5105 not 5104, misread", "ok", "05 sheen 12 Oct 2026 1031 seal 5106 place Ølbrygga", "05 struck lid leaks", "status",
)  # fmt: skip
OWN = {"received_time", "received_at", "raised_at", "id"}  # of the server's clock, and ids made from its chain


def is_server_time(key: str, held: Any) -> bool:
    """True for when a text was sent, as its channel tells: stated times keep their offset, these are UTC."""
    return key == "at" and (held is None or str(held).endswith("Z"))


def plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: plain(held) for key, held in value.items() if key not in OWN and not is_server_time(key, held)}
    return [plain(one) for one in value] if isinstance(value, list) else value


async def record(house: House, sent: int) -> dict[str, Any]:
    await until_rows(house, "SELECT COUNT(*) FROM raw_messages", lambda rows: rows[0][0] == sent)
    await until_rows(house, "SELECT COUNT(*) FROM outbox WHERE state <> 'sent'", lambda rows: rows[0][0] == 0)
    entries = await show(house.store.database, "entries", "CH-014")
    bodies = [(one["kind"], one["author"], plain(one["body"])) for one in entries]
    texts = await show(house.store.database, "texts", None)
    return {
        "samples": sorted(plain(await show(house.store.database, "samples", None)), key=lambda jar: jar["number"]),
        "entries": bodies,
        "texts": [one["text"] for one in texts],
        "cooler": plain(await show(house.store.database, "cooler", None)),
    }


async def answered(house: House, count: int) -> None:
    """The line has answered so many texts: the next is said to what was heard."""
    await until_rows(house, "SELECT COUNT(*) FROM raw_messages", lambda rows: rows[0][0] >= count)


def store_in(migrated: Path, folder: Path) -> str:
    folder.mkdir()
    shutil.copy(migrated, folder / "coldjar.db")
    return f"sqlite:///{folder / 'coldjar.db'}"


async def by_web(migrated: Path, folder: Path) -> dict[str, Any]:
    async with running(store_in(migrated, folder), folder, {}, setup=SETUP.replace(f"sms:{R1}", "sms:+447700900009")) as house:
        for text in SCRIPT:
            now_us = house.clock.now_us()
            await house.desk.take(
                Incoming(channel="web", account="r1", message_id=uuid.uuid4().hex, received_us=now_us, sent_us=now_us, text=text)
            )
        return await record(house, len(SCRIPT))


async def by_sms(migrated: Path, folder: Path) -> dict[str, Any]:
    url = store_in(migrated, folder)
    async with gateway(folder / "gw") as (made, phones):
        told = {"sms_gateway": f"127.0.0.1:{made.boxes}", "sms_number": NUMBER}
        async with running(url, folder, told) as house:
            for count, text in enumerate(SCRIPT, 1):
                phones.say(R1, text)
                await answered(house, count)
            return await record(house, len(SCRIPT))


async def by_telegram(migrated: Path, folder: Path) -> dict[str, Any]:
    url = store_in(migrated, folder)
    async with bot_api() as api:
        told = {"telegram_token": TOKEN, "telegram_api": api.url}
        async with running(url, folder, told, setup=SETUP.replace(f"sms:{R1}", "telegram:501")) as house:
            for count, text in enumerate(SCRIPT, 1):
                await api.says(501, text)
                await answered(house, count)
            return await record(house, len(SCRIPT))


async def test_the_same_script_gives_the_same_record_over_each_channel(migrated_file: Path, tmp_path: Path) -> None:
    web = await by_web(migrated_file, tmp_path / "web")
    sms = await by_sms(migrated_file, tmp_path / "sms")
    telegram = await by_telegram(migrated_file, tmp_path / "telegram")
    assert len(web["samples"]) == 3
    assert len(web["entries"]) > 15
    for other in (sms, telegram):
        assert json.dumps(other, indent=1) == json.dumps(web, indent=1)
