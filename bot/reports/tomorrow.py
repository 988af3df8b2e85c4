"""What is due on the next day of the calendar: courier, laboratory, orders, kits, suspects that sail."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from ..model.case import Case
from ..model.people import Unit
from ..model.sample import Sample
from ..model.times import iso_utc, us_of_iso
from ..rules.civil_time import local
from ..rules.numbers import ranges
from ..rules.sending import collected_us, hours_on

Word = Callable[..., str]
GONE = ("courier", "laboratory", "disposal")  # transfers after which a jar waits for no courier
_UNTIL = re.compile(
    r"\b(?:until|till|to)\s+(?:the\s+)?(\d{4}-\d\d-\d\d|\d{1,2}\s+[a-z]+(?:\s+\d{4})?)", re.IGNORECASE
)


def tomorrow(
    cases: Iterable[tuple[Case, list[Sample]]],
    kits: Iterable[dict[str, Any]],
    unit: Unit,
    on: date,
    word: Word,
) -> list[dict[str, Any]]:
    """Each thing as {what, case, at}, `what` in words; `on` is today. An exercise is in none of them."""
    zone, day = ZoneInfo(unit.zone), on + timedelta(days=1)
    real = [(case, jars) for case, jars in cases if not case.exercise]
    standing = [jar for _, jars in real for jar in jars if jar.struck is None]
    found = _laboratory(unit, day, word) if any(_waits(jar) for jar in standing) else []
    for case, jars in real:
        found += _orders(case, jars, day, word)
        found += _sailings(case, day, zone, word)
    return found + [_kit(kit, word) for kit in kits if not kit["training"] and _kit_is_due(kit, day, zone)]


def _waits(jar: Sample) -> bool:
    return jar.custody is None or jar.custody.type not in GONE


def _laboratory(unit: Unit, day: date, word: Word) -> list[dict[str, Any]]:
    laboratory, zone = unit.laboratory, ZoneInfo(unit.zone)
    if laboratory is None:
        return []
    found = []
    at_us = collected_us(laboratory, day, zone)
    if at_us is not None:
        shown = word("digest.courier", at=laboratory.courier_cutoff)
        found.append({"what": shown, "case": None, "at": iso_utc(at_us)})
    hours = hours_on(laboratory, day)
    shown = (
        word("digest.laboratory_closed")
        if hours is None
        else word("digest.laboratory", opens=hours[0], closes=hours[1])
    )
    return [*found, {"what": shown, "case": None, "at": None}]


def _orders(case: Case, jars: list[Sample], day: date, word: Word) -> list[dict[str, Any]]:
    """Orders whose own words name the day as their end; the order stands until somebody lifts it."""
    ends = [
        jar.number
        for jar in jars
        if jar.custody is not None and jar.custody.retained and ends_on(jar.custody.retained, day, word)
    ]
    shown = word("digest.retention", numbers=ranges(ends))
    return [{"what": shown, "case": case.name, "at": None}] if ends else []


def ends_on(words: str, day: date, word: Word) -> bool:
    """True where these words say UNTIL and this day: 2026-10-13, 13 Oct or 13 October 2026."""
    for told in _UNTIL.findall(words):
        if "-" in told:
            if told == day.isoformat():
                return True
            continue
        number, month, *year = told.split()
        name = word(f"month.{day.month}").lower()
        if int(number) == day.day and month.lower().startswith(name) and year in ([], [str(day.year)]):
            return True
    return False


def _sailings(case: Case, day: date, zone: ZoneInfo, word: Word) -> list[dict[str, Any]]:
    found = []
    for suspect in case.plan.suspects.values():
        if suspect.sails is not None and suspect.left is None:
            at = local(suspect.sails[1], zone)
            if at.date() == day:
                shown = word("digest.sails", name=suspect.name, at=at.strftime("%H:%M"))
                found.append({"what": shown, "case": case.name, "at": suspect.sails[0]})
    return found


def _kit_is_due(kit: dict[str, Any], day: date, zone: ZoneInfo) -> bool:
    """Of a kit that somebody counted: used since, or its look or count is due by that day."""
    if kit["begun_at"] is None:
        return False
    due = kit["due"]
    days = (local(us_of_iso(at), zone).date() for at in (due["look"], due["count"]) if at is not None)
    return bool(due["after_use"]) or any(one <= day for one in days)


def _kit(kit: dict[str, Any], word: Word) -> dict[str, Any]:
    key = "digest.kit_restock" if kit["due"]["after_use"] else "digest.kit_due"
    return {"what": word(key, kit=kit["name"]), "case": None, "at": kit["due"]["look"]}
