"""A supervisor's day, gathered from the store: the digest as values, as text and what is behind it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from storage import days
from storage.database import Tx
from storage.lookups import cold_rows

from ..dialogue.turn import Trade
from ..model.cold import Life, key_of, life_of
from ..model.people import Unit
from ..model.sample import Sample
from ..model.times import MINUTE_US, us_of
from ..reports.digest import CaseDay, CoolerDay, Day, digest
from ..reports.digest_text import digest_text
from ..reports.kit import kit_line
from ..reports.tomorrow import tomorrow
from ..rules.alerts import DIGEST_AT, digest_times
from ..rules.civil_time import instant_of, local
from ..rules.cold import bands, excursions, next_reading_due_us, water_in
from ..rules.plan import Line, matrix_of
from ..watch.cold import is_still_in


async def gather(
    tx: Tx, trade_of: Callable[[Unit], Trade], to: str, at_us: int, *, past: bool = False
) -> dict[str, Any]:
    """The digest for a person at an instant, with its `text` and what is behind it as `more`.

    `past`: everything is folded anew as it stood then; else it is read as it stands.
    """
    now = await (days.as_of(tx, at_us) if past else days.standing(tx))
    trade = trade_of(now.unit)
    trade = trade.spoken(now.unit.language_of(to))
    on = local(at_us, trade.zone).date()
    since_us = _since(now.unit, to, at_us, trade.zone)
    words = await days.words_before(tx, at_us)
    real = [jar for name, jars in now.jars.items() if not now.cases[name].exercise for jar in jars]
    kits = tuple(kit_line(kit, now.unit, trade.par, set()) for _, kit in sorted(now.unit.kits.items()))
    cases = [(case, now.jars[name]) for name, case in sorted(now.cases.items())]
    day = Day(
        date=on.isoformat(),
        to=to,
        now_us=at_us,
        since_us=since_us,
        unit=now.unit,
        cases=tuple(CaseDay(case, tuple(jars), _gaps(trade, case, jars)) for case, jars in cases),
        alerts=tuple(sorted(now.alerts, key=lambda one: (one.level != "critical", one.raised_us, one.id))),
        coolers=tuple(await _coolers(tx, trade, now.unit, real, at_us, since_us)),
        heard=await _heard(tx, now.unit),
        kits=kits,
        words=words[1] if words else None,
        words_day=words[0] if words else None,
        due_tomorrow=tuple(tomorrow(cases, kits, now.unit, on, trade.words.say)),
        lacking={jar.id: tuple(trade.table.missing(jar)) for jar in real},
    )
    found = digest(day)
    text, more = digest_text(found, trade.words.say, trade.zone)
    return {**found, "text": text, "more": more}


def _since(unit: Unit, to: str, at_us: int, zone: ZoneInfo) -> int:
    """When their day began: at the hour of the digest before, so that no hour falls between two."""
    at = time.fromisoformat(digest_times(unit).get(to, DIGEST_AT))
    on = local(at_us, zone).date()
    starts = (us_of(instant_of(datetime.combine(on - timedelta(days=n), at), zone)) for n in (0, 1, 2))
    return next(us for us in starts if us < at_us)


def _gaps(trade: Trade, case: Any, jars: list[Sample]) -> tuple[str, ...]:
    lines = matrix_of(case.plan, jars, trade.plan_table, trade.limits).missing
    return tuple(_gap(trade, line) for line in lines)


def _gap(trade: Trade, line: Line) -> str:
    key = f"choice.kind.{line.what}"
    what = trade.words.say(key) if trade.words.has(key) else line.what
    return f"{line.missing} {what}" if line.missing > 1 else what


async def _heard(tx: Tx, unit: Unit) -> dict[str, int]:
    found = {}
    for name in unit.whereabouts:
        heard_us = await days.heard(tx, unit.people[name].addresses if name in unit.people else ())
        if heard_us is not None:
            found[name] = heard_us
    return found


async def _coolers(
    tx: Tx, trade: Trade, unit: Unit, jars: list[Sample], at_us: int, since_us: int
) -> list[CoolerDay]:
    """Each cooler that holds a jar of a real case, as it was last read."""
    of = {jar.id: jar for jar in jars}
    found = []
    for name in sorted(unit.coolers):
        rows = await cold_rows(tx, key_of(name))
        life = life_of(name, [row for row in rows if int(row[3].get("received_us", 0)) <= at_us])
        held = [of[id_] for id_ in life.during(since_us, at_us) if id_ in of]
        if any(is_still_in(jar, name) for jar in held):
            found.append(_cooler_day(trade, life, of, at_us, since_us))
    return found


def _cooler_day(trade: Trade, life: Life, jars: dict[str, Sample], at_us: int, since_us: int) -> CoolerDay:
    water = water_in(life, jars)
    last = life.readings[-1] if life.readings else None
    runs = [
        {
            "samples": sorted(jars[id_].number for id_ in run.samples if id_ in jars),
            "at_least_minutes": run.at_least_us // MINUTE_US,
            "at_most_minutes": None if run.at_most_us is None else run.at_most_us // MINUTE_US,
            "peak_celsius": run.peak_celsius,
        }
        for run in excursions(life, trade.limits, water)
        if (run.first_good_after_us or at_us) >= since_us
    ]
    made = life.forecasts[-1] if life.forecasts else None
    stands = made is not None and made.off is None and (last is None or made.made_us >= last.at_us)
    return CoolerDay(
        name=life.name,
        celsius=None if last is None else last.celsius,
        read_us=None if last is None else last.at_us,
        band=bands(life, trade.limits, water)[-1] if last is not None else None,
        next_due_us=next_reading_due_us(life, trade.limits),
        p10_us=made.p10_us if made is not None and stands else None,
        p50_us=made.p50_us if made is not None and stands else None,
        runs=tuple(run for run in runs if run["samples"]),
        readings=tuple((one.at_us, one.celsius) for one in life.readings if one.at_us >= since_us),
        corrected=life.corrected,
    )


def instant_of_day(text: str, unit: Unit, to: str, now_us: int) -> tuple[int, bool]:
    """(instant, whether it is past) of a date as typed: the hour of its digest, or now on the day itself."""
    zone = ZoneInfo(unit.zone)
    on = date.fromisoformat(text)
    if on == local(now_us, zone).date():
        return now_us, False
    at = time.fromisoformat(digest_times(unit).get(to, DIGEST_AT))
    return us_of(instant_of(datetime.combine(on, at), zone)), True
