"""Positions as people type them, against the `lat_lon_parser` and `mgrs` libraries.

The place of the examples, 47.2830 N 19.9510 W, is in degrees and minutes 47 16.980 and 19 57.060, and
in seconds 47 16 58.8 and 19 57 3.6.
"""

from __future__ import annotations

import re
from itertools import product

import lat_lon_parser
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from mgrs import MGRS

from bot.dialogue.readers.base import UNREAD, Ask, Unread
from bot.dialogue.readers.position import Found, PositionTold, find_position, read_position

SPELLINGS = [
    "47.2830N 19.9510W", "47.2830 N 19.9510 W", "N47.2830 W19.9510", "N 47.2830, W 19.9510",
    "47.2830n 19.9510w", "47.2830N, 19.9510W", "47.2830N/19.9510W", "47.2830N;19.9510W", "47.2830N19.9510W",
    "47.2830°N 19.9510°W", "19.9510W 47.2830N", "W19.9510 N47.2830", "47.2830 -19.9510",
    "+47.2830 -19.9510", "47.2830, -19.9510", "47.2830,-19.9510", "(47.2830; \u221219.9510)",
    "47.2830N -19.9510", "47,2830N 19,9510W", "47,2830 -19,9510", "47,2830, -19,9510", "47,2830,-19,9510",
    "47 16.980N 019 57.060W", "47°16.980'N 019°57.060'W", "47-16.98N 019-57.06W", "N47 16.980 W019 57.060",
    "47 16,980N 019 57,060W", "47 16.980 -019 57.060", "47deg 16.98'N, 19deg 57.06'W",
    "47°16'58.8\"N 19°57'3.6\"W", "47 16 58.8 N 19 57 3.6 W",
    "47\u00ba16\u201958.8\u201dN 19\u00ba57\u20193.6\u201dW",
    "47° 16\u2032 58.8\u2033 N, 19° 57\u2032 3.6\u2033 W", "47°16'58.8''N 19°57'3.6''W",
    "47-16-58.8N 019-57-03.6W",
]  # fmt: skip


@pytest.mark.parametrize("text", SPELLINGS)
def test_every_spelling_of_one_place_is_that_place_with_its_own_words(text: str) -> None:
    assert read_position(text) == PositionTold(47.283, -19.951, text, "typed")


@pytest.mark.parametrize("text", [each for each in SPELLINGS if "N" in each.upper() and "W" in each.upper()])
def test_every_lettered_spelling_is_found_in_a_line_and_nothing_else_is_eaten(text: str) -> None:
    line = f"03 spill sheen 1002 {text} pad seal 5103 cooler M 4.4C"
    assert find_position(line) == Found(20, 20 + len(text), PositionTold(47.283, -19.951, text, "typed"))


NAMED = [
    "lat 47.2830 long -19.9510", "Lat: 47.2830° N, Long: 19.9510° W", "LAT=47.2830 LNG=-19.9510",
    "latitude 47.2830 longitude -19.9510", "lat. 47 16.98 N lon. 019 57.06 W", "lat 47,2830N lon 19,9510W",
]  # fmt: skip


@pytest.mark.parametrize("text", NAMED)
def test_a_place_with_its_halves_named_is_read_alone_and_in_a_line(text: str) -> None:
    told = PositionTold(47.283, -19.951, text, "typed")
    assert read_position(text) == told
    assert find_position(f"03 sheen 1002 {text} seal 5103") == Found(14, 14 + len(text), told)


def test_a_named_half_without_letter_and_sign_is_asked_for_its_hemisphere() -> None:
    asked = Ask("read.position.hemisphere", {"raw": "lat 47.2830 long 19.9510"})
    assert find_position("03 sheen lat 47.2830 long 19.9510 1002") == asked


@pytest.mark.parametrize(
    "text", ["lat 47.2830 long -19 57.06", "lat 47 16.98 long -19 57 06", "lat 47.2830W long 19.9510N"]
)
def test_named_halves_of_two_forms_or_of_another_axis_are_no_place(text: str) -> None:
    assert find_position(f"03 sheen 1002 {text} pad") is UNREAD


def test_the_first_place_of_a_line_is_found_however_it_is_written() -> None:
    found = find_position("03 47.2830N 19.9510W by the buoy lat 47.3000 long -19.9000")
    assert isinstance(found, Found)
    assert (found.told.lat, found.told.lon) == (47.283, -19.951)


LATITUDES = ["47.2830N", "47 16.980N", "47°16'58.8\"N", "47 16 58.8 N", "N47 16.98", "47,2830N"]
LONGITUDES = ["19.9510W", "019 57.060W", "19°57'3.6\"W", "19 57 3.6 W", "W019 57.06", "19,9510W"]


@pytest.mark.parametrize(("lat", "lon"), list(product(LATITUDES, LONGITUDES)))
def test_what_is_read_of_a_pair_is_what_lat_lon_parser_reads_of_each_half(lat: str, lon: str) -> None:
    value = read_position(f"{lat} {lon}")
    if isinstance(value, PositionTold):
        assert value.lat == pytest.approx(lat_lon_parser.parse(lat), abs=5e-6)
        assert value.lon == pytest.approx(lat_lon_parser.parse(lon), abs=5e-6)
    else:
        assert value is UNREAD  # two forms in one position


def _half(value: float, letters: str, form: str, marks: str, mark_of_decimals: str) -> str:
    """A number with its letter after it, as `lat_lon_parser` writes the parts of an angle."""
    if form == "degrees":
        text = f"{abs(value):.5f}" + ("°" if marks == "marked" else "")
    elif form == "minutes":
        degrees, minutes = divmod(round(abs(value) * 60, 3), 60)
        text = f"{degrees:.0f}°{minutes:.3f}'"
    else:
        degrees, rest = divmod(round(abs(value) * 3600, 1), 3600)
        minutes, seconds = divmod(rest, 60)
        text = f"{degrees:.0f}°{minutes:.0f}'{seconds:.1f}\""
    if marks == "spaced":
        text = text.replace("°", " ").replace("'", " ").replace('"', "").strip()
    return text.replace(".", mark_of_decimals) + letters[value < 0]


# Half of the last place written, in degrees, and half of the fifth decimal that is stored.
WITHIN = {"degrees": 1e-5, "minutes": 0.0005 / 60 + 6e-6, "seconds": 0.05 / 3600 + 6e-6}
FORMS = list(product(WITHIN, ("marked", "spaced"), ".,", (" ", ", ", " / ", ";"), (False, True)))


@settings(deadline=None)
@given(st.floats(-90, 90), st.floats(-180, 180), st.sampled_from(FORMS))
def test_any_place_written_in_any_form_is_read_back_within_what_was_written(
    lat: float, lon: float, how: tuple[str, str, str, str, bool]
) -> None:
    form, marks, comma, between, east_first = how
    halves = [_half(lat, "NS", form, marks, comma), _half(lon, "EW", form, marks, comma)]
    value = read_position(between.join(reversed(halves) if east_first else halves))
    assert isinstance(value, PositionTold)
    assert value.lat == pytest.approx(lat, abs=WITHIN[form])
    assert value.lon == pytest.approx(lon, abs=WITHIN[form])
    assert value.lat == pytest.approx(lat_lon_parser.parse(halves[0]), abs=6e-6)
    assert value.lon == pytest.approx(lat_lon_parser.parse(halves[1]), abs=6e-6)


@settings(deadline=None)
@given(st.floats(-90, 90), st.floats(-180, 180))
def test_any_place_with_signs_is_read_in_the_order_of_iso_6709(lat: float, lon: float) -> None:
    # ISO 6709: latitude before longitude, north and east positive.
    value = read_position(f"{lat:+.5f} {lon:+.5f}")
    assert isinstance(value, PositionTold)
    assert (value.lat, value.lon) == pytest.approx((lat, lon), abs=1e-5)


def test_an_mgrs_square_is_read_as_its_centre() -> None:
    # The manual of GeoConvert, GeographicLib: 38SMB4488 is 33.33424 44.40363.
    assert read_position("38SMB4488") == PositionTold(33.33424, 44.40363, "38SMB4488", "typed")


SPACES = st.sampled_from(["{}{}{}", "{} {} {}", "{}{} {}"])


# Half a thousandth of a degree off the edges of the zones and bands, where the library's own writer slips.
OFF_EDGE = st.tuples(st.integers(-79_000, 82_999), st.integers(-180_000, 179_999))


@settings(deadline=None)
@given(OFF_EDGE, st.integers(2, 5), SPACES)
def test_a_place_written_in_mgrs_is_read_within_half_the_diagonal_of_its_square(
    thousandths: tuple[int, int], places: int, spaces: str
) -> None:
    lat, lon = ((each + 0.5) / 1000 for each in thousandths)
    square = MGRS().toMGRS(lat, lon, MGRSPrecision=places)
    digits = square[-2 * places :]
    text = spaces.format(square[: -2 * places - 2], square[-2 * places - 2 : -2 * places], digits)
    value = read_position(text)
    assert isinstance(value, PositionTold)
    apart = Geodesic.WGS84.Inverse(lat, lon, value.lat, value.lon)["s12"]
    # A square's side is scaled by 0.9996 at least; the fifth decimal of a degree is 0.8 m at most.
    assert apart <= 10 ** (5 - places) * 0.7072 / 0.9995 + 0.8


def test_an_mgrs_square_is_found_in_a_line_where_it_is_a_long_one() -> None:
    told = find_position("03 spill 1002 29TKN1234567890 pad seal 5103")
    assert isinstance(told, Found)
    assert told.told.raw == "29TKN1234567890"
    assert find_position("03pad 1002 seal 5103") is UNREAD


@pytest.mark.parametrize(
    "text",
    [
        "47.2830 19.9510",
        "47 16.98 19 57.06",
        "47.2830N 19.9510",
        "47.2830, 19.9510W",
        "-47.2830N 19.9510W",
        "47°N 19.951",
    ],
)
def test_a_position_that_lacks_a_letter_or_a_sign_is_asked_for_its_half_of_the_earth(text: str) -> None:
    assert read_position(text) == Ask("read.position.hemisphere", {"raw": text})


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("91.0000N 19.9510W", "latitude ends at 90"),
        ("90 00.001N 019 57.060W", "latitude ends at 90"),
        ("47.2830N 180.0001W", "longitude ends at 180"),
        ("47 60.000N 19 57.060W", "minutes and seconds end at 59"),
        ("47 16 60 N 19 57 3.6 W", "minutes and seconds end at 59"),
        ("47N 48N", "two of one axis"),
        ("19.9510W 20.1E", "two of one axis"),
        ("-100.5 100.5", "latitude ends at 90"),
        ("99TKN1234567890", "no such grid square"),
    ],
)
def test_what_no_place_on_earth_has_is_asked_with_a_reason(text: str, why: str) -> None:
    assert read_position(text) == Ask("read.position.impossible", {"raw": text, "why": why})


def test_signed_numbers_that_fit_only_as_longitude_and_latitude_are_asked_for_their_order() -> None:
    assert read_position("-119.9510 47.2830") == Ask("read.position.order", {"raw": "-119.9510 47.2830"})


def test_commas_that_may_be_either_kind_are_asked() -> None:
    assert read_position("-47,28,19") == Ask("read.position.unclear", {"raw": "-47,28,19"})


NO_POSITIONS = ["", "none", "no position", "03 04", "5103", "1002", "47 19", "quay 12", "bay 12", "03pad 12"]


@pytest.mark.parametrize("text", [*NO_POSITIONS, "2S", "x" * 5000, "9" * 5000])
def test_what_is_no_position_is_left_unread(text: str) -> None:
    assert read_position(text) is UNREAD


@pytest.mark.parametrize(
    "line",
    [
        "06 source tank 2P 1051 seal E107",
        "tank 2S 5W 1051",
        "cooler M 4.4 -1.5",
        "cooler M 5 kg ice at 0700 outside 24C shade",
        "cooler M 4.2C at 1210 ice some",
        "offer 01-03 to C1",
        "01 5101 whole 02 5102 cut",
        "wind SW 15 kn, air 12.5C",
        "03 47.2830N pad",
        "need number 03 04",
    ],
)
def test_the_other_numbers_of_a_line_are_no_position(line: str) -> None:
    assert find_position(line) is UNREAD


def test_signs_count_in_a_line_with_three_decimals_or_more() -> None:
    told = find_position("03 spill 1002 47.2830 -19.9510 4.4 -1.5")
    assert told == Found(14, 30, PositionTold(47.283, -19.951, "47.2830 -19.9510", "typed"))


def test_a_position_without_letters_in_a_line_is_asked_with_its_own_words() -> None:
    asked = Ask("read.position.hemisphere", {"raw": "47.2830 19.9510"})
    assert find_position("03 1002 47.2830 19.9510 pad") == asked


def test_a_letter_between_two_of_three_numbers_is_asked() -> None:
    line = "03 47.2830 N 19.9510 W 4.4"
    assert find_position(line) == Ask("read.position.unclear", {"raw": "47.2830 N 19.9510 W 4.4"})
    found = find_position(line + " C")
    assert isinstance(found, Found)
    assert found.told.raw == "47.2830 N 19.9510 W"


def test_a_seal_and_a_time_before_a_position_are_not_taken_for_its_longitude() -> None:
    line = "seal E107 10.02 N47 16.980 W019 57.060"
    assert find_position(line) == Ask("read.position.unclear", {"raw": line.removeprefix("seal ")})
    for line in ("seal E107 1002 N47 16.980 W019 57.060", "N47 16.980 W019 57.060 E107 10.02"):
        found = find_position(line)
        assert isinstance(found, Found)
        assert found.told.raw == "N47 16.980 W019 57.060"


OF_THE_TRADE = [
    "03", "spill", "1002", "seal", "5103", "M", "4.4C", "seal E107", "AB-0042", "10:02", "10.02", "tank",
    "2P", "2S", "5 kg", "3/4", "80%", "-1.5", "1 photo", "SW", "15 kn", "R1", "118 mL", "24F",
]  # fmt: skip
WORDS = st.lists(st.sampled_from(OF_THE_TRADE), max_size=8).map(" ".join)
LATITUDE = re.compile(r"\d\s+[\d.]+\s+2S")  # two numbers before a tank 2S are a latitude to anybody
PLACE = st.tuples(st.floats(-90, 90), st.floats(-180, 180))


@settings(deadline=None)
@given(WORDS, WORDS, PLACE, st.sampled_from(sorted(WITHIN)), st.sampled_from(["marked", "spaced"]))
def test_a_position_is_found_among_any_words_of_the_trade(
    before: str, after: str, place: tuple[float, float], form: str, marks: str
) -> None:
    assume(not LATITUDE.search(f"{before} {after}"))
    assert find_position(f"{before} {after}") is UNREAD
    text = f"{_half(place[0], 'NS', form, marks, '.')} {_half(place[1], 'EW', form, marks, '.')}"
    found = find_position(f"{before} {text} {after}")
    assert isinstance(found, Found)
    assert found.start == len(before) + 1
    assert found.told == read_position(text)


@settings(deadline=None)
@given(st.one_of(st.text(max_size=80), st.text("0123456789 .,-+'\"°NSEWCPT/;", max_size=50)))
def test_no_text_at_all_breaks_the_readers(text: str) -> None:
    value = read_position(text)
    assert isinstance(value, PositionTold | Ask | Unread)
    if isinstance(value, PositionTold):
        assert abs(value.lat) <= 90
        assert abs(value.lon) <= 180
    found = find_position(text)
    if isinstance(found, Found):
        assert text[found.start : found.end] == found.told.raw
