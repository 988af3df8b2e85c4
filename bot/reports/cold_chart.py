"""A cooler's day as a drawing: what its check bottle read, and the limits. SVG 1.1, black on white.

Readings are dots joined by thin lines; a line between two readings is drawn to lead the eye and is no record.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

WIDE, HIGH = 300, 110
APART = 16  # figures nearer than this are not written, so that none covers another
LEFT, RIGHT, TOP, BOTTOM = 28, 8, 18, 18


def draw_chart(
    name: str,
    readings: Sequence[tuple[int, float]],
    limits: Sequence[float],
    ends: tuple[str, str],
    ahead: Sequence[tuple[int, str]] = (),
) -> str:
    """The readings (us UTC, Celsius), oldest first and at least one, as an SVG.

    `ahead` are instants of a forecast, each with its label: upright lines behind the last reading. `ends` are
    the times at both ends as clocks show them.
    """
    low = min(*limits, *(celsius for _, celsius in readings)) - 1
    high = max(*limits, *(celsius for _, celsius in readings)) + 1
    since, until = readings[0][0], max([readings[-1][0], *(us for us, _ in ahead)])

    def at(us: int, celsius: float) -> tuple[float, float]:
        share = (us - since) / (until - since) if until > since else 0.5
        x = LEFT + share * (WIDE - LEFT - RIGHT)
        y = TOP + (high - celsius) / (high - low) * (HIGH - TOP - BOTTOM)
        return round(x, 1), round(y, 1)

    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" role="img" font-size="9">']
    parts.append(f"<title>What {escape(name)} read</title>")
    parts.append(f'<rect width="{WIDE}" height="{HIGH}" fill="white"/>')
    parts.append(f'<text x="{LEFT}" y="11" font-weight="bold">{escape(name)}</text>')
    for limit in limits:
        _, y = at(since, limit)
        parts.append(f'<path d="M{LEFT} {y}H{WIDE - RIGHT}" stroke="black" stroke-dasharray="4 3"/>')
        parts.append(f'<text x="{LEFT - 4}" y="{y + 3}" text-anchor="end">{limit:g}</text>')
    for us, label in ahead:
        x, _ = at(us, low)
        parts.append(f'<path d="M{x} {TOP}V{HIGH - BOTTOM}" stroke="black" stroke-dasharray="1 3"/>')
        told = f'text-anchor="end" font-size="7">{escape(label)}</text>'
        parts.append(f'<text x="{x - 2}" y="{HIGH - BOTTOM - 3}" {told}')
    points = [at(us, celsius) for us, celsius in readings]
    line = " ".join(f"{x},{y}" for x, y in points)
    parts.append(f'<polyline points="{line}" fill="none" stroke="black" stroke-width="0.5"/>')
    parts.extend(_dots(points, [celsius for _, celsius in readings]))
    parts.append(f'<text x="{LEFT}" y="{HIGH - 5}">{escape(ends[0])}</text>')
    if until > since:
        parts.append(f'<text x="{WIDE - RIGHT}" y="{HIGH - 5}" text-anchor="end">{escape(ends[1])}</text>')
    return "".join([*parts, "</svg>"])


def _dots(points: Sequence[tuple[float, float]], read: Sequence[float]) -> Iterator[str]:
    """A dot for each reading, its figure where there is room; the newest has one in any case."""
    written, last = -LEFT * 1.0, points[-1][0]
    for place, ((x, y), celsius) in enumerate(zip(points, read, strict=True), 1):
        yield f'<circle cx="{x}" cy="{y}" r="2"/>'
        newest = place == len(points)
        if not newest and (x - written < APART or last - x < APART):
            continue
        written = x
        over = 'stroke="white" stroke-width="2" paint-order="stroke"'  # a limit behind it does not strike it
        yield f'<text x="{x}" y="{y - 4}" text-anchor="middle" font-size="7" {over}>{celsius:g}</text>'
