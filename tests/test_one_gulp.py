"""Texts that one transaction takes in are answered as if each had been stored before the next."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.administer import issue_code
from bot.clock import SeededSecrets
from bot.model.message import Attachment, Incoming
from tests.talk import ADDRESSES, KEY, Talk, talk_to

NEW = "sms:+447700900077"
PHOTO = Attachment(sha256="11" * 32, size=1000, media_type="image/jpeg")


@pytest.fixture
async def talk(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path) as one:
        yield one


async def at_once(talk: Talk, *texts: str | Attachment, who: str = "R1") -> list[str]:
    """What their sender is answered where these come in one gulp."""
    channel, _, account = ADDRESSES.get(who, who).partition(":")
    messages = [
        Incoming(
            channel=channel,
            account=account,
            message_id=f"once{talk.clock.now_us()}-{place}",
            received_us=talk.clock.now_us() + place,
            text=text if isinstance(text, str) else "",
            attachments=() if isinstance(text, str) else (text,),
        )
        for place, text in enumerate(texts)
    ]
    talk.clock.move_to(talk.clock.now_us() + 60_000_000)
    talk.sent.clear()
    await talk.take(*messages)
    return [text.text for text in talk.sent if text.address == f"{channel}:{account}"]


async def test_what_came_in_the_gulp_of_its_code_is_adopted_with_what_came_before(talk: Talk) -> None:
    code, _ = await issue_code(talk.house.store, "R2", "enrol", talk.house.clock, SeededSecrets("one gulp"), KEY)
    await at_once(talk, "01 spill sheen 0801 seal 5101", who=NEW)
    await at_once(talk, "02 spill thick 0802 seal 5102", code, who=NEW)
    jars = [(jar["number"], jar["told_by"]) for jar in await talk.show("samples")]
    assert jars == [("01", "R2"), ("02", "R2")]


async def test_a_photo_without_a_jar_is_counted_by_the_status_of_its_gulp(talk: Talk) -> None:
    answers = await at_once(talk, PHOTO, "status")
    assert "Photos without a jar: 1." in answers[-1]


async def test_a_jar_put_into_a_cooler_stands_in_the_alert_of_the_same_gulp(talk: Talk) -> None:
    await at_once(talk, "01 spill sheen 0801 seal 5101 cooler M", "cooler M 12C at 0803")
    alert = [text.text for text in talk.sent if text.address == ADDRESSES["S1"]]
    assert ["Jar 01." in text for text in alert] == [True]
