"""A label's code in a photo, drawn by one library and read by another, against what was typed."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import segno
from PIL import Image, ImageFilter

from bot.rules.label_code import is_label_code, label_code
from bot.rules.photo import describe
from tests.talk import DRILL, SETUP, Talk, talk_to

LINE = "03 spill sheen 0902 47.2830N 19.9510W pad seal 5103"
DIFFERS = "the code on its label differs from what was typed."


@pytest.fixture
async def talk(database_url: str, tmp_path: Path) -> AsyncIterator[Talk]:
    async with talk_to(database_url, tmp_path, SETUP + DRILL.replace('kits = ["A"]', "")) as opened:
        yield opened


def picture(code: str | None) -> bytes:
    """A photo of 12 megapixels of a jar: its label small, turned and a little out of focus."""
    photo = Image.new("L", (4000, 3000), 150)
    if code is not None:
        drawn = io.BytesIO()
        segno.make_qr(code, error="h").save(drawn, kind="png", scale=18, border=4)
        label = Image.open(drawn).convert("L").rotate(12, expand=True, fillcolor=150)
        photo.paste(label, (1300, 1000))
    made = io.BytesIO()
    photo.filter(ImageFilter.GaussianBlur(3)).save(made, "JPEG", quality=80)
    return made.getvalue()


async def sends(talk: Talk, who: str, caption: str, data: bytes) -> str:
    """Send a photo; all that went to the sender once the slow work was done."""
    kept = talk.house.originals

    async def chunks() -> AsyncIterator[bytes]:
        yield data

    assert await kept.keep(chunks(), len(data) + 1) == (hashlib.sha256(data).hexdigest(), len(data))
    await talk.hears(who, caption, files=(describe(data, "jar.jpg"),))
    await talk.house.drain()
    return "\n".join(one.text for one in talk.sent)


async def test_a_code_that_is_the_jars_own_says_nothing(talk: Talk) -> None:
    await talk.says("R1", LINE)
    assert DIFFERS not in await sends(talk, "R1", "03", picture("JAR CH-014 03"))
    assert (await talk.jar("03"))["queries"] == []


async def test_a_code_that_differs_raises_a_query_once_that_shows_neither_value(talk: Talk) -> None:
    await talk.says("R1", LINE)
    said = await sends(talk, "R1", "03", picture("JAR CH-014 17"))
    (told,) = [text for text in said.splitlines() if DIFFERS in text]
    assert told.startswith("Photo of 09:")
    assert "17" not in told.partition(":")[2].partition(":")[2]
    assert "03" not in told.partition(": ")[2]
    (query,) = (await talk.jar("03"))["queries"]
    assert (query["field"], query["rule"], query["open"]) == ("number", "label_code", True)
    assert query["text"] == "The code on the label in its photo differs from what was typed."
    assert DIFFERS not in await sends(talk, "R1", "03", picture("JAR CH-015 03"))
    assert len((await talk.jar("03"))["queries"]) == 1
    assert await talk.rebuilds_the_same()
    assert (await talk.verdict()).found == ()


async def test_the_author_answers_it_by_ok_or_by_another_number(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await sends(talk, "R1", "03", picture("JAR CH-014 17"))
    await talk.says("R1", "ok 03")
    (query,) = (await talk.jar("03"))["queries"]
    assert (query["open"], query["how"]) == (False, "stands as told")
    await talk.says("R1", "04 spill thick 0906 47.2830N 19.9510W seal 5104")
    await sends(talk, "R1", "04", picture("JAR CH-014 05"))
    await talk.says("R1", "04 number is 05 not 04, misread")
    (query,) = (await talk.jar("05"))["queries"]
    assert (query["open"], query["how"]) == (False, "told again")


async def test_a_photo_without_a_label_and_a_makers_code_say_nothing_of_the_jar(talk: Talk) -> None:
    await talk.says("R1", LINE)
    for code in (None, "https://maker.example/lot/03"):
        assert DIFFERS not in await sends(talk, "R1", "03", picture(code))
    assert (await talk.jar("03"))["queries"] == []
    async with talk.house.store.database.read() as tx:
        done = await tx.rows("SELECT state FROM due WHERE kind = 'photo_code'")
    assert done == [("done",)] * 2


async def test_a_real_label_on_an_exercise_jar_differs_and_says_exercise(talk: Talk) -> None:
    await talk.says("R1", "CH-900 81 spill sheen 0902 47.2830N 19.9510W pad seal E101")
    said = await sends(talk, "R1", "CH-900 81", picture("JAR CH-900 81"))
    (told,) = [text for text in said.splitlines() if DIFFERS in text]
    assert told.startswith("EXERCISE Photo of ")
    assert is_label_code(label_code("CH-900", "81", exercise=True))


async def test_a_photo_that_cannot_be_looked_at_is_told_of_and_loses_nothing(talk: Talk) -> None:
    await talk.says("R1", LINE)
    whole = picture("JAR CH-014 17")
    cut = whole[: len(whole) // 4]
    kept = talk.house.originals

    async def chunks() -> AsyncIterator[bytes]:
        yield cut

    sha256, size = await kept.keep(chunks(), len(cut) + 1)
    told = describe(whole, "jar.jpg").model_copy(update={"sha256": sha256, "size": size})
    await talk.hears("R1", "03", files=(told,))
    await talk.house.drain()
    assert any("Not done: photo_code" in one.text and one.person == "S1" for one in talk.sent)
    assert json.dumps((await talk.jar("03"))["photos"]).count(sha256) == 1
