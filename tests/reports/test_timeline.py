"""The drawing of custody: read back as XML, and measured."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

from bot.model.times import us_of_iso
from bot.reports.record import marks_of
from bot.reports.timeline import Row, Span, draw, spans_of

LISBON = ZoneInfo("Europe/Lisbon")
SVG = "{http://www.w3.org/2000/svg}"
LINES = [
    {"sample": "03", "from": None, "to": "R1", "type": "collected", "place": None, "closed_at": "2026-10-12T10:02:00+01:00"},
    {"sample": "03", "from": "R1", "to": "C1", "type": "store", "place": "fridge", "closed_at": "2026-10-12T15:07:00+01:00"},
    {"sample": "03", "gap": ["2026-10-12T14:00:00+01:00", "2026-10-12T15:07:00+01:00"], "why": "no holder", "explained": None},
    {"sample": "03", "from": "C1", "to": "K1", "type": "courier", "place": None, "closed_at": None},
]  # fmt: skip


def us(clock: str) -> int:
    return us_of_iso(f"2026-10-12T{clock}:00+01:00")


def test_a_gap_cuts_the_time_that_lies_under_it_and_an_open_offer_moves_nothing() -> None:
    assert spans_of(LINES) == (
        Span(us("10:02"), us("14:00"), "R1"),
        Span(us("14:00"), us("15:07"), "GAP: no holder", gap=True),
        Span(us("15:07"), None, "C1, fridge"),
    )


def test_a_gap_that_is_still_open_leaves_nothing_after_it() -> None:
    open_gap = {**LINES[2], "gap": ["2026-10-12T16:00:00+01:00", None], "why": "no carrier named"}
    *_, held, gap = spans_of([*LINES[:3], open_gap])
    assert held == Span(us("15:07"), us("16:00"), "C1, fridge")
    assert gap == Span(us("16:00"), None, "GAP: no carrier named", gap=True)


def drawing() -> ElementTree.Element:
    rows = [Row("03", spans_of(LINES), ((us("11:00"), "correction"),)), Row("0<4", ())]
    return ElementTree.fromstring(draw(rows, us("10:00"), us("20:00"), LISBON))


def test_the_drawing_is_svg_and_no_box_lies_where_the_gap_is() -> None:
    boxes = [(float(one.attrib["x"]), float(one.attrib["width"])) for one in drawing().iter(f"{SVG}rect")]
    (first, width), (second, _) = boxes
    # Ten hours over 904 units: a gap of 67 minutes is 101 wide, and nothing is in it.
    assert round(second - (first + width)) == 101
    texts = ["".join(one.itertext()) for one in drawing().iter(f"{SVG}text")]
    assert any("GAP: no holder" in text for text in texts)
    assert "no custody line on record" in texts
    assert "0<4" in texts


def test_the_hours_stand_as_the_units_clocks_showed_them_through_a_clock_change() -> None:
    # IANA time zone data: Lisbon goes from UTC+1 to UTC+0 on 25 Oct 2026 at 01:00 UTC; 01:00 comes twice.
    from_us, to_us = us_of_iso("2026-10-25T00:30:00+01:00"), us_of_iso("2026-10-25T04:00:00Z")
    svg = ElementTree.fromstring(draw([Row("03", ())], from_us, to_us, LISBON))
    told = [one for one in svg.iter(f"{SVG}text") if one.attrib["y"] == "14"]
    ticks = [one.text for one in told]
    assert [one.attrib["text-anchor"] for one in told] == [*["middle"] * 4, "end"]  # none is cut off at the edge
    assert ticks == ["25 Oct 01:00", "01:00", "02:00", "03:00", "04:00"]
    places = [float(one.attrib["x"]) for one in svg.iter(f"{SVG}text") if one.attrib.get("text-anchor") == "middle"]
    assert len({round(two - one) for one, two in pairwise(places)}) == 1


def test_what_marks_a_jar_stands_under_its_own_row_where_it_happened() -> None:
    photos = [{"sample": "03", "received_at": "2026-10-12T10:00:00Z"}, {"sample": None, "received_at": "2026-10-12T10:00:00Z"}]
    coolers = [{"excursions": [{"first_out": "2026-10-12T12:55:00+01:00", "samples": ["03", "04"]}]}]
    marks = marks_of(photos, coolers)
    assert marks["03"] == [(us("11:00"), "photo"), (us("12:55"), "cold")]
    assert marks["04"] == [(us("12:55"), "cold")]
    svg = ElementTree.fromstring(draw([Row("03", spans_of(LINES), tuple(marks["03"]))], us("10:00"), us("20:00"), LISBON))
    places = {one.text: float(one.attrib["x"]) for one in svg.iter(f"{SVG}text") if one.text in ("P", "C")}
    # Ten hours over 904 units from 84 on.
    assert {sign: round(x) for sign, x in places.items()} == {"P": round(84 + 90.4), "C": round(84 + 904 * 175 / 600)}
