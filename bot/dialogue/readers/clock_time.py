"""What time people state: an instant, a question, or nothing of the sort.

An undated time is the latest such instant not more than five minutes after the sending. Asked is
where that is over twelve hours back, where the sending time is unknown, and where two instants fit.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

from ...model.times import us_of
from ...rules.civil_time import instant_of, instants_of, local
from ..keywords import NOW
from .base import UNREAD, Ask, Unread, squeezed
from .clock_forms import Clock, looks_like_time, minutes_ago, read_clock
from .day_forms import Day

__all__ = ["TimeTold", "looks_like_time", "read_time"]

_MINUTE_US = 60_000_000
_AHEAD_US = 5 * _MINUTE_US
_LONGEST = 48  # characters; no stated time is longer
_YEARS = range(1970, 2200)
_DAY = timedelta(days=1)
_MONTH_AHEAD = timedelta(days=31)


@dataclass(frozen=True, slots=True)
class TimeTold:
    """An event time as stated.

    `offset_derived` where the offset comes from the unit's zone and not from the person; `estimate`
    for "20 min ago"; `dated` where the person stated a day.
    """

    at_us: int
    offset_minutes: int
    raw: str
    offset_derived: bool
    estimate: bool
    dated: bool

    @property
    def iso(self) -> str:
        """ISO 8601 to the second with its offset, "2026-10-12T10:02:00+01:00"."""
        zone = timezone(timedelta(minutes=self.offset_minutes))
        return local(self.at_us, zone).isoformat(timespec="seconds")


@dataclass(frozen=True, slots=True)
class _Said:
    """The words, when they were sent as far as known, and the zone of the unit."""

    raw: str
    sent_us: int
    sending_known: bool
    zone: ZoneInfo
    back_us: int
    fresh_us: int

    @property
    def limit_us(self) -> int:
        return self.sent_us + _AHEAD_US

    def ask(self, what: str, choices: tuple[str, ...] = ()) -> Ask:
        return Ask(f"read.time.{what}", {"raw": self.raw}, choices)

    def told(
        self, at_us: int, offset: int | None = None, *, estimate: bool = False, dated: bool = False
    ) -> TimeTold:
        """The value; without a stated `offset` it is the one that the unit's zone has then."""
        if offset is not None:
            return TimeTold(at_us, offset, self.raw, False, estimate, dated)
        derived = local(at_us, self.zone).utcoffset() or timedelta()
        return TimeTold(at_us, derived // timedelta(minutes=1), self.raw, True, estimate, dated)


def read_time(
    text: str,
    *,
    said_us: int | None,
    received_us: int,
    zone: ZoneInfo,
    back_hours: float = 12,
    fresh_minutes: float = 2,
) -> TimeTold | Ask | Unread:
    """The time that the whole text states. `said_us` is None where the channel told no sending time.

    Asked for its day when over `back_hours` before the sending; NOW counts within `fresh_minutes`.
    Asks, under "read.time.": now_stale which_day twice missing impossible future day_month unclear.
    """
    words = squeezed(text)
    if not 2 <= len(words) <= _LONGEST:
        return UNREAD
    # A phone whose clock is ahead cannot have sent after the receipt.
    sent_us = received_us if said_us is None else min(said_us, received_us)
    back_us, fresh_us = round(back_hours * 60 * _MINUTE_US), round(fresh_minutes * _MINUTE_US)
    said = _Said(text.strip(), sent_us, said_us is not None, zone, back_us, fresh_us)
    if words in NOW:
        return _now(said, received_us)
    clock = read_clock(words, said.raw)
    if isinstance(clock, Clock):
        return _settle(clock, said)
    back = minutes_ago(words) if isinstance(clock, Unread) else UNREAD
    return clock if isinstance(back, Unread) else _ago(said, back)


def _now(said: _Said, received_us: int) -> TimeTold | Ask:
    fresh = said.sending_known and received_us - said.sent_us < said.fresh_us
    return said.told(received_us) if fresh else said.ask("now_stale")


def _ago(said: _Said, minutes: float) -> TimeTold | Ask:
    if not said.sending_known:
        return said.ask("now_stale")
    return said.told(said.sent_us - round(minutes * _MINUTE_US), estimate=True)


def _settle(clock: Clock, said: _Said) -> TimeTold | Ask:
    stated = clock.offset_minutes
    zone: tzinfo = said.zone if stated is None else timezone(timedelta(minutes=stated))
    instants = _undated(clock, said, zone) if clock.day is None else _dated(clock, clock.day, said, zone)
    if isinstance(instants, Ask):
        return instants
    at_us = _one_of(instants, clock.fold, said)
    return at_us if isinstance(at_us, Ask) else said.told(at_us, stated, dated=clock.day is not None)


def _undated(clock: Clock, said: _Said, zone: tzinfo) -> tuple[int, ...] | Ask:
    """The latest instants that show this time and are not past the limit."""
    if not said.sending_known:
        return said.ask("which_day")
    today = local(said.limit_us, zone).date()
    for day in (today, today - _DAY):
        instants = _shown(day, clock, zone)
        if not instants and us_of(instant_of(datetime.combine(day, clock.at), zone)) <= said.limit_us:
            return said.ask("missing")
        due = [us for us in instants if us <= said.limit_us]
        if due:
            return said.ask("which_day") if due[-1] < said.sent_us - said.back_us else instants
    return said.ask("which_day")


def _dated(clock: Clock, day: Day, said: _Said, zone: tzinfo) -> tuple[int, ...] | Ask:
    """The instants that show this time on the stated day, future ones too."""
    if day.month is None and not said.sending_known:
        return said.ask("which_day")
    sent = local(said.sent_us, zone)
    if clock.bare and day.month and day.year is None and abs(int(clock.bare) - sent.year) <= 1:
        return said.ask("unclear")  # "12 Oct 2026" is a day without a time as likely as 20:26
    date = _date(day, sent)
    if date is None:
        return said.ask("impossible")
    return _shown(date, clock, zone) or said.ask("missing")


def _date(day: Day, sent: datetime) -> date | None:
    """The calendar day; None where no calendar has it. Without a year, the latest one up to a month ahead.

    So the 31st of December typed in January was last year's, and tomorrow is asked as a future.
    """
    if day.weekday is not None:
        return sent.date() - (sent.weekday() - day.weekday) % 7 * _DAY
    if day.month is None:
        return sent.date() - day.back * _DAY
    years = (day.year,) if day.year is not None else (sent.year - 1, sent.year, sent.year + 1)
    dates = [
        date(year, day.month, day.day)
        for year in years
        if year in _YEARS and 1 <= day.month <= 12 and 1 <= day.day <= monthrange(year, day.month)[1]
    ]
    if day.year is None:
        dates = [each for each in dates if each <= sent.date() + _MONTH_AHEAD]
    return max(dates, default=None)


def _shown(day: date, clock: Clock, zone: tzinfo) -> tuple[int, ...]:
    return tuple(us_of(instant) for instant in instants_of(datetime.combine(day, clock.at), zone))


def _one_of(instants: tuple[int, ...], fold: int | None, said: _Said) -> int | Ask:
    """The instant that is meant: by the person's word where two fit, never by a guess."""
    if len(instants) == 2 and fold is not None:
        instants = (instants[fold],)
    due = [us for us in instants if us <= said.limit_us]
    if not due:
        return said.ask("future")
    return said.ask("twice", ("old", "new")) if len(due) == 2 else due[0]
