"""The forecast as a drawing: what was read, the half, eight in ten, and till when, in letters of a phone.

SVG 1.1 is read back by the standard library's parser; the picture by Pillow.
"""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest
from PIL import Image

from bot.model.times import HOUR_US, us_of_iso
from bot.papers import picture
from bot.reports.forecast_chart import Ahead, draw_forecast
from bot.trades import catalogue

SVG = "{http://www.w3.org/2000/svg}"
NOW_US = us_of_iso("2026-10-12T09:10:00Z")  # 10:10 in Lisbon
READ = [(NOW_US - hours * HOUR_US, celsius) for hours, celsius in ((30, 8.1), (9, 3.1), (4, 4.4), (0, 3.9))]
FAN = [(NOW_US + n * HOUR_US // 2, 3.0, 3.5 + n / 8, 4.0 + n / 2) for n in range(41)]
PASSES = (NOW_US + 2 * HOUR_US, NOW_US + 10 * HOUR_US + 540_000_000)


def drawn_text(mark: str = "", language: str = "en", hours: int = 20, name: str = "M") -> str:
    ahead = Ahead(FAN[: hours * 2 + 1], 0.0, 6.0, NOW_US, PASSES, mark)
    return draw_forecast(name, READ, ahead, ZoneInfo("Europe/Lisbon"), catalogue(language).say)


def drawn(*of: str, hours: int = 20, name: str = "M") -> ElementTree.Element:
    return ElementTree.fromstring(drawn_text(*of, hours=hours, name=name))


def words(svg: ElementTree.Element) -> list[str]:
    return [one.text or "" for one in svg.iter(f"{SVG}text")]


def places(text: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in text.split())]


def test_it_shows_what_was_read_lately_the_half_and_till_when() -> None:
    svg = drawn()
    told = words(svg)
    assert told[0] == "cooler M, C"
    assert "now 10:10" in told
    assert "12:10" in told  # one in ten
    assert "20:10" in told  # the half at 20:19, to ten minutes downwards
    assert {"0", "6", "12 Oct", "13 Oct", "read", "half", "8 in 10"} <= set(told)
    assert len([*svg.iter(f"{SVG}circle")]) == 3 + 1  # those of a day before, and the legend's
    half = places(next(svg.iter(f"{SVG}polyline")).attrib["points"])
    assert len(half) == len(FAN)
    assert half == sorted(half)
    assert half[0][1] > half[-1][1]  # it warms: upwards


@pytest.mark.parametrize("hours", [1, 3, 20])
@pytest.mark.parametrize("language", ["en", "es", "fr", "nb", "pt"])
def test_nothing_lies_outside_and_the_hours_are_few_and_round(language: str, hours: int) -> None:
    svg = drawn("EXERCISE", language, hours=hours, name="KS-12")
    wide, high = map(float, svg.attrib["viewBox"].split()[2:])
    # 250 of a phone's 360 CSS pixels are the drawing's; 10 px: common practice, no source.
    assert float(svg.attrib["font-size"]) * 250 / wide > 10
    for one in svg.iter(f"{SVG}text"):
        across = len(one.text or "") * float(one.attrib.get("font-size", 14)) * 0.602  # of DejaVu Sans Mono's em
        shift = {"middle": 0.5, "end": 1.0}.get(one.attrib.get("text-anchor", "start"), 0.0)
        left = float(one.attrib["x"]) - across * shift
        assert left >= 0, one.text
        assert left + across <= wide, one.text
        assert 0 < float(one.attrib["y"]) < high
    for shape in (*svg.iter(f"{SVG}polygon"), *svg.iter(f"{SVG}polyline")):
        assert all(0 <= x <= wide and 0 <= y <= high for x, y in places(shape.attrib["points"]))
    hours_told = [int(one) for one in words(svg) if re.fullmatch(r"\d\d", one)]
    assert 1 <= len(hours_told) <= 6
    assert words(svg)[0].startswith("EXERCISE ")


async def test_the_picture_is_the_drawing_three_times_as_fine() -> None:
    shown = Image.open(io.BytesIO(await picture(drawn_text())))
    assert (shown.format, shown.width, shown.height) == ("PNG", 1080, round(1080 * 250 / 320))
    greys = shown.convert("L").histogram()
    assert greys[255] > greys[0xBB] > greys[0] > 1000
