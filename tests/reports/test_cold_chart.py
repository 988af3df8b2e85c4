"""A cooler as a drawing: what was read, and behind the last reading when a forecast passes the limit. SVG 1.1."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from bot.reports.cold_chart import draw_chart

HOUR_US = 3_600_000_000
READ = [(0, 3.0), (2 * HOUR_US, 3.6), (4 * HOUR_US, 4.4)]
AHEAD = [(6 * HOUR_US, "1 in 10"), (8 * HOUR_US, "half"), (9 * HOUR_US, "9 in 10")]


def test_what_is_ahead_stands_behind_the_last_reading_in_its_order_and_inside_the_drawing() -> None:
    svg = draw_chart("Cooler M", READ, (0.0, 6.0), ("10:00", "19:00"), AHEAD)
    ElementTree.fromstring(svg)  # well formed, as XML readers see it
    dots = [float(x) for x in re.findall(r'<circle cx="([\d.]+)"', svg)]
    lines = [float(x) for x in re.findall(r'<path d="M([\d.]+) 18V', svg)]
    assert len(lines) == 3
    assert [*dots, *lines] == sorted([*dots, *lines])
    assert lines[-1] <= 300
    assert all(f">{label}<" in svg for _, label in AHEAD)


def test_without_a_forecast_the_last_reading_ends_the_drawing() -> None:
    svg = draw_chart("Cooler M", READ, (0.0, 6.0), ("10:00", "14:00"))
    assert "19:00" not in svg
    assert len(re.findall("<circle", svg)) == 3


def test_the_newest_reading_has_its_figure_however_near_the_one_before() -> None:
    near = [*READ, (4 * HOUR_US + 60_000_000, 8.6)]
    svg = draw_chart("Cooler M", near, (0.0, 6.0), ("10:00", "14:01"))
    assert ">8.6<" in svg
    assert ">4.4<" not in svg
