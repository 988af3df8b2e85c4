"""Which things call for a person, how loudly, who is told, when again and who next.

The levels and the ladder are common practice, no source; that an alarm without a defined answer should
be none is from a page on human factors by a former regulator. Ladder, minutes and quiet hours are settings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import TypeAlias
from zoneinfo import ZoneInfo

from ..model.alert import Alert
from ..model.entries import WatchSet
from ..model.people import Unit
from ..model.times import HOUR_US, MINUTE_US, us_of, utc
from .civil_time import instant_of
from .limits import Limits
from .roles import Action, may

# A kind of alert is added here, with its level: critical breaks the night, a push waits for the day,
# digest is never pushed. Its wording is `alert.<kind>`.
LEVELS = {
    "sos": "critical",
    "entry_stop": "critical",
    "person_overdue": "critical",
    "cooler_warm": "critical",
    "cooler_freezing": "critical",
    "cold_window": "critical",
    "seal_broken": "critical",
    "stranger_in_case": "critical",
    "record_altered": "critical",
    "custody_pending": "push",
    "seal_mismatch": "push",
    "reading_overdue": "push",
    "refusal": "push",
    "team_silent": "push",
    "plan_gap": "push",
    "number_query": "digest",
    "custody_gap": "digest",
    "not_in_cold": "digest",
    "send_by": "push",
    "holding_time": "push",
    "kit_short": "digest",
}
QUIET = ("22:00", "06:00")
LADDER_ROLES = (("supervisor",), ("deputy",), ("duty_office",))
DIGEST_AT = "18:00"

Rungs: TypeAlias = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Step:
    """Who is told next, when, at which level; `climbs` where it is a rung of the ladder."""

    at_us: int
    people: tuple[str, ...]
    level: str
    climbs: bool


def rungs(unit: Unit) -> Rungs:
    """Who stands on each rung: the names of the setting one by one, else the roles; nobody out of reach."""
    named = [(name,) for name in unit.watch.ladder if is_reachable(unit, name)]
    if named:
        return tuple(named)
    by_role = (tuple(person.name for person in unit.reachable(*roles)) for roles in LADDER_ROLES)
    return tuple(rung for rung in by_role if rung)


def is_reachable(unit: Unit, name: str) -> bool:
    """True for somebody in service who has an address."""
    person = unit.people.get(name)
    return person is not None and person.active and bool(person.addresses)


def may_take(unit: Unit, alert: Alert, name: str) -> bool:
    """True for everybody whom it was told to or would be: an acknowledgement by another owns nothing."""
    person = unit.people.get(name)
    known = {one for rung in rungs(unit) for one in rung} | {push.to for push in alert.pushes}
    return name in known or (person is not None and may(person, Action.HEAR_ALERTS))


def next_step(alert: Alert, unit: Unit, limits: Limits, steps: Rungs | None = None) -> Step | None:
    """Who is told next of an open alert, None where nobody ever is. `steps`: the unit's rungs, where known.

    First rung, after `ladder_minutes` the first again with the second, then the third and so on to the last.
    Taken, it returns to its owner alone an hour after the last text about it.
    """
    if not alert.is_open or alert.level == "digest":
        return None
    if alert.is_taken and alert.owner is not None:
        hour_later = alert.told_us + round(limits.alert_returns_minutes * MINUTE_US)
        return _in_the_day(Step(hour_later, (alert.owner,), "reminder", False), alert, unit)
    steps = rungs(unit) if steps is None else steps
    if not steps or alert.rungs >= max(len(steps), 2):
        return None
    at_us = alert.ladder_us if alert.rungs == 0 else alert.told_us + unit.watch.ladder_minutes * MINUTE_US
    return _in_the_day(Step(at_us, _on_rung(steps, alert.rungs), alert.level, True), alert, unit)


def _on_rung(steps: Sequence[tuple[str, ...]], rung: int) -> tuple[str, ...]:
    """The second rung hears together with the first, which is told again."""
    here = steps[rung] if rung < len(steps) else ()
    return tuple(dict.fromkeys((*steps[0], *here))) if rung == 1 else here


def _in_the_day(step: Step, alert: Alert, unit: Unit) -> Step:
    """What does not break the night waits for its end."""
    if alert.level == "critical":
        return step
    return replace(step, at_us=after_quiet(step.at_us, unit.watch, ZoneInfo(unit.zone)))


def quiet_hours(watch: WatchSet) -> tuple[time, time]:
    """From when to when nobody is woken for less than a critical alert, by the clock on the wall."""
    start, end = watch.quiet or QUIET
    return time.fromisoformat(start), time.fromisoformat(end)


def is_quiet(at_us: int, watch: WatchSet, zone: ZoneInfo) -> bool:
    """True within the quiet hours; the same hour for both ends means none."""
    start, end = quiet_hours(watch)
    now = utc(at_us).astimezone(zone).time()
    return start <= now < end if start <= end else now >= start or now < end


def after_quiet(at_us: int, watch: WatchSet, zone: ZoneInfo) -> int:
    """This instant, or the end of the quiet hours that it lies in."""
    if not is_quiet(at_us, watch, zone):
        return at_us
    _, end = quiet_hours(watch)
    day = utc(at_us).astimezone(zone).date()
    ends = (us_of(instant_of(datetime.combine(day + timedelta(days=more), end), zone)) for more in (0, 1, 2))
    return next(us for us in ends if us > at_us)


def digest_times(unit: Unit) -> dict[str, str]:
    """Who gets the digest at which time of their own clock: as set, else each supervisor at day's end."""
    told = dict(unit.watch.digest) or {person.name: DIGEST_AT for person in unit.reachable("supervisor")}
    return {name: at for name, at in sorted(told.items()) if is_reachable(unit, name)}


def budget_frees_us(pushed_us: Sequence[int], now_us: int, limits: Limits) -> int | None:
    """When a further push of an incident may go, None where it may at once. `pushed_us`: earlier ones."""
    lately = sorted(us for us in pushed_us if now_us - us < HOUR_US)
    most = int(limits.pushes_an_hour)
    return None if len(lately) < most else lately[-most] + HOUR_US
