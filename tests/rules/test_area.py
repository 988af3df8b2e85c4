"""The area against `shapely`, which decides points in polygons by the GEOS library."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Point, Polygon, mapping, shape

from bot.rules.area import Area, Inside, Outside, outside

HAVEN = Area.parse({"south": 47.20, "north": 47.40, "west": -20.10, "east": -19.80})
DATE_LINE = Area.parse({"south": -10, "north": 10, "west": 170, "east": -170})

# RFC 7946, appendix A.3: the polygon with a hole.
WITH_A_HOLE = {
    "type": "Polygon",
    "coordinates": [
        [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]],
        [[100.8, 0.8], [100.8, 0.2], [100.2, 0.2], [100.2, 0.8], [100.8, 0.8]],
    ],
}
# RFC 7946, section 3.1.9: the area over the 180th meridian, cut in two.
CUT = {
    "type": "MultiPolygon",
    "coordinates": [
        [[[180.0, 40.0], [180.0, 50.0], [170.0, 50.0], [170.0, 40.0], [180.0, 40.0]]],
        [[[-170.0, 40.0], [-170.0, 50.0], [-180.0, 50.0], [-180.0, 40.0], [-170.0, 40.0]]],
    ],
}


def test_a_place_in_the_box_or_on_its_edge_is_inside() -> None:
    for place in ((47.283, -19.951), (47.40, -19.951), (47.20, -20.10), (47.3, -19.80)):
        assert outside(HAVEN, *place) == Inside()


def test_a_place_north_of_the_box_is_told_with_its_way_north() -> None:
    told = outside(HAVEN, 47.8830, -19.9510)
    assert isinstance(told, Outside)
    assert told.direction == "north"
    # The meridian from 47.40 to 47.8830, by the series of Snyder, "Map Projections", equation 3-21.
    assert told.metres == pytest.approx(_meridian_m(47.40, 47.8830), abs=1)
    assert round(told.metres / 1000) == 54


def _meridian_m(south: float, north: float) -> float:
    a, e2 = 6_378_137.0, 0.006_694_379_990_14  # WGS84

    def arc(lat: float) -> float:
        phi = math.radians(lat)
        return a * (
            (1 - e2 / 4 - 3 * e2**2 / 64 - 5 * e2**3 / 256) * phi
            - (3 * e2 / 8 + 3 * e2**2 / 32 + 45 * e2**3 / 1024) * math.sin(2 * phi)
            + (15 * e2**2 / 256 + 45 * e2**3 / 1024) * math.sin(4 * phi)
            - (35 * e2**3 / 3072) * math.sin(6 * phi)
        )

    return arc(north) - arc(south)


@pytest.mark.parametrize(
    ("lat", "lon", "direction"),
    [
        (47.1, -19.95, "south"),
        (47.3, -19.0, "east"),
        (47.3, -21.0, "west"),
        (47.5, -19.65, "north-east"),
        (47.1, -20.25, "south-west"),
    ],
)
def test_the_direction_is_that_of_the_place_from_the_area(lat: float, lon: float, direction: str) -> None:
    told = outside(HAVEN, lat, lon)
    assert isinstance(told, Outside)
    assert told.direction == direction


@pytest.mark.parametrize(
    ("lon", "inside"), [(180, True), (-180, True), (175, True), (-175, True), (0, False)]
)
def test_a_box_over_the_180th_meridian_holds_both_sides_of_it(lon: float, inside: bool) -> None:
    assert (outside(DATE_LINE, 0, lon) == Inside()) is inside


def test_a_place_beside_a_box_over_the_180th_meridian_is_near_and_not_round_the_world() -> None:
    # One degree of the equator: 6 378 137 m times pi over 180 (WGS84).
    for lon, direction in ((-169, "east"), (169, "west")):
        told = outside(DATE_LINE, 0, lon)
        assert isinstance(told, Outside)
        assert told.metres == pytest.approx(6_378_137 * math.pi / 180, abs=1e-3)
        assert told.direction == direction


def test_an_area_cut_in_two_at_the_180th_meridian_is_whole() -> None:
    area = Area.parse(CUT)
    for lon in (175, 180, -180, -175):
        assert outside(area, 45, lon) == Inside()
    told = outside(area, 45, -169)
    assert isinstance(told, Outside)
    assert told.direction == "east"


def test_a_place_in_a_hole_is_outside_and_its_way_is_to_the_edge_of_the_hole() -> None:
    told = outside(Area.parse(WITH_A_HOLE), 0.5, 100.21)
    assert isinstance(told, Outside)
    assert told.metres == pytest.approx(Geodesic.WGS84.Inverse(0.5, 100.21, 0.5, 100.2)["s12"], abs=0.01)
    assert told.direction == "east"


CORNERS = st.tuples(st.integers(-300, 300), st.integers(-300, 300)).map(lambda p: (p[0] / 10, p[1] / 10))


def _star(corners: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The corners in the order of their angle about their mean: a ring that never crosses itself."""
    x, y = (sum(c[i] for c in corners) / len(corners) for i in (0, 1))
    ring = sorted(corners, key=lambda c: (math.atan2(c[1] - y, c[0] - x), math.hypot(c[0] - x, c[1] - y)))
    return [*ring, ring[0]]


def _geojson(geometry: Any) -> dict[str, Any]:
    return dict(mapping(geometry))


@settings(max_examples=200, deadline=None)
@given(st.lists(CORNERS, min_size=5, max_size=9, unique=True), CORNERS)
def test_any_polygon_holds_the_places_that_shapely_says_it_holds(
    corners: list[tuple[float, float]], place: tuple[float, float]
) -> None:
    polygon = Polygon(_star(corners))
    if not polygon.is_valid:
        return
    hole = polygon.centroid.buffer(0.4, quad_segs=2)
    if polygon.contains(hole):
        polygon = polygon.difference(hole)
    told = outside(Area.parse(_geojson(polygon)), place[1], place[0])
    on_the_edge = polygon.boundary.distance(Point(place)) < 1e-9
    assert on_the_edge or isinstance(told, Inside) == polygon.intersects(Point(place))


@settings(max_examples=60, deadline=None)
@given(st.floats(-3, 3), st.floats(-3, 3), st.integers(0, 60))
def test_the_distance_is_the_shortest_found_by_walking_along_the_edge(
    north: float, east: float, south: int
) -> None:
    slanted = Polygon([(-20, south), (-19, south), (-18, south + 1), (-19, south + 1)])
    area = Area.parse(_geojson(slanted))
    lat, lon = south + 0.5 + north, -19 + east
    told = outside(area, lat, lon)
    edge = shapely.segmentize(slanted.exterior, 0.02)
    walked = min(Geodesic.WGS84.Inverse(lat, lon, y, x)["s12"] for x, y in edge.coords)
    if isinstance(told, Outside) and walked > 10_000:
        # The steps of the walk are about two kilometres, so it is up to a hundredth too long.
        assert 0.99 * walked <= told.metres <= 1.001 * walked


def test_the_rfc_examples_are_polygons_for_shapely_too() -> None:
    assert isinstance(shape(WITH_A_HOLE), Polygon)
    assert isinstance(shape(CUT), MultiPolygon)


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        ({}, "no area"),
        ({"type": "Point", "coordinates": [1, 2]}, "no area"),
        ({"south": 2, "north": 1, "west": 0, "east": 1}, "south must be below"),
        ({"south": 0, "north": 91, "west": 0, "east": 1}, "south must be below"),
        ({"south": 0, "north": 1, "west": 0, "east": 0}, "must differ"),
        ({"south": 0, "north": 1, "west": 0, "east": 181}, "must differ"),
        ({"south": "x", "north": 1, "west": 0, "east": 1}, "no number"),
        ({"south": True, "north": 1, "west": 0, "east": 1}, "no number"),
        ({"south": math.nan, "north": 1, "west": 0, "east": 1}, "no number"),
        ({"type": "Polygon"}, "coordinates"),
        ({"type": "Polygon", "coordinates": []}, "coordinates"),
        ({"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 1]]]}, "last like the first"),
        ({"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [0, 0]]]}, "four points"),
        ({"type": "Polygon", "coordinates": [[[0], [1, 0], [1, 1], [0]]]}, "longitude"),
        ({"type": "Polygon", "coordinates": [[[0, 91], [1, 0], [1, 1], [0, 91]]]}, "longitude"),
        ({"type": "Polygon", "coordinates": [[[-179, 0], [179, 0], [179, 1], [-179, 0]]]}, "180th meridian"),
        ({"type": "Polygon", "coordinates": "here"}, "coordinates"),
    ],
)
def test_what_is_no_area_is_refused_in_one_sentence(value: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence) as refused:
        Area.parse(value)
    assert "\n" not in str(refused.value)
