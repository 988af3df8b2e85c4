"""Distances and bearings on the WGS84 ellipsoid, by Karney's method as `geographiclib` has it."""

from __future__ import annotations

from math import asin, cos, radians, sin, sqrt

from geographiclib.geodesic import Geodesic

METRES_PER_NAUTICAL_MILE = 1852.0
POLAR_RADIUS_M = float(Geodesic.WGS84.a / (1 - Geodesic.WGS84.f))  # of curvature

_WORDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def distance_m(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Metres along the shortest line between two (lat, lon) in degrees."""
    line = Geodesic.WGS84.Inverse(*a, *b, Geodesic.DISTANCE)
    return float(line["s12"])


def at_most_m(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Metres that this distance does not exceed, some hundredth more, at a fiftieth of its cost.

    The great circle on a sphere whose radius is the ellipsoid's largest radius of curvature, at the poles:
    nowhere is a step on WGS84 longer than the same step there.
    """
    north, south = radians(a[0]), radians(b[0])
    half = sin((north - south) / 2) ** 2 + cos(north) * cos(south) * sin(radians(a[1] - b[1]) / 2) ** 2
    return 2 * POLAR_RADIUS_M * asin(min(1.0, sqrt(half)))


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
