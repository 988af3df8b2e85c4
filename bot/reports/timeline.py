"""Custody as a drawing: with whom each jar was, gaps drawn as gaps. Black on white, SVG 1.1."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import tzinfo
from html import escape
from typing import Any

from ..model.times import DAY_US, HOUR_US, MINUTE_US, us_of_iso
from ..rules.civil_time import local

WIDTH, LEFT, ROW, TOP = 1000, 84, 30, 30
STEPS_US = (
    *(n * MINUTE_US for n in (1, 5, 15, 30)),
    *(n * HOUR_US for n in (1, 2, 6, 12)),
    *(n * DAY_US for n in (1, 7, 28, 91, 365, 3650)),
)
MOST_TICKS = 8
LETTER = 6.4  # units of width that a letter of the drawing takes at most
SIGNS = {"cold": "C", "correction": "&#10005;", "photo": "P", "query": "?"}


@dataclass(frozen=True)
class Span:
    """From one instant to another (us UTC, None: still so): with whom, or no one (`gap`)."""

    from_us: int
    to_us: int | None
    label: str
    gap: bool = False


@dataclass(frozen=True)
class Row:
    """One jar: its spans in order, and marks as (instant, sort of SIGNS)."""

    name: str
    spans: tuple[Span, ...]
    marks: tuple[tuple[int, str], ...] = ()


def spans_of(lines: Iterable[Mapping[str, Any]]) -> tuple[Span, ...]:
    """The spans of one jar from its lines of `show custody`, in order."""
    links = [line for line in lines if line.get("closed_at") is not None]
    held = [(us_of_iso(line["closed_at"]), _whom(line)) for line in links]
    ends = [*(at for at, _ in held[1:]), None]
    spans = [Span(at, end, whom) for (at, whom), end in zip(held, ends, strict=False)]
    for line in lines:
        if "gap" in line:
            from_us, ends = us_of_iso(line["gap"][0]), line["gap"][1]
            spans = _with_gap(spans, from_us, us_of_iso(ends) if ends else None, _why(line))
    return tuple(spans)


def _whom(line: Mapping[str, Any]) -> str:
    return f"{line['to']}, {line['place']}" if line.get("place") else str(line["to"])


def _why(line: Mapping[str, Any]) -> str:
    return f"GAP: {line['why']}{', explained' if line.get('explained') else ''}"


def _with_gap(spans: list[Span], from_us: int, to_us: int | None, why: str) -> list[Span]:
    """The spans with this stretch cut out of whatever lay there; None: the gap is still open."""
    kept = []
    for span in spans:
        end = span.to_us
        beyond = to_us is not None and span.from_us >= to_us
        if span.gap or beyond or (end is not None and end <= from_us):
            kept.append(span)
            continue
        if span.from_us < from_us:
            kept.append(Span(span.from_us, from_us, span.label))
        if to_us is not None and (end is None or end > to_us):
            kept.append(Span(to_us, end, span.label))
    return sorted([*kept, Span(from_us, to_us, why, gap=True)], key=lambda one: one.from_us)


def draw(rows: Iterable[Row], from_us: int, to_us: int, zone: tzinfo) -> str:
    """The rows as an SVG element; what lies outside the two instants is cut off, and goes on as an arrow."""
    rows = tuple(rows)
    axis = _Axis(from_us, max(to_us, from_us + MINUTE_US))
    height = TOP + ROW * len(rows) + 8
    box = f'viewBox="0 0 {WIDTH} {height}" class="timeline" role="img"'
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" {box} font-family="sans-serif" font-size="11">']
    parts.append("<title>With whom each jar was, as a line of time for each</title>")
    parts.extend(_ticks(axis, zone, height))
    for place, row in enumerate(rows):
        parts.extend(_row(row, axis, TOP + ROW * place))
    return "".join([*parts, "</svg>"])


class _Axis:
    def __init__(self, from_us: int, to_us: int) -> None:
        self.from_us, self.to_us = from_us, to_us

    def x(self, at_us: int) -> float:
        share = (at_us - self.from_us) / (self.to_us - self.from_us)
        return round(LEFT + (WIDTH - LEFT - 12) * min(1.0, max(0.0, share)), 1)


def _ticks(axis: _Axis, zone: tzinfo, height: int) -> Iterable[str]:
    length = axis.to_us - axis.from_us
    step = next((one for one in STEPS_US if length / one <= MOST_TICKS), STEPS_US[-1])
    offset = local(axis.from_us, zone).utcoffset()
    shift = int(offset.total_seconds()) * 1_000_000 if offset is not None else 0
    at = -(-(axis.from_us + shift) // step) * step - shift
    day = None
    while at <= axis.to_us:
        wall = local(at, zone)
        text = f"{wall.day} {wall:%b}" if step >= DAY_US else f"{wall:%H:%M}"
        if step < DAY_US and wall.date() != day:
            text, day = f"{wall.day} {wall:%b} {text}", wall.date()
        x = axis.x(at)
        yield f'<path d="M{x} {TOP - 8}V{height - 4}" stroke="#bbb" stroke-width="1"/>'
        at_edge = x > WIDTH - len(text) * LETTER / 2  # its second half would be cut off
        where = f'x="{WIDTH}" y="14" text-anchor="end"' if at_edge else f'x="{x}" y="14" text-anchor="middle"'
        yield f"<text {where}>{text}</text>"
        at += step


def _row(row: Row, axis: _Axis, y: int) -> Iterable[str]:
    yield f'<text x="4" y="{y + 19}" font-weight="bold" font-size="13">{escape(row.name)}</text>'
    if not row.spans:
        yield f'<text x="{LEFT}" y="{y + 19}" font-style="italic">no custody line on record</text>'
    for place, span in enumerate(one for one in row.spans if one.from_us < axis.to_us):
        x, end = axis.x(span.from_us), axis.x(axis.to_us if span.to_us is None else span.to_us)
        width = round(max(end - x, 1.5), 1)
        if span.gap:
            yield f'<path d="M{x} {y + 4}v20M{x + width} {y + 4}v20" stroke="black" stroke-width="2"/>'
            yield f'<path d="M{x} {y + 14}h{width}" stroke="black" stroke-dasharray="2 4"/>'
        else:
            fill = "#e4e4e4" if place % 2 else "white"
            yield (
                f'<rect x="{x}" y="{y + 4}" width="{width}" height="20" fill="{fill}" '
                'stroke="black" stroke-width="1.2"/>'
            )
            if span.to_us is None:
                yield f'<path d="M{end} {y + 8}l8 6l-8 6z"/>'
        yield _label(span.label, x, width, y, span.gap)
    for at, sort in (mark for mark in row.marks if mark[0] <= axis.to_us):
        yield f'<text x="{axis.x(at)}" y="{y + 29}" text-anchor="middle" font-size="9">{SIGNS[sort]}</text>'


def _label(label: str, x: float, width: float, y: int, gap: bool) -> str:
    """What is in the span, cut to what fits; the list under the drawing has it whole."""
    room = int((width - 6) / LETTER)
    shown = label if len(label) <= room else f"{label[: max(room - 1, 0)]}…" if room > 3 else ""
    back = ' stroke="white" stroke-width="3" paint-order="stroke"' if gap else ""
    said = f"<title>{escape(label)}</title>"
    return f'<text x="{round(x + 4, 1)}" y="{y + 18}"{back}>{said}{escape(shown)}</text>'
