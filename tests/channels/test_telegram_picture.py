"""A chart is a picture in Telegram, its figures beneath; where it is not taken, the figures go alone."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from tests.channels.bot_api import BotApi, bot_api
from tests.channels.test_telegram import R1, UNIT, settings
from tests.running import running

pytestmark = pytest.mark.filterwarnings("ignore:Deprecated since version v22.2")
FIGURES = "M, C half, and one in ten under and over: "


async def ask_for_a_chart(api: BotApi) -> None:
    await api.says(R1, "cooler M 5 kg ice outside 24C")
    await api.hears(R1)
    await api.says(R1, "chart M")


async def test_a_chart_is_a_picture_with_its_figures_beneath(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT):
        await ask_for_a_chart(api)
        shown = await api.hears(R1, FIGURES)
        assert shown.method == "sendPhoto"
        ((method, data),) = api.uploads
        assert method == "sendPhoto"
        picture = Image.open(io.BytesIO(data))
        assert (picture.format, picture.width) == ("PNG", 1080)
        # The Bot API's limits of a photo: sides of 10,000 together, one at most twenty times the other.
        assert picture.width + picture.height <= 10_000
        assert picture.width / picture.height < 20


async def test_a_picture_that_telegram_refuses_leaves_its_figures(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT):
        api.refuse("sendPhoto", 400, "Bad Request: PHOTO_INVALID_DIMENSIONS")
        await ask_for_a_chart(api)
        assert (await api.hears(R1, FIGURES)).method == "sendMessage"
        assert [call.method for call in api.calls].count("sendPhoto") == 0
