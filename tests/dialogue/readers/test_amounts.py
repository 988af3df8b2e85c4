"""Temperatures, fills, lengths, volumes and winds as people type them.

Factors: NIST Special Publication 811, appendix B (Fahrenheit, foot, US fluid ounce, mile, knot).
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.dialogue.readers.amounts import (
    FillTold,
    LengthTold,
    TemperatureTold,
    VolumeTold,
    WindTold,
    read_fill,
    read_length,
    read_temperature,
    read_volume,
    read_wind,
)
from bot.dialogue.readers.base import UNREAD, Ask


@pytest.mark.parametrize(
    "text", ["4.4C", "4.4 c", "4,4C", "4.4 deg C", "4.4°C", "4.4\u00baC", "+4.4 C", "4.4 celsius", " 4.4C. "]
)
def test_the_ways_to_write_celsius_are_one_temperature_with_its_own_words(text: str) -> None:
    assert read_temperature(text) == TemperatureTold(4.4, text.strip(), unit_derived=False)


@pytest.mark.parametrize("text", ["-2C", "minus 2C", "\u22122 C", "minus 2 deg C"])
def test_the_ways_to_write_below_zero_are_one_temperature(text: str) -> None:
    assert read_temperature(text) == TemperatureTold(-2.0, text, unit_derived=False)


# NIST SP 811, B.8: t/C = (t/F - 32) / 1.8; the fixed points of water and where the scales meet.
@pytest.mark.parametrize(
    ("text", "celsius"), [("32F", 0.0), ("212 F", 100.0), ("-40F", -40.0), ("46F", 7.78), ("39.9F", 4.39)]
)
def test_fahrenheit_is_told_in_celsius_and_keeps_its_own_words(text: str, celsius: float) -> None:
    assert read_temperature(text) == TemperatureTold(celsius, text, unit_derived=False)


@pytest.mark.parametrize(
    ("text", "celsius"), [("-5", -5.0), ("-1.5", -1.5), ("0", 0.0), ("4.4", 4.4), ("25", 25.0)]
)
def test_a_bare_number_that_a_cooler_may_have_is_celsius_and_marked_derived(
    text: str, celsius: float
) -> None:
    assert read_temperature(text) == TemperatureTold(celsius, text, unit_derived=True)


@pytest.mark.parametrize("text", ["46", "25.1", "-5.1", "39.9", "100", "572"])
def test_any_other_bare_number_is_asked_for_its_unit(text: str) -> None:
    assert read_temperature(text) == Ask("read.temperature.unit", {"value": text})


@pytest.mark.parametrize("text", ["-60.1C", "300.1C", "573F", "999", "-61"])
def test_a_temperature_that_nothing_here_has_is_asked(text: str) -> None:
    assert read_temperature(text) == Ask("read.temperature.impossible", {"raw": text})


@pytest.mark.parametrize("text", ["", "cold", "M 4.4C", "5103", "1210", "4.4C 5C", "C", "4.4.4C"])
def test_what_is_no_temperature_is_left_unread(text: str) -> None:
    assert read_temperature(text) is UNREAD


@settings(deadline=None)
@given(st.integers(-600, 3000))
def test_a_stated_unit_is_never_asked(tenths: int) -> None:
    assert read_temperature(f"{tenths / 10}C") == TemperatureTold(tenths / 10, f"{tenths / 10}C", False)


@pytest.mark.parametrize(
    ("text", "percent"),
    [
        ("3/4", 75),
        ("7/8", 87.5),
        ("80%", 80),
        ("80 %", 80),
        ("62.5 percent", 62.5),
        ("6 eighths", 75),
        ("half", 50),
        ("Half full", 50),
        ("full", 100),
        ("empty", 0),
        ("3/4 full", 75),
        ("8/8", 100),
        ("1/3", 33.33),
    ],
)
def test_fills_are_told_in_percent(text: str, percent: float) -> None:
    assert read_fill(text) == FillTold(percent, text)


def test_a_bare_fill_is_asked_for_its_unit_and_more_than_full_is_asked_again() -> None:
    assert read_fill("6") == Ask("read.fill.unit", {"value": "6"})
    for text in ("101%", "9/8", "9 eighths", "1/0"):
        assert read_fill(text) == Ask("read.fill.impossible", {"raw": text})
    for text in ("", "some", "3/4 pad"):
        assert read_fill(text) is UNREAD


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("2.5 m", 2.5),
        ("2,5m", 2.5),
        ("250 cm", 2.5),
        ("8ft", 2.438),
        ("8 feet", 2.438),
        ("8'", 2.438),
        ("0.5 metres", 0.5),
    ],
)
def test_lengths_are_told_in_metres(text: str, metres: float) -> None:
    # NIST SP 811, B.8: one foot is 0.3048 m exactly.
    assert read_length(text) == LengthTold(metres, text)


def test_a_bare_length_is_asked_for_its_unit_and_one_outside_the_limits_is_asked_again() -> None:
    assert read_length("8") == Ask("read.length.unit", {"value": "8"})
    assert read_length("51 m") == Ask("read.length.impossible", {"raw": "51 m", "least": "0", "most": "50"})
    assert read_length("51 m", most_m=60) == LengthTold(51.0, "51 m")
    assert read_length("deep") is UNREAD


@pytest.mark.parametrize(
    ("text", "millilitres"),
    [
        ("118 mL", 118),
        ("118ml", 118),
        ("4 oz", 118.3),
        ("4 fl oz", 118.3),
        ("0.1 L", 100),
        ("1 litre", 1000),
        ("10 cl", 100),
    ],
)
def test_volumes_are_told_in_millilitres(text: str, millilitres: float) -> None:
    # NIST SP 811, B.8: one US fluid ounce is 29.573 53 mL.
    assert read_volume(text) == VolumeTold(millilitres, text)


def test_a_bare_volume_is_asked_for_its_unit() -> None:
    assert read_volume("118") == Ask("read.volume.unit", {"value": "118"})
    assert read_volume("jar") is UNREAD


@pytest.mark.parametrize(
    ("text", "knots", "direction"),
    [
        ("SW 15 kn", 15, "SW"),
        ("15kn from 220", 15, "220"),
        ("8 m/s NE", 15.6, "NE"),
        ("220/15kn", 15, "220"),
        ("wind from the south-west at 15 knots", 15, "SW"),
        ("nnw 5 kts", 5, "NNW"),
        ("20 km/h", 10.8, None),
        ("10 mph E", 8.7, "E"),
        ("SW", None, "SW"),
        ("from 220", None, "220"),
        ("220 deg", None, "220"),
    ],
)
def test_winds_are_told_in_knots_with_where_they_come_from(
    text: str, knots: float | None, direction: str | None
) -> None:
    # NIST SP 811, B.8: one knot is 0.514 444 4 m/s, one mile an hour 0.447 04 m/s.
    assert read_wind(text) == WindTold(knots, direction, text)


def test_a_wind_without_its_unit_is_asked_and_one_that_no_compass_has_is_asked_again() -> None:
    for text in ("SW 15", "15 SW", "15", "wind 15"):
        assert read_wind(text) == Ask("read.wind.unit", {"value": "15"})
    for text in ("SW 81 kn", "361 deg 10 kn", "from 361"):
        assert read_wind(text) == Ask("read.wind.impossible", {"raw": text})
    for text in ("", "calm", "light SW", "220 15", "news 10 kn"):
        assert read_wind(text) is UNREAD


@settings(deadline=None)
@given(st.one_of(st.text(max_size=60), st.text("0123456789.,-+%/ °CFmlozknNSEW'", max_size=20)))
def test_no_text_at_all_breaks_the_readers(text: str) -> None:
    for reader in (read_temperature, read_fill, read_length, read_volume, read_wind):
        value = reader(text)
        assert value is UNREAD or isinstance(value, Ask) or value.raw == text.strip()
