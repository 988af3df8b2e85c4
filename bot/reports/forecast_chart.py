"""A cooler's hours behind and ahead as a drawing for a phone: what was read, and what may come. SVG 1.1.

Readings are dots. Ahead lie the half of the draws as a line, and grey what eight in ten of them stay within.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from html import escape

from ..model.times import DAY_US, HOUR_US, MINUTE_US
from ..rules.civil_time import local

WIDE, HIGH = 320, 250
LEFT, RIGHT, TOP, BOTTOM = 30, 12, 44, 62
LETTER = 0.61  # how wide a letter is, of its height
LETTERS = 14  # 11 pixels where the drawing is 250 wide, as in the log of a phone 360 wide
TICKS = 5
STEPS_H = (1, 2, 3, 4, 6, 8, 12, 24, 48)
HALO = 'stroke="white" stroke-width="4" paint-order="stroke"'  # over a line it crosses
TEN_US = 10 * MINUTE_US
OVER_C = 4.0  # so far over the limit it is drawn; what is warmer lies on the edge

Word = Callable[..., str]
Fan = Sequence[tuple[int, float, float, float]]  # instant, then C: one in ten under, half, over


@dataclass(frozen=True)
class Ahead:
    """A forecast to draw: its hours, the limits in Celsius, when it was made, the mark of an exercise.

    `passes_us`: when one in ten and when half have passed the limit, where they do.
    """

    fan: Fan
    freezing_c: float
    limit_c: float
    made_us: int
    passes_us: tuple[int | None, int | None] = (None, None)
    mark: str = ""


def draw_forecast(
    cooler: str, readings: Iterable[tuple[int, float]], ahead: Ahead, zone: tzinfo, word: Word
) -> str:
    """The readings (us UTC, Celsius) of at most a day before, then the hours ahead, as an SVG."""
    since_us = ahead.made_us - min(DAY_US, ahead.fan[-1][0] - ahead.made_us)
    read = [one for one in readings if since_us <= one[0] <= ahead.made_us]
    plane = _Plane(read, ahead)
    name = " ".join(filter(None, (ahead.mark, word("part.cooler", value=cooler))))
    title = f"{name}, C"
    size = min(LETTERS, round((WIDE - 8) / len(title) / LETTER, 1))
    letters = f'font-family="DejaVu Sans Mono, monospace" font-size="{LETTERS}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" role="img" {letters}>',
        f"<title>{escape(name)}</title>",
        f'<rect width="{WIDE}" height="{HIGH}" fill="white"/>',
        f'<text x="4" y="17" font-weight="bold" font-size="{size}">{escape(title)}</text>',
        *_fan(ahead.fan, plane),
        *_limits((ahead.freezing_c, ahead.limit_c), plane),
        *_now(ahead.made_us, plane, f"{word('chart.now')} {local(ahead.made_us, zone):%H:%M}"),
        *_passes(ahead, plane, zone),
        *_ticks(plane, zone, word),
        *(f'<circle cx="{x}" cy="{y}" r="4"/>' for x, y in (plane.at(*one) for one in read)),
        *_legend(word, bool(read)),
    ]
    return "".join([*parts, "</svg>"])


class _Plane:
    """Instants and degrees as units of the drawing."""

    def __init__(self, read: Sequence[tuple[int, float]], ahead: Ahead) -> None:
        known = [celsius for _, celsius in read] + [low for _, low, _, _ in ahead.fan]
        highs = [celsius for _, celsius in read] + [high for *_, high in ahead.fan]
        self._low = min(ahead.freezing_c, *known) - 0.5
        self._high = min(max(ahead.limit_c, *highs) + 0.5, ahead.limit_c + OVER_C)
        self.since_us = min([us for us, _ in read], default=ahead.made_us)
        self.until_us = ahead.fan[-1][0]

    def at(self, us: int, celsius: float) -> tuple[float, float]:
        """(x, y), y down; what is warmer than the drawing lies on its edge."""
        shown = min(max(celsius, self._low), self._high)
        high = (self._high - shown) / (self._high - self._low)
        return self.x(us), round(TOP + high * (HIGH - TOP - BOTTOM), 1)

    def x(self, us: int) -> float:
        """How far right an instant lies."""
        share = (us - self.since_us) / max(self.until_us - self.since_us, 1)
        return round(LEFT + share * (WIDE - LEFT - RIGHT), 1)


def _fan(fan: Fan, plane: _Plane) -> Iterator[str]:
    over = [plane.at(us, high) for us, _, _, high in fan]
    under = [plane.at(us, low) for us, low, _, _ in reversed(fan)]
    half = [plane.at(us, celsius) for us, _, celsius, _ in fan]
    yield f'<polygon points="{_points([*over, *under])}" fill="#bbb"/>'
    yield f'<polyline points="{_points(half)}" fill="none" stroke="black" stroke-width="3"/>'


def _points(places: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x},{y}" for x, y in places)


def _limits(limits: Iterable[float], plane: _Plane) -> Iterator[str]:
    for celsius in limits:
        _, y = plane.at(plane.since_us, celsius)
        yield f'<path d="M{LEFT} {y}H{WIDE - RIGHT}" stroke="black" stroke-dasharray="6 4"/>'
        yield f'<text x="{LEFT - 6}" y="{y + 5}" text-anchor="end">{celsius:g}</text>'


def _now(us: int, plane: _Plane, told: str) -> Iterator[str]:
    x = plane.x(us)
    yield f'<path d="M{x} {TOP - 6}V{HIGH - BOTTOM}" stroke="black"/>'
    left, anchor = (x - 2, "start") if x < WIDE / 2 else (x + 2, "end")
    yield f'<text x="{left}" y="{TOP - 9}" text-anchor="{anchor}">{escape(told)}</text>'


def _passes(ahead: Ahead, plane: _Plane, zone: tzinfo) -> Iterator[str]:
    """By the limit's line: till when one in ten is sure to hold, and the half; to ten minutes, downwards."""
    for us, down in zip(ahead.passes_us, (-4, LETTERS + 1), strict=True):
        if us is not None and us <= plane.until_us:
            x, y = plane.at(us, ahead.limit_c)
            right, anchor = (-3, "end") if down < 0 and x > LEFT + 5 * LETTERS * LETTER else (3, "start")
            told = f"{local(us // TEN_US * TEN_US, zone):%H:%M}"
            yield f'<path d="M{x} {y - 5}v10" stroke="black" stroke-width="2"/>'
            yield f'<text x="{x + right}" y="{y + down}" text-anchor="{anchor}" {HALO}>{told}</text>'


def _ticks(plane: _Plane, zone: tzinfo, word: Word) -> Iterator[str]:
    """Round hours of the unit's clocks, the day beneath the first one and where it is another."""
    y, day = HIGH - BOTTOM, 0
    yield f'<path d="M{LEFT} {y}H{WIDE - RIGHT}" stroke="black"/>'
    for us in _round_hours(plane, zone):
        at, x = local(us, zone), plane.x(us)
        yield f'<path d="M{x} {y}v5" stroke="black"/>'
        yield f'<text x="{x}" y="{y + 18}" text-anchor="middle">{at:%H}</text>'
        if at.day != day:
            day = at.day
            told = f"{day} {word(f'month.{at.month}')}"
            half = round(len(told) * LETTERS * LETTER / 2, 1)
            x = min(max(x, half), WIDE - half)
            yield f'<text x="{x}" y="{y + 34}" text-anchor="middle">{escape(told)}</text>'


def _round_hours(plane: _Plane, zone: tzinfo) -> list[int]:
    """At most a few instants at which those clocks show a full hour; offsets are whole quarters of one."""
    quarter = 15 * MINUTE_US
    first = -(-plane.since_us // quarter) * quarter
    step = next((h for h in STEPS_H if (plane.until_us - plane.since_us) / HOUR_US / h <= TICKS), STEPS_H[-1])
    shown = ((us, local(us, zone)) for us in range(first, plane.until_us + 1, quarter))
    return [us for us, at in shown if at.minute == 0 and (at.hour + at.toordinal() % 2 * 24) % step == 0]


def _legend(word: Word, is_read: bool) -> Iterator[str]:
    y = HIGH - 8
    if is_read:
        yield f'<circle cx="10" cy="{y - 5}" r="4"/><text x="20" y="{y}">{escape(word("chart.read"))}</text>'
    yield f'<path d="M96 {y - 5}h16" stroke="black" stroke-width="3"/>'
    yield f'<text x="118" y="{y}">{escape(word("chart.half"))}</text>'
    yield f'<rect x="204" y="{y - 11}" width="16" height="12" fill="#bbb"/>'
    yield f'<text x="226" y="{y}">{escape(word("chart.span"))}</text>'
