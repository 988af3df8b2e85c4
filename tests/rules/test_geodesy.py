"""Geodesy against published lines."""

from __future__ import annotations

import math

import geographiclib.test.test_geodesic as published
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.rules.geodesy import at_most_m, bearing_deg, compass_word, distance_m, speed_knots


def dms(degrees: int, minutes: int, seconds: float) -> float:
    return math.copysign(abs(degrees) + minutes / 60 + seconds / 3600, degrees)


# Twenty WGS84 lines of Karney's set (doi 10.5281/zenodo.32156), as the library's own tests carry them:
# latitude, longitude, azimuth at either end, and the metres between.
@pytest.mark.parametrize("line", published.GeodesicTest.testcases)
def test_karneys_lines_have_his_lengths_and_azimuths(line: list[float]) -> None:
    lat1, lon1, azimuth, lat2, lon2, _, metres, *_ = line
    assert distance_m((lat1, lon1), (lat2, lon2)) == pytest.approx(metres, abs=1e-6)
    assert bearing_deg((lat1, lon1), (lat2, lon2)) == pytest.approx(azimuth % 360, abs=1e-9)


def test_flinders_peak_to_buninyong_is_as_geoscience_australia_prints_it() -> None:
    # Geoscience Australia, GDA technical manual: 54 972.271 m, 306 52 05.37 there, 127 10 25.07 back.
    flinders = dms(-37, 57, 3.72030), dms(144, 25, 29.52440)
    buninyong = dms(-37, 39, 10.15610), dms(143, 55, 35.38390)
    assert distance_m(flinders, buninyong) == pytest.approx(54_972.271, abs=0.0006)
    assert bearing_deg(flinders, buninyong) == pytest.approx(dms(306, 52, 5.37), abs=0.01 / 3600)
    assert bearing_deg(buninyong, flinders) == pytest.approx(dms(127, 10, 25.07), abs=0.01 / 3600)


@pytest.mark.parametrize(
    ("a", "b", "metres", "within"),
    [
        # Published with the GeodSolve programme: cases 0 and 29 of its tests.
        ((40.6, -73.8), (49.01666667, 2.55), 5_853_226, 0.5),
        ((0, 539), (0, 181), 222_639, 0.5),
        # Published for Vincenty's method, which does not come to an end on the last of them.
        ((50.06632, -5.71475), (58.64402, -3.07009), 969_954.166, 0.001),
        ((0, 0), (0.5, 179.5), 19_936_288.579, 0.001),
        ((0, 0), (0.5, 179.7), 19_944_127.421, 0.001),
    ],
)
def test_published_distances_hold(
    a: tuple[float, float], b: tuple[float, float], metres: float, within: float
) -> None:
    assert distance_m(a, b) == pytest.approx(metres, abs=within)


@given(
    a=st.tuples(st.floats(-90, 90), st.floats(-180, 180)),
    b=st.tuples(st.floats(-90, 90), st.floats(-180, 180)),
)
def test_no_way_is_longer_than_its_bound_nor_much_shorter(
    a: tuple[float, float], b: tuple[float, float]
) -> None:
    # Against Karney's method. Between the pole's radius of curvature and the equator's, a(1-f)(1-f), lie 1.013 %.
    metres = distance_m(a, b)
    assert metres <= at_most_m(a, b) + 1e-6
    assert at_most_m(a, b) <= metres * 1.0102 + 1e-6


def test_one_place_is_no_way_at_all() -> None:
    assert distance_m((47.283, -19.951), (47.283, -19.951)) == 0


def test_a_knot_is_1852_metres_an_hour() -> None:
    # The international nautical mile, exact: BIPM, The International System of Units, 8th edition, table 8.
    assert speed_knots(1852, 3600) == 1
    assert speed_knots(74_080, 3600) == pytest.approx(40)


def test_a_way_in_no_time_is_infinitely_fast_and_no_way_is_not() -> None:
    assert speed_knots(1, 0) == math.inf
    assert speed_knots(0, 0) == 0


def test_a_time_that_runs_backwards_is_refused() -> None:
    with pytest.raises(ValueError, match="zero seconds or more"):
        speed_knots(1, -1)


@pytest.mark.parametrize(
    ("deg", "word"),
    [
        (0, "north"),
        (22.4, "north"),
        (22.5, "north-east"),
        (90, "east"),
        (157.4, "south-east"),
        (180, "south"),
        (225, "south-west"),
        (-90, "west"),
        (337.4, "north-west"),
        (359.9, "north"),
    ],
)
def test_a_bearing_has_the_nearest_of_eight_winds(deg: float, word: str) -> None:
    assert compass_word(deg) == word


@settings(deadline=None)
@given(
    st.tuples(st.floats(-90, 90), st.floats(-180, 180)),
    st.tuples(st.floats(-90, 90), st.floats(-180, 180)),
)
def test_a_bearing_lies_from_0_up_to_360_and_the_way_back_is_as_long(
    a: tuple[float, float], b: tuple[float, float]
) -> None:
    assert 0 <= bearing_deg(a, b) < 360
    assert distance_m(a, b) == pytest.approx(distance_m(b, a), abs=1e-6)
