"""The supervisor's day as values: what needs them first, every count beside the list that it counts.

An exercise stands in its own list at the end and in no other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from ..model.alert import Alert
from ..model.case import Case
from ..model.cold import Corrected
from ..model.people import Unit
from ..model.sample import Sample
from ..model.times import iso_utc
from .listing import status

WEIGHTY = ("number", "seal", "time", "position", "reading")  # a correction of one of these is named
STORED, SENT = ("stored",), ("sent", "at_laboratory")
GONE = ("struck", "disposed")


@dataclass(frozen=True)
class CaseDay:
    """An open case: its jars, and what its plan still wants, each in a few words; None without a plan."""

    case: Case
    jars: tuple[Sample, ...]
    gaps: tuple[str, ...] | None = None


@dataclass(frozen=True)
class CoolerDay:
    """A cooler with evidence in it. Celsius; instants in us UTC. `runs`: excursions of the day, as listed."""

    name: str
    celsius: float | None = None
    read_us: int | None = None
    band: str | None = None
    next_due_us: int | None = None
    p10_us: int | None = None
    p50_us: int | None = None
    runs: tuple[dict[str, Any], ...] = ()
    readings: tuple[tuple[int, float], ...] = ()
    corrected: tuple[Corrected, ...] = ()


@dataclass(frozen=True)
class Day:
    """Everything that a digest is made of. `since_us` begins the day; `heard`: when each last wrote."""

    date: str
    to: str
    now_us: int
    since_us: int
    unit: Unit
    cases: tuple[CaseDay, ...]
    alerts: tuple[Alert, ...]
    coolers: tuple[CoolerDay, ...] = ()
    heard: dict[str, int] = field(default_factory=dict)
    kits: tuple[dict[str, Any], ...] = ()
    words: str | None = None
    words_day: str | None = None
    due_tomorrow: tuple[dict[str, Any], ...] = ()
    lacking: dict[str, tuple[str, ...]] = field(default_factory=dict)


def digest(day: Day) -> dict[str, Any]:
    """The digest as programs read it, its text apart (`digest_text`)."""
    real = [one for one in day.cases if not one.case.exercise]
    drills = [one for one in day.cases if one.case.exercise]
    alerts = [alert for alert in day.alerts if not alert.exercise]
    return {
        "date": day.date,
        "to": day.to,
        "unit": day.unit.name,
        "at": iso_utc(day.now_us),
        "needs_you": [_need(a, day) for a in alerts if a.level != "digest" and _concerns(a, day)],
        "others_have": [_need(a, day) for a in alerts if a.level != "digest" and not _concerns(a, day)],
        "people": _people(day),
        "at_risk": _at_risk(day, real, alerts),
        "cases": [_tally(one, day) for one in real],
        "with": _with(real),
        "coolers": [_cooler(one) for one in day.coolers],
        "corrections": _corrections(real, day),
        "missing": _missing(real, day),
        "kits": [_kit(kit) for kit in day.kits if not kit.get("training")],
        "tomorrow": list(day.due_tomorrow),
        "promises": [
            {"case": one.case.name, "to": made.to, "words": made.words, "by": made.by}
            for one in real
            for made in one.case.plan.promises
        ],
        "words": day.words,
        "words_day": day.words_day,
        "exercises": [_tally(one, day) for one in drills],
        "places": [
            {"case": one.case.name, "sample": jar.number, "lat": jar.place[0], "lon": jar.place[1]}
            for one in real
            for jar in one.jars
            if jar.place is not None and status(jar) not in GONE
        ],
    }


def _concerns(alert: Alert, day: Day) -> bool:
    """What another owns does not need them."""
    return not alert.is_taken or alert.owner == day.to


def _need(alert: Alert, day: Day) -> dict[str, Any]:
    """Of a cooler, `by_when` is when it is to be read again."""
    next_us = next((c.next_due_us for c in day.coolers if alert.subject == f"cooler {c.name}"), None)
    return {
        "what": alert.kind,
        "subject": alert.subject,
        "samples": list(alert.numbers),
        "owner": alert.owner if alert.is_taken else None,
        "by_when": _iso(next_us),
        "since": iso_utc(alert.raised_us),
        "alert": alert.id,
        "text": alert.text,
    }


def _people(day: Day) -> list[dict[str, Any]]:
    found = []
    for name, now in sorted(day.unit.whereabouts.items()):
        if now.is_out:
            late = now.till_us is not None and now.till_us <= day.now_us
            state = "overdue" if late else "out"
            found.append({"name": name, "state": state, "till": now.till, "back": None, "afloat": now.afloat})
        elif now.back_us is not None and now.back_us >= day.since_us:
            back = iso_utc(now.back_us)
            found.append({"name": name, "state": "back", "till": now.till, "back": back, "afloat": False})
    for one in found:
        heard_us = day.heard.get(str(one["name"]))
        one["heard"] = iso_utc(heard_us) if heard_us else None
    return found


def _at_risk(day: Day, cases: list[CaseDay], alerts: list[Alert]) -> list[dict[str, Any]]:
    """Evidence at risk: seals, hand-overs that wait, excursions, jars in no cooler."""
    found: list[dict[str, Any]] = []
    for one in cases:
        standing = [jar for jar in one.jars if status(jar) not in GONE]
        marked = [jar for jar in standing if jar.custody is not None and jar.custody.marks]
        for jar in marked:
            sorts = sorted({mark.sort for mark in (jar.custody.marks if jar.custody else ())})
            found.append(_risk("seal", one, [jar], how=" ".join(sorts)))
        for offer in dict.fromkeys(jar.offer.id for jar in standing if jar.offer is not None):
            waiting = [jar for jar in standing if jar.offer is not None and jar.offer.id == offer]
            found.append(
                _risk("custody_pending", one, waiting, how=waiting[0].offer.to if waiting[0].offer else "")
            )
        twice = [jar for jar in standing if jar.number_open]
        if twice:
            found.append(_risk("number_query", one, twice))
        warm = [j for j in standing if "cooler" not in j.facts and status(j) in ("declared", "sealed")]
        if warm:
            found.append(_risk("not_in_cold", one, warm))
    for cooler in day.coolers:
        found.extend({"what": "excursion", "case": None, "cooler": cooler.name, **run} for run in cooler.runs)
    listed = [alert for alert in alerts if alert.level == "digest" and alert.kind != "not_in_cold"]
    for alert in listed:
        numbers, how = list(alert.numbers), alert.subject
        found.append({"what": alert.kind, "case": None, "samples": numbers, "how": how, "alert": alert.id})
    return found


def _risk(what: str, of: CaseDay, jars: Iterable[Sample], how: str = "") -> dict[str, Any]:
    return {"what": what, "case": of.case.name, "samples": [jar.number for jar in jars], "how": how}


def _tally(one: CaseDay, day: Day) -> dict[str, Any]:
    """Counts with the numbers that they count; a struck jar counts in no other."""
    of = {jar.id: status(jar) for jar in one.jars}
    lists = {
        "taken": [jar.number for jar in one.jars if of[jar.id] != "struck"],
        "taken_today": [j.number for j in one.jars if of[j.id] != "struck" and j.received_us >= day.since_us],
        "stored": [jar.number for jar in one.jars if of[jar.id] in STORED],
        "sent": [jar.number for jar in one.jars if of[jar.id] in SENT],
        "struck": [jar.number for jar in one.jars if of[jar.id] == "struck"],
    }
    counts = {name: len(numbers) for name, numbers in lists.items()}
    gaps = None if one.gaps is None else list(one.gaps)
    return {"case": one.case.name, **counts, "plan_gaps": gaps, "numbers": lists}


def _with(cases: list[CaseDay]) -> list[dict[str, Any]]:
    """Who holds what, where: as the hand-overs on record left it, not as it was told at first."""
    groups: dict[tuple[str, str, str, str], list[str]] = {}
    for one in cases:
        for jar in one.jars:
            if status(jar) not in GONE:
                place = jar.custody.place if jar.custody is not None and jar.custody.place else ""
                cooler = "" if place else jar.text("cooler") or ""
                groups.setdefault((one.case.name, jar.holder, place, cooler), []).append(jar.number)
    return [
        {"case": case, "with": holder, "place": place or None, "cooler": cooler or None, "samples": numbers}
        for (case, holder, place, cooler), numbers in sorted(groups.items())
    ]


def _cooler(one: CoolerDay) -> dict[str, Any]:
    return {
        "name": one.name,
        "celsius": one.celsius,
        "at": _iso(one.read_us),
        "band": one.band,
        "next_reading": _iso(one.next_due_us),
        "p10": _iso(one.p10_us),
        "p50": _iso(one.p50_us),
        "readings": [{"at": iso_utc(at_us), "celsius": celsius} for at_us, celsius in one.readings],
    }


def _iso(us: int | None) -> str | None:
    return None if us is None else iso_utc(us)


def _corrections(cases: list[CaseDay], day: Day) -> dict[str, Any]:
    """Of jars, and of coolers' readings but for those that were corrected with a jar's."""
    of_jars = [c for one in cases for jar in one.jars for c in jar.corrections]
    with_jars = {(c.received_us, c.by) for c in of_jars if c.field in ("cooler", "cooler_celsius")}
    made: list[dict[str, Any]] = [
        {
            "case": one.case.name,
            "sample": jar.number,
            "field": c.field,
            "old": c.old,
            "new": c.new,
            "by": c.by,
        }
        for one in cases
        for jar in one.jars
        for c in jar.corrections
        if c.received_us >= day.since_us and c.sort != "late_addition"
    ]
    made += [
        {
            "case": None,
            "sample": f"cooler {one.name}",
            "field": "reading",
            "old": c.old,
            "new": c.new,
            "by": c.by,
        }
        for one in day.coolers
        for c in one.corrected
        if c.received_us >= day.since_us and not c.beside and (c.received_us, c.by) not in with_jars
    ]
    return {"count": len(made), "listed": [one for one in made if one["field"] in WEIGHTY], "all": made}


def _missing(cases: list[CaseDay], day: Day) -> list[dict[str, Any]]:
    """Photos declared and not received, then the fields that a transfer wants, each with its jars."""
    found: list[dict[str, Any]] = []
    for one in cases:
        standing = [jar for jar in one.jars if status(jar) not in GONE]
        waiting = [jar.number for jar in standing if any(photo.sha256 is None for photo in jar.photos)]
        if waiting:
            found.append({"what": "photo_waiting", "case": one.case.name, "samples": waiting})
        lacks: dict[str, list[str]] = {}
        for jar in standing:
            for name in day.lacking.get(jar.id, ()):
                lacks.setdefault(name, []).append(jar.number)
        found.extend({"what": name, "case": one.case.name, "samples": jars} for name, jars in lacks.items())
    return found


def _kit(kit: dict[str, Any]) -> dict[str, Any]:
    return {
        name: kit[name] for name in ("name", "ready_for_jars", "shortfalls", "numbers_left") if name in kit
    }
