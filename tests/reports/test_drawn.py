"""What the drawings of a case show and leave out: read back as XML."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from bot.model.sample import Sample
from bot.model.times import HOUR_US, us_of_iso
from bot.reports.drawn_map import Mark, draw_map
from bot.reports.record import Look, timelines
from bot.rules.area import Area
from bot.rules.limits import Limits

SVG = "{http://www.w3.org/2000/svg}"
LISBON = ZoneInfo("Europe/Lisbon")
TAKEN, RECEIVED = "2026-10-12T10:00:00+01:00", "2026-10-12T12:00:00+01:00"
LINES = [
    {"sample": "03", "from": None, "to": "R1", "type": "collected", "place": None, "closed_at": TAKEN},
    {"sample": "03", "from": "R1", "to": "C1", "type": "hand", "place": None, "closed_at": RECEIVED},
]
JAR = Sample(id="a", case="CH-014", number="03", number_key="3", declared_by="R1", said_us=0, received_us=0)
JARS = [Mark("03", 47.283, -19.951), Mark("04", 47.285, -19.950)]


def drawn(hours: int) -> tuple[str, ElementTree.Element]:
    """The heading and the drawing of a case that ended at noon, made so many hours later."""
    made_us = us_of_iso(RECEIVED) + hours * HOUR_US
    ((heading, svg),) = timelines([JAR], LINES, Look(LISBON, Limits(), {}), made_us)
    return heading, ElementTree.fromstring(svg)


@pytest.mark.parametrize("hours", [1, 4])
def test_a_holding_that_goes_on_is_drawn_up_to_the_instant_it_is_shown(hours: int) -> None:
    heading, svg = drawn(hours)
    boxes = [float(one.attrib["width"]) for one in svg.iter(f"{SVG}rect")]
    # Two hours with R1, then so many with C1, on one scale.
    assert boxes[1] / boxes[0] == pytest.approx(hours / 2, abs=0.01)
    assert heading == "All of jar 03"


def test_a_drawing_that_ends_before_says_until_when_it_is_drawn_and_that_it_was_still_so() -> None:
    # A twelfth of the two hours, or a quarter of an hour where that is longer, after the last that happened.
    heading, _ = drawn(40 * 24)
    assert heading == "All of jar 03, drawn to 12 Oct 12:15; an arrow: still so when this was made"


def test_an_offer_that_is_not_taken_lies_inside_the_drawing_though_it_moved_nothing() -> None:
    offered = {**LINES[1], "to": "C2", "closed_at": None, "offered_at": "2026-10-12T18:00:00+01:00"}
    made_us = us_of_iso(RECEIVED) + 40 * 24 * HOUR_US
    (heading, _), *_ = timelines([JAR], [*LINES, offered], Look(LISBON, Limits(), {}), made_us)
    assert heading == "All of jar 03, drawn to 12 Oct 18:40; an arrow: still so when this was made"


def test_what_happened_after_a_drawing_ends_is_not_drawn_at_its_edge() -> None:
    late = [{**LINES[0], "sample": "04", "closed_at": "2026-10-15T10:00:00+01:00"}]
    jars = [JAR, JAR.model_copy(update={"id": "b", "number": "04"})]
    made_us = us_of_iso("2026-10-15T11:00:00+01:00")
    (first, near), (_, whole) = timelines(jars, [*LINES, *late], Look(LISBON, Limits(), {}), made_us)
    assert first == "The first 24 hours"
    assert [len([*ElementTree.fromstring(svg).iter(f"{SVG}rect")]) for svg in (near, whole)] == [2, 3]


def box(south: float, north: float, west: float, east: float) -> Area:
    return Area.box(south=south, north=north, west=west, east=east)


@pytest.mark.parametrize(
    ("area", "seen"),
    [
        (None, False),
        (box(47.0, 47.6, -20.5, -19.5), False),  # all of it lies about the drawing
        (box(48.0, 48.2, -20.1, -19.8), False),  # it lies beside
        (box(47.0, 47.284, -20.5, -19.5), True),  # its north edge runs between the jars
    ],
)
def test_the_areas_line_is_drawn_only_where_it_can_be_seen(area: Area | None, seen: bool) -> None:
    assert ("stroke-dasharray" in draw_map(JARS, area, "where")) is seen


def test_every_jar_has_its_number_however_near_the_edge_and_the_others_it_lies() -> None:
    crowd = [Mark(f"{number:02d}", 47.283 + number / 100_000, -19.951) for number in range(1, 13)]
    svg = ElementTree.fromstring(draw_map([Mark("13", 48.0, -19.951), *crowd], None, "where"))
    written = [one for one in svg.iter(f"{SVG}text") if one.text is not None and one.text.isdecimal()]
    assert sorted(str(one.text) for one in written) == [f"{number:02d}" for number in range(1, 14)]
    assert all(0 < float(one.attrib["y"]) <= 600 for one in written)


def test_letters_can_be_read_on_a_phone_and_no_label_covers_another() -> None:
    svg = ElementTree.fromstring(draw_map([*JARS, JARS[0]], None, "where"))
    # 328 of a phone's 360 CSS pixels are the drawing's; 10 px: common practice, no source.
    assert int(svg.attrib["font-size"]) * 328 / int(svg.attrib["viewBox"].split()[2]) > 10
    heights = sorted(float(one.attrib["y"]) for one in svg.iter(f"{SVG}text") if one.text == "03")
    assert all(below - above >= int(svg.attrib["font-size"]) for above, below in pairwise(heights))


def test_of_many_jars_at_one_place_each_is_drawn_and_no_label_lies_outside() -> None:
    many = [Mark(f"{n:03}", JARS[0].lat, JARS[0].lon) for n in range(500)]
    svg = ElementTree.fromstring(draw_map(many, None, "where"))
    assert len([*svg.iter(f"{SVG}circle")]) == 500
    heights = [float(one.attrib["y"]) for one in svg.iter(f"{SVG}text") if (one.text or "").isdigit()]
    assert len(heights) > 10
    assert max(heights) <= float(svg.attrib["viewBox"].split()[3])
