"""Times as the watch says them."""

from __future__ import annotations

from collections.abc import Callable
from zoneinfo import ZoneInfo

from ..rules.civil_time import local


def clock_text(at_us: int, now_us: int, zone: ZoneInfo, word: Callable[..., str]) -> str:
    """Like 18:30; with its day where that is not today's, and its offset where the day has two."""
    at, now = local(at_us, zone), local(now_us, zone)
    shown = at.strftime("%H:%M")
    if has_two_offsets(at_us, zone):
        shown += at.strftime("%z")[:3]
    return shown if at.date() == now.date() else f"{day_text(at_us, zone, word)} {shown}"


def day_text(at_us: int, zone: ZoneInfo, word: Callable[..., str]) -> str:
    """Like 12 Oct."""
    at = local(at_us, zone)
    return f"{at.day} {word(f'month.{at.month}')}"


def has_two_offsets(at_us: int, zone: ZoneInfo) -> bool:
    """True where clocks change on that day: its times need their offset."""
    at = local(at_us, zone)
    ends = (at.replace(hour=0, minute=0, fold=0), at.replace(hour=23, minute=59, fold=1))
    return ends[0].utcoffset() != ends[1].utcoffset()
