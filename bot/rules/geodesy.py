"""Distances and bearings on the WGS84 ellipsoid, by Karney's method as `geographiclib` has it."""

from __future__ import annotations

from geographiclib.geodesic import Geodesic

METRES_PER_NAUTICAL_MILE = 1852.0

_WORDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def distance_m(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Metres along the shortest line between two (lat, lon) in degrees."""
    line = Geodesic.WGS84.Inverse(*a, *b, Geodesic.DISTANCE)
    return float(line["s12"])


def bearing_deg(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Degrees from true north, 0 up to 360, in which that line leaves `a`; of two equal places, 180."""
    line = Geodesic.WGS84.Inverse(*a, *b, Geodesic.AZIMUTH)
    return (float(line["azi1"]) + 360.0) % 360.0


def speed_knots(metres: float, seconds: float) -> float:
    """The mean speed; infinite where a way took no time, 0 where there was no way.

    Raises ValueError for a time that runs backwards.
    """
    if seconds < 0:
        raise ValueError("A speed needs a time of zero seconds or more.")
    if seconds == 0:
        return float("inf") if metres else 0.0
    return metres / METRES_PER_NAUTICAL_MILE / (seconds / 3600.0)


def compass_word(deg: float) -> str:
    """The nearest of the eight winds, as a word: 0 is "north", 45 "north-east"."""
    return _WORDS[int((deg % 360.0 + 22.5) // 45.0) % 8]
