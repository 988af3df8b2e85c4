"""The operating area, and how far outside it a place lies.

Source: RFC 7946 for polygons: rings of [longitude, latitude], closed, the first the outline and
the rest holes, edges straight in these coordinates, and an area over the 180th meridian cut into two
(3.1.9). A box is one ring whose edges are parallels and meridians.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, pairwise
from math import cos, hypot, isfinite, radians
from typing import Any, Self

from pydantic import Field

from ..model.base import Frozen
from .geodesy import bearing_deg, compass_word, distance_m

Ring = tuple[tuple[float, float], ...]
Polygon = tuple[Ring, ...]

# A ring may reach past 180 but never below -180, and a place is told from -180 to 180.
_TURNS_INSIDE = (0.0, 360.0)
_TURNS_NEAR = (0.0, 360.0, -360.0)
_ON_THE_EDGE_DEG = 1e-9  # a tenth of a millimetre: no more than what floats lose

_BOX = {"south", "north", "west", "east"}
_WAY_OUT = "Give south, north, west and east, or a GeoJSON Polygon or MultiPolygon."


@dataclass(frozen=True, slots=True)
class Inside:
    """The place lies in the area or on its edge."""


@dataclass(frozen=True, slots=True)
class Outside:
    """The place lies this far from the nearest edge, in this direction from the area ("north-east")."""

    metres: float
    direction: str


class Area(Frozen):
    """Polygons of rings of (longitude, latitude) in WGS84 degrees; longitudes run past 180, never back."""

    polygons: tuple[Polygon, ...] = Field(min_length=1)

    @classmethod
    def box(cls, *, south: float, north: float, west: float, east: float) -> Self:
        """The area between two parallels and two meridians, over the 180th where west > east.

        Raises ValueError with one sentence where the four do not make an area.
        """
        if not (-90 <= south < north <= 90):
            raise ValueError("The area's south must be below its north, both from -90 to 90.")
        if not (-180 <= west <= 180 and -180 <= east <= 180 and west != east):
            raise ValueError("The area's west and east must differ, both from -180 to 180.")
        far = east if west < east else east + 360
        ring = ((west, south), (far, south), (far, north), (west, north), (west, south))
        return cls(polygons=((ring,),))

    @classmethod
    def parse(cls, value: dict[str, Any]) -> Self:
        """The area that a settings table or a GeoJSON geometry tells.

        Raises ValueError with one sentence where it tells none.
        """
        if isinstance(value, dict) and set(value) == _BOX:
            return cls.box(**{edge: _number(value[edge]) for edge in _BOX})
        kind = value.get("type") if isinstance(value, dict) else None
        if kind not in ("Polygon", "MultiPolygon"):
            raise ValueError(f"This is no area. {_WAY_OUT}")
        given = _listed(value.get("coordinates"), "coordinates")
        return cls(polygons=tuple(_polygon(p) for p in ([given] if kind == "Polygon" else given)))


def middle(area: Area) -> tuple[float, float]:
    """(latitude, longitude) halfway between the area's outermost points, in degrees."""
    points = [point for polygon in area.polygons for ring in polygon for point in ring]
    lons, lats = [lon for lon, _ in points], [lat for _, lat in points]
    return (min(lats) + max(lats)) / 2, ((min(lons) + max(lons)) / 2 + 180) % 360 - 180


def outside(area: Area, lat: float, lon: float) -> Outside | Inside:
    """Where a place in WGS84 degrees lies from the area.

    The nearest point of the edge is found in a plane about the place (degrees of longitude shrunk by
    the cosine of its latitude), good to a few per cent at hundreds of kilometres; the distance to
    that point is then geodesic, so never short of the true one.
    """
    if any(_holds(polygon, lat, lon + turn) for polygon in area.polygons for turn in _TURNS_INSIDE):
        return Inside()
    shrink = cos(radians(lat))
    candidates = (
        _nearest(a, b, lat, lon + turn, shrink)
        for a, b in chain.from_iterable(map(_edges, area.polygons))
        for turn in _TURNS_NEAR
    )
    gap, edge_lat, edge_lon = min(candidates)
    if gap < _ON_THE_EDGE_DEG:
        return Inside()
    edge = (edge_lat, edge_lon)
    return Outside(distance_m(edge, (lat, lon)), compass_word(bearing_deg(edge, (lat, lon))))


def _edges(polygon: Polygon) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    return chain.from_iterable(map(pairwise, polygon))


def _holds(polygon: Polygon, lat: float, lon: float) -> bool:
    """True where a line due east crosses the rings an odd number of times, so holes count themselves out."""
    odd = False
    for (x1, y1), (x2, y2) in _edges(polygon):
        if (y1 > lat) != (y2 > lat) and lon < x1 + (lat - y1) * (x2 - x1) / (y2 - y1):
            odd = not odd
    return odd


def _nearest(
    a: tuple[float, float], b: tuple[float, float], lat: float, lon: float, shrink: float
) -> tuple[float, float, float]:
    """(planar distance, latitude, longitude) of the edge's point nearest to the place."""
    ax, ay = (a[0] - lon) * shrink, a[1] - lat
    dx, dy = (b[0] - a[0]) * shrink, b[1] - a[1]
    length2 = dx * dx + dy * dy
    share = min(1.0, max(0.0, -(ax * dx + ay * dy) / length2)) if length2 else 0.0
    gap = hypot(ax + share * dx, ay + share * dy)
    return gap, a[1] + share * (b[1] - a[1]), a[0] + share * (b[0] - a[0])


def _polygon(value: object) -> Polygon:
    return tuple(_ring(ring) for ring in _listed(value, "rings"))


def _ring(value: object) -> Ring:
    ring = tuple(_point(point) for point in _listed(value, "points"))
    if len(ring) < 4 or ring[0] != ring[-1]:
        raise ValueError("A ring of the area needs four points or more, the last like the first.")
    if any(abs(a[0] - b[0]) > 180 for a, b in pairwise(ring)):
        raise ValueError("An edge of the area is over 180 degrees long: cut the area at the 180th meridian.")
    return ring


def _point(value: object) -> tuple[float, float]:
    numbers = [_number(part) for part in _listed(value, "numbers")]
    if len(numbers) < 2 or abs(numbers[0]) > 180 or abs(numbers[1]) > 90:
        raise ValueError("A point of the area must be longitude (-180 to 180), then latitude (-90 to 90).")
    return numbers[0], numbers[1]


def _listed(value: object, of: str) -> list[Any]:
    if not isinstance(value, list | tuple) or not value:
        raise ValueError(f"The area lacks a list of {of}. {_WAY_OUT}")
    return list(value)


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise ValueError(f"The area holds something that is no number. {_WAY_OUT}")
    return float(value)
