"""Where jars were taken, as a drawing: the jars, the operating area, north up and a bar of metres. SVG 1.1.

Black on white and without any map beneath. Plane about the middle latitude: degrees of longitude are shrunk
by its cosine, good enough for a harbour or a stretch of coast (below a part in a thousand over 50 km).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise
from math import cos, log10, radians

from ..rules.area import Area

SIZE, EDGE, LETTERS = 600, 48, 20  # letters of 11 pixels on a phone 360 wide
METRES_A_DEGREE = 111_320.0  # of latitude, WGS84, to 0.6 %
LEAST_M = 200.0  # a single jar is shown in a field of this width
STEPS = (1, 2, 5, 10)
APART = 22  # labels nearer than this are drawn one below the other


@dataclass(frozen=True)
class Mark:
    """One place: what is written beside it, and its WGS84 degrees."""

    label: str
    lat: float
    lon: float


def draw_map(marks: Iterable[Mark], area: Area | None, title: str) -> str:
    """The marks as an SVG element; an empty text where there is no place to draw."""
    marks = tuple(marks)
    if not marks:
        return ""
    frame = _Frame(marks)
    box = f'viewBox="0 0 {SIZE} {SIZE}" class="map" role="img" font-family="sans-serif"'
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" {box} font-size="{LETTERS}">']
    parts.append(f"<title>{escape(title)}</title>")
    parts.append(f'<rect x="1" y="1" width="{SIZE - 2}" height="{SIZE - 2}" fill="white" stroke="black"/>')
    parts.extend(_outline(area, frame))
    parts.extend(_marks(marks, frame))
    parts.extend(_north_and_bar(frame))
    return "".join([*parts, "</svg>"])


class _Frame:
    """A square about the marks: degrees to units of the drawing."""

    def __init__(self, marks: Sequence[Mark]) -> None:
        lats, lons = [m.lat for m in marks], _near([m.lon for m in marks])
        self._lat, self._lon = (min(lats) + max(lats)) / 2, (min(lons) + max(lons)) / 2
        self._shrink = max(cos(radians(self._lat)), 1e-6)
        wide = (max(lons) - min(lons)) * self._shrink * METRES_A_DEGREE
        high = (max(lats) - min(lats)) * METRES_A_DEGREE
        self.metres = max(wide, high, LEAST_M) * SIZE / (SIZE - 2 * EDGE)

    def at(self, lat: float, lon: float) -> tuple[float, float]:
        """(x, y) of a place, y down."""
        scale = SIZE / self.metres
        turned = (lon - self._lon + 180) % 360 - 180
        x = SIZE / 2 + turned * self._shrink * METRES_A_DEGREE * scale
        y = SIZE / 2 - (lat - self._lat) * METRES_A_DEGREE * scale
        return round(x, 1), round(y, 1)


def _near(lons: list[float]) -> list[float]:
    """The longitudes with no jump at the 180th meridian between them."""
    return [lon + 360 if lons[0] - lon > 180 else lon - 360 if lon - lons[0] > 180 else lon for lon in lons]


def _outline(area: Area | None, frame: _Frame) -> Iterable[str]:
    for polygon in area.polygons if area is not None else ():
        for ring in polygon:
            places = [frame.at(lat, lon) for lon, lat in ring]
            if not any(_is_seen(one, other) for one, other in pairwise(places)):
                continue
            points = " ".join(f"{x},{y}" for x, y in places)
            yield f'<polyline points="{points}" fill="none" stroke="black" stroke-dasharray="8 5"/>'


def _is_seen(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether the straight line between two points crosses the drawing."""
    (x, y), (to_x, to_y) = one, other
    if max(x, to_x) < 0 or min(x, to_x) > SIZE or max(y, to_y) < 0 or min(y, to_y) > SIZE:
        return False
    corners = ((0, 0), (0, SIZE), (SIZE, 0), (SIZE, SIZE))
    sides = [(to_x - x) * (at_y - y) - (to_y - y) * (at_x - x) for at_x, at_y in corners]
    return min(sides) <= 0 <= max(sides)


def _marks(marks: Sequence[Mark], frame: _Frame) -> Iterable[str]:
    written = _Written()
    for mark in marks:
        x, y = frame.at(mark.lat, mark.lon)
        yield f'<circle cx="{x}" cy="{y}" r="7" fill="white" stroke="black" stroke-width="2"/>'
        left = x > SIZE * 0.8
        at_x = x - 12 if left else x + 12
        at_y = written.beside(at_x, y + 7)
        if at_y is not None:
            anchor = "end" if left else "start"
            yield f'<text x="{at_x}" y="{round(at_y, 1)}" text-anchor="{anchor}">{escape(mark.label)}</text>'


class _Written:
    """Where labels stand, by rows of their height, so that each is held against its neighbours alone."""

    def __init__(self) -> None:
        self._rows: dict[int, list[tuple[float, float]]] = {}

    def beside(self, x: float, y: float) -> float | None:
        """The nearest height, here or below or above, where a label has room in the drawing, None without."""
        most = SIZE // APART
        heights = (y + step * APART for away in range(most) for step in ((away, -away) if away else (0,)))
        free = (one for one in heights if LETTERS <= one <= SIZE and self._is_free(x, one))
        found = next(free, None)
        if found is not None:
            self._rows.setdefault(int(found // APART), []).append((x, found))
        return found

    def _is_free(self, x: float, y: float) -> bool:
        row = int(y // APART)
        near = (place for one in (row - 1, row, row + 1) for place in self._rows.get(one, ()))
        return not any(abs(x - other_x) < 100 and abs(y - other_y) < APART for other_x, other_y in near)


def _north_and_bar(frame: _Frame) -> Iterable[str]:
    x = SIZE - 24
    yield f'<path d="M{x} 44V14l-6 12M{x} 14l6 12" fill="none" stroke="black" stroke-width="2"/>'
    yield f'<text x="{x}" y="64" text-anchor="middle" font-weight="bold">N</text>'
    metres = bar_metres(frame.metres)
    width = round(SIZE * metres / frame.metres, 1)
    y = SIZE - 18
    yield f'<path d="M16 {y - 6}v6h{width}v-6" fill="none" stroke="black" stroke-width="2"/>'
    told = f"{metres / 1000:g} km" if metres >= 1000 else f"{metres:g} m"
    yield f'<text x="{16 + width + 6}" y="{y}">{told}</text>'


def bar_metres(across: float) -> float:
    """The longest round length in metres (1, 2 or 5 times a power of ten), at most a third of the drawing."""
    most = across / 3
    power = 10.0 ** int(log10(most))
    return max(step * power for step in STEPS if step * power <= most)
