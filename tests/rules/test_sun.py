"""Sunset and sunrise, held against the astral library, which carries other people's code for them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from astral import Observer
from astral.sun import sun

from bot.model.times import us_of_iso, utc
from bot.rules.sun import daylight

PLACES = {"Corrowby Haven": (47.3, -19.95), "equator": (0.0, 100.0), "south": (-41.3, 174.8), "north": (60.2, -45.0)}
APART = timedelta(seconds=60)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("month", range(1, 13))
def test_the_sun_sets_and_rises_when_astral_says(place: str, month: int) -> None:
    lat, lon = PLACES[place]
    day = date(2026, month, 12)
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC) - timedelta(hours=lon / 15)
    ours = daylight(us_of_iso(noon.isoformat()), lat, lon)
    assert ours.rises_us is not None
    assert ours.sets_us is not None
    assert ours.up
    # astral counts its days by UTC, so that far east the same sunrise may be the day before's
    days = [sun(Observer(lat, lon, 0.0), date=noon.date() + timedelta(days=more)) for more in (-1, 0, 1)]
    for us, key in ((ours.rises_us, "sunrise"), (ours.sets_us, "sunset")):
        assert min(abs(utc(us) - theirs[key]) for theirs in days) <= APART, (key, utc(us))


@pytest.mark.parametrize(("day", "up"), [("2026-06-21", True), ("2026-12-21", False)])
def test_beyond_the_polar_circle_the_sun_neither_sets_nor_rises(day: str, up: bool) -> None:
    ours = daylight(us_of_iso(f"{day}T12:00:00Z"), 78.2, 15.6)
    assert (ours.sets_us, ours.rises_us, ours.up) == (None, None, up)
    with pytest.raises(ValueError, match="Sun"):
        sun(Observer(78.2, 15.6, 0.0), date=date.fromisoformat(day))


def test_by_night_the_sun_is_down() -> None:
    assert not daylight(us_of_iso("2026-10-12T23:30:00Z"), 47.3, -19.95).up
