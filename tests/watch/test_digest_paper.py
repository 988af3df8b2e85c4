"""The digest as a page: every number of the text is the length of a list that is printed beside it."""

from __future__ import annotations

import re
from io import BytesIO
from zoneinfo import ZoneInfo

from pypdf import PdfReader

from bot.papers import render
from bot.reports.digest_paper import digest_paper
from bot.rules.area import Area
from bot.rules.limits import Limits
from tests.talk import Talk
from tests.watch.test_digest import day_of, quiet_day

AREA = Area.parse({"south": 47.20, "north": 47.40, "west": -20.10, "east": -19.80})


async def pages_of(talk: Talk, at: str) -> tuple[str, list[str]]:
    """The digest's text, and the text of each page of its paper."""
    found = await day_of(talk, at)
    pdf = await render("digest", digest_paper(found, AREA, ZoneInfo("Europe/Lisbon"), Limits()))
    return found["text"], [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


async def test_the_numbers_of_the_text_add_up_to_the_lists_of_the_paper(night: Talk) -> None:
    await quiet_day(night)
    await night.says("R2", "06 spill sheen 1400 47.2810N 19.9410W seal 5106 cooler M 4.1C", at="2026-10-12T13:02:00Z")
    await night.says("R2", "07 spill sheen 1410 seal 5107 cooler M 4.1C", at="2026-10-12T13:12:00Z")
    await night.says("R2", "strike 07 jar broke", at="2026-10-12T13:14:00Z")
    text, pages = await pages_of(night, "2026-10-12T16:00:00Z")
    assert len(pages) <= 2
    whole = re.sub(r"\s+", " ", " ".join(pages))
    (line,) = [line for line in text.splitlines() if line.startswith("CH-014: ")]
    told = {what: int(count) for count, what in re.findall(r"(\d+) (?:jars )?(taken|stored|sent|struck)", line)}
    assert told == {"taken": 6, "stored": 5, "struck": 1}
    for what, count in told.items():
        listed = re.search(rf"\b{what} {count} ((?:\d\d ?)+)", whole)
        assert listed is not None, whole
        assert len(listed[1].split()) == count
    held = [re.findall(r"\d\d", group) for group in re.findall(r"(?:fridge|cooler M) \d+ ((?:\d\d ?)+)", whole)]
    assert sorted(number for group in held for number in group) == ["01", "02", "03", "04", "05", "06"]


async def test_every_line_of_the_text_stands_on_the_paper(night: Talk) -> None:
    await quiet_day(night)
    text, pages = await pages_of(night, "2026-10-12T16:00:00Z")
    whole = re.sub(r"\s+", "", "".join(pages))
    for line in text.splitlines():
        assert re.sub(r"\s+", "", line) in whole


async def test_a_day_without_a_jar_is_a_page_too(night: Talk) -> None:
    await night.says("R1", "hello", at="2026-10-12T09:00:00Z")
    _, pages = await pages_of(night, "2026-10-12T16:00:00Z")
    assert len(pages) == 1
    assert "Nothing needs you." in pages[0]
