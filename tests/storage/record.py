"""A store with something of everything on record, and hands that alter it from outside."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from bot.model.message import Attachment
from storage.ledger import canonical, sha256_of
from tests.talk import SETUP, talk_to

Ask = Callable[[str], Awaitable[list[tuple[Any, ...]]]]
PHOTO = Attachment(sha256="ab" * 32, size=10, media_type="image/jpeg")
OTHER = Attachment(sha256="cd" * 32, size=10, media_type="image/jpeg")


async def fill(url: str, folder: Path) -> None:
    """Jars, a correction, photos with and without a jar, readings, an alert, a stranger, a midnight between."""
    async with talk_to(url, folder, SETUP, "2026-10-12T08:00:00Z", told=False) as talk:
        await talk.says("R1", "01 spill sheen 0901 47.2830N 19.9510W pad seal 5101 cooler M 4.4C")
        await talk.says("R1", "01 seal is 5107 not 5101, misread")
        await talk.hears("R1", "01", files=(PHOTO,))
        await talk.says("R1", "ok")
        await talk.hears("R2", files=(OTHER,))
        await talk.says("R2", "01")
        await talk.says("R2", "02 source tank 2P 0905 seal 5102")
        await talk.says("R2", "cooler M 5.1C")
        await talk.says("sms:+447700900098", "hello")
        await talk.says("S1", "SOS")
        talk.clock.move_to(talk.clock.now_us() + 24 * 3_600_000_000)
        await talk.house.ticker.tick()
        await talk.says("R1", "03 spill 0910 seal 5103")
        await talk.says("R2", "03 is wet")


async def let_change(ask: Ask, dialect: str) -> None:
    """The database's own guards are gone, as for one who holds the whole file."""
    for table in ("entries", "raw_messages"):
        if dialect == "sqlite":
            names = await ask(f"SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = '{table}'")
            for (name,) in names:
                await ask(f"DROP TRIGGER {name}")
        else:
            await ask(f"ALTER TABLE {table} DISABLE TRIGGER USER")


async def text_of(ask: Ask, chain: str, seq: int) -> dict[str, Any]:
    ((text,),) = await ask(f"SELECT text FROM entries WHERE chain = '{chain}' AND seq = {seq}")
    held: dict[str, Any] = json.loads(text)
    return held


async def rewrite(ask: Ask, chain: str, seq: int, held: dict[str, Any], *, hash_too: bool) -> None:
    """The entry has this text, and its hash where that is rewritten as well."""
    text = canonical(held)
    also = f", hash = '{sha256_of(text)}'" if hash_too else ""
    await ask(f"UPDATE entries SET text = {quoted(text)}{also} WHERE chain = '{chain}' AND seq = {seq}")


def quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
