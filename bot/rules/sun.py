"""Sunset and sunrise from published equations.

J. Meeus, Astronomical Algorithms, chapter 25 (low accuracy), as the solar calculator of the US National
Oceanic and Atmospheric Administration lays them out: good to a minute between the polar circles. The sun
sets when its centre stands 0.833 degrees below the horizon: refraction and half its disc.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..model.times import DAY_US, MINUTE_US

SET_BELOW_DEGREES = 0.833
_J2000_US = 946_728_000_000_000  # 2000-01-01 12:00 UTC
_CENTURY_DAYS = 36_525


@dataclass(frozen=True, slots=True)
class Daylight:
    """The sun on one day: both None where it stays up (`up`) or down all day. Microseconds UTC."""

    rises_us: int | None
    sets_us: int | None
    up: bool


def daylight(at_us: int, lat: float, lon: float) -> Daylight:
    """The daylight whose noon lies nearest to an instant (us UTC), at WGS84 degrees."""
    noon_us = _nearest_noon(at_us, lon)
    declination, _ = _sun(noon_us)
    angle = _hour_angle(lat, declination)
    if angle is None:
        return Daylight(None, None, up=lat * declination > 0)
    edges = []
    for sign in (-1, 1):
        edge_us = noon_us + sign * int(angle * 4 * MINUTE_US)
        for _ in range(2):  # the sun moves on while the day goes by
            declination, equation = _sun(edge_us)
            turned = _hour_angle(lat, declination) or angle
            edge_us = _noon(at_us, lon, equation) + sign * int(turned * 4 * MINUTE_US)
        edges.append(edge_us)
    return Daylight(edges[0], edges[1], up=edges[0] <= at_us < edges[1])


def _nearest_noon(at_us: int, lon: float) -> int:
    return _noon(at_us, lon, _sun(at_us)[1])


def _noon(at_us: int, lon: float, equation_minutes: float) -> int:
    """The instant of the sun's highest stand nearest to `at_us`."""
    offset_us = int((720 - 4 * lon - equation_minutes) * MINUTE_US)
    return round((at_us - offset_us) / DAY_US) * DAY_US + offset_us


def _hour_angle(lat: float, declination: float) -> float | None:
    """Degrees from noon to sunset, None where the sun does not cross the horizon that day."""
    phi, delta = math.radians(lat), math.radians(declination)
    low = math.sin(math.radians(-SET_BELOW_DEGREES))
    cosine = (low - math.sin(phi) * math.sin(delta)) / max(math.cos(phi) * math.cos(delta), 1e-12)
    return math.degrees(math.acos(cosine)) if -1 <= cosine <= 1 else None


def _sun(at_us: int) -> tuple[float, float]:
    """(declination in degrees, equation of time in minutes) at an instant."""
    t = (at_us - _J2000_US) / DAY_US / _CENTURY_DAYS
    mean = math.radians((280.46646 + t * (36_000.76983 + t * 0.0003032)) % 360)
    anomaly = math.radians(357.52911 + t * (35_999.05029 - 0.0001537 * t))
    eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t)
    centre = (
        math.sin(anomaly) * (1.914602 - t * (0.004817 + 0.000014 * t))
        + math.sin(2 * anomaly) * (0.019993 - 0.000101 * t)
        + math.sin(3 * anomaly) * 0.000289
    )
    node = math.radians(125.04 - 1934.136 * t)
    apparent = mean + math.radians(centre - 0.00569 - 0.00478 * math.sin(node))
    tilt = math.radians(23.439291 - 0.0130042 * t + 0.00256 * math.cos(node))
    declination = math.degrees(math.asin(math.sin(tilt) * math.sin(apparent)))
    y = math.tan(tilt / 2) ** 2
    equation = (
        y * math.sin(2 * mean)
        - 2 * eccentricity * math.sin(anomaly)
        + 4 * eccentricity * y * math.sin(anomaly) * math.cos(2 * mean)
        - y * y / 2 * math.sin(4 * mean)
        - 1.25 * eccentricity**2 * math.sin(2 * anomaly)
    )
    return declination, 4 * math.degrees(equation)
