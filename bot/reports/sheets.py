"""What stands on the sheets of the register: lines of plain words and numbers, nothing drawn yet."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any

from ..model.alert import Alert
from ..model.case import Case
from ..model.cold import Life
from ..model.people import Cooler, Unit, Whereabouts
from ..model.sample import Sample
from ..model.times import DAY_US, HOUR_US, MINUTE_US
from ..rules.civil_time import local
from ..rules.cold import band
from ..rules.fields import SampleTable
from ..rules.limits import Limits
from .cold_chart import draw_chart
from .cold_listing import cold_log
from .drawn_map import Mark
from .listing import flags, status
from .record import Look, label, stated, timelines, value_text

LEVELS = ("critical", "push", "digest")
UNSHOWN = "for you to read off the jar"
SEALS = ("Seal", "Seal reason")
HOW_TO_TAKE = re.compile(r" Reply MINE \S+ to take this\.$")  # on a sheet there is a button for it
CALM = ("ok", "cooling")
LOCKS = {True: "locked", False: "not locked", None: "lock not stated"}
NO_FORECAST = {
    "over": "it read over the limit last; read it again",
    "freezing": "it read as freezing last; read it again, by a second thermometer",
    "cooling": "it is cooling down still; read it again in half an hour",
    "no_ice": "no ice is left in it",
    "stale": "nothing was told of it for a day; read it",
    "fridge": "it is a fridge; read it",
    "too_little": "too little is known of it",
    "disagree": "two readings were not as forecast; go by the readings",
}
DRAWN = 60  # readings of a drawing
BANDS = {
    "cooling": "cooling down",
    "ok": "in range",
    "at_risk": "at risk",
    "over": "over the limit",
    "freezing": "freezing",
}


@dataclass(frozen=True)
class Terms:
    """What lines are written with: the unit's table, limits and zone, and the time it is."""

    table: SampleTable
    limits: Limits
    zone: tzinfo
    now_us: int

    def at(self, us: int) -> str:
        """An instant on the unit's clocks: the time, and the day where it is not today's."""
        wall, today = local(us, self.zone), local(self.now_us, self.zone).date()
        if wall.date() == today:
            return f"{wall:%H:%M}"
        year = "" if wall.year == today.year else f" {wall.year}"
        return f"{wall.day} {wall:%b}{year} {wall:%H:%M}"

    def since(self, us: int) -> str:
        """How long ago, in the largest whole unit."""
        gone = max(0, self.now_us - us)
        for size, name in ((DAY_US, "d"), (HOUR_US, "h"), (MINUTE_US, "min")):
            if gone >= size:
                return f"{gone // size} {name}"
        return "now"


def needs(
    alerts: Iterable[Alert], jars: Iterable[Sample], exercises: set[str], terms: Terms
) -> list[dict[str, Any]]:
    """What needs somebody: alerts nobody took, the worst first; jars with an open question; what is taken.

    Real first, exercises last.
    """
    lines = [_alert_line(alert, terms) for alert in alerts]
    lines.extend(
        {
            "handle": None,
            "taken": False,
            "level": "digest",
            "what": f"{jar.case} jar {jar.number}: {query.text}",
            "about": ("jar", jar.id),
            "exercise": jar.case in exercises,
            "owner": jar.declared_by,
            "at": terms.at(query.raised_us),
            "since": terms.since(query.raised_us),
            "raised_us": query.raised_us,
        }
        for jar in jars
        if (query := jar.open_query) is not None
    )
    return sorted(lines, key=_urgency)


def _urgency(line: Mapping[str, Any]) -> tuple[Any, ...]:
    return line["exercise"], line["taken"], LEVELS.index(line["level"]), line["raised_us"]


def _alert_line(alert: Alert, terms: Terms) -> dict[str, Any]:
    words = alert.text or f"{alert.subject}: {alert.kind.replace('_', ' ')}"
    sort, _, name = alert.subject.partition(" ")
    case = alert.cases[0] if len(alert.cases) == 1 else ""
    about = ("cooler", name) if sort == "cooler" and name else ("case", case) if case else None
    return {
        "handle": alert.handle.upper(),
        "taken": alert.is_taken,
        "level": alert.level if alert.level in LEVELS else "digest",
        "what": HOW_TO_TAKE.sub("", words),
        "about": about,
        "exercise": alert.exercise,
        "owner": alert.owner,
        "at": terms.at(alert.raised_us),
        "since": terms.since(alert.raised_us),
        "raised_us": alert.raised_us,
    }


def case_line(case: Case, counts: tuple[int, int]) -> dict[str, Any]:
    """A case in one line: (jars, jars that wait) and who works on it."""
    jars, waiting = counts
    return {
        "name": case.name,
        "exercise": case.exercise,
        "state": case.state,
        "opened": stated(case.opened),
        "people": list(case.people),
        "kits": list(case.kits),
        "jars": jars,
        "waiting": waiting,
    }


def told_lines(case: Case) -> list[tuple[str, str]]:
    """(what, words) of everything that was told as the case was opened."""
    return [(label(name), fact.raw) for name, fact in case.told.items()]


def jar_line(jar: Sample, terms: Terms, *, excursion: bool, blind: bool = False) -> dict[str, Any]:
    """A jar in one line of its case; `excursion`: it carries one; `blind`: without its seal."""
    taken_us = jar.event_us
    return {
        "id": jar.id,
        "number": jar.number,
        "evidence": jar.evidence_number,
        "kind": (jar.text("kind") or "not stated").replace("_", " "),
        "matrix": (jar.text("matrix") or "").replace("_", " "),
        "taken": "not stated" if taken_us is None else terms.at(taken_us),
        "seal": UNSHOWN if blind else _told(jar, "seal"),
        "by": jar.declared_by,
        "with": jar.holder,
        "status": status(jar).replace("_", " "),
        "flags": [
            *(flag.replace("_", " ") for flag in flags(jar, terms.limits)),
            *(["was out of range"] if excursion else []),
        ],
        "struck": jar.struck,
    }


def _told(jar: Sample, field: str) -> str:
    fact = jar.facts.get(field)
    return "not stated" if fact is None else value_text(fact.value, fact.raw)


def without_seal(record: Mapping[str, Any]) -> dict[str, Any]:
    """A jar's record (`record.jar`) for somebody who is to read the seal themselves."""
    rows = [
        {**row, "value": UNSHOWN, "raw": "", "struck": []} if row["label"] in SEALS else row
        for row in record["rows"]
    ]
    return {**record, "rows": rows, "accounts": [], "photos": []}


def custody_sheet(jars: Iterable[Sample], lines: Iterable[Mapping[str, Any]], terms: Terms) -> dict[str, Any]:
    """Custody as drawings (heading, SVG) and as lines in their order."""
    lines = list(lines)
    drawn = timelines(jars, lines, Look(terms.zone, terms.limits, {}), terms.now_us)
    return {"drawn": drawn, "lines": [_custody_line(one, terms.zone) for one in lines]}


def _custody_line(line: Mapping[str, Any], zone: tzinfo) -> dict[str, Any]:
    if "gap" in line:
        from_, to = line["gap"]
        told = line["explained"]
        return {
            "gap": True,
            "jar": line["sample"],
            "at": f"{stated(from_, zone)} to {stated(to, zone) if to else 'now'}",
            "what": line["why"],
            "explained": f"{told['by']}: {told['words']}" if told else None,
        }
    if "reading" in line:
        return _reading_line(line, zone)
    at = line["closed_at"] or line["offered_at"]
    return {
        "gap": False,
        "jar": line["sample"],
        "at": stated(at, zone) if at else "not stated",
        "what": _passed(line),
        "seal": line["seal_read"] or ("none due" if _needs_no_reading(line) else "not read"),
        "state": _state(line),
        "exception": line["exception"],
    }


def _state(line: Mapping[str, Any]) -> str:
    """How a hand-over stands; of what was only taken there is nothing to say."""
    if line["type"] == "collected":
        return ""
    if line["state"] == "stored":
        return LOCKS[line.get("locked")]
    return "offered, not taken yet" if line["state"] == "open" else str(line["state"])


def _needs_no_reading(line: Mapping[str, Any]) -> bool:
    """Nobody gave the jar to anybody: it was taken, or its holder put it in a place."""
    return bool(line["type"] == "collected" or line["state"] == "stored")


def _reading_line(line: Mapping[str, Any], zone: tzinfo) -> dict[str, Any]:
    """What somebody read off a jar outside a hand-over."""
    read = line["reading"]
    return {
        "gap": False,
        "jar": line["sample"],
        "at": stated(read["at"], zone),
        "what": f"read by {read['by']}",
        "seal": read["seal"] or (f"tape {read['tape']}" if read["tape"] else "not read"),
        "state": read["condition"] or "",
        "exception": None,
    }


def _passed(line: Mapping[str, Any]) -> str:
    """From whom to whom and how; a jar that comes from nobody was taken by whom it is with."""
    if line["state"] == "stored":
        return f"stored by {line['to']} in {line['place']}"
    whom = f"{line['from']} to {line['to']}" if line["from"] else f"taken by {line['to']}"
    how = "" if line["type"] == "collected" else line["type"].replace("_", " ")
    return ", ".join(part for part in (whom, how, line.get("place")) if part)


def marks_of(jars: Iterable[Sample]) -> list[Mark]:
    """A mark for each jar that has a place."""
    placed = ((jar, jar.place) for jar in jars if jar.struck is None)
    return [Mark(jar.number, *place) for jar, place in placed if place is not None]


def cooler_line(cooler: Cooler, last: Mapping[str, Any] | None, terms: Terms) -> dict[str, Any]:
    """A cooler in one line: its last reading and where that lies between the limits."""
    line: dict[str, Any] = {"name": cooler.name, "class": cooler.cooler_class, "last": None}
    if last is not None:
        line["last"] = reading_line(last, terms)
    return line


def cooler_sheet(
    life: Life, line: Mapping[str, Any], inside: Iterable[Sample], terms: Terms
) -> dict[str, Any]:
    """A cooler as its sheet shows it, from its line of `show cooler`: the record, and apart the forecast.

    `inside` are the jars in it now.
    """
    lately = life.readings[-DRAWN:]
    limits = (terms.limits.cold_freezing_c, terms.limits.cold_limit_c, terms.limits.cold_over_c)
    chart = ""
    if lately:
        ahead = _ahead(life)
        last_us = max([lately[-1].at_us, *(us for us, _ in ahead)])
        ends = terms.at(lately[0].at_us), terms.at(last_us)
        read = [(r.at_us, r.celsius) for r in lately]
        chart = draw_chart(f"Cooler {life.name}", read, limits, ends, ahead)
    return {
        "cooler": line,
        "chart": chart,
        "inside": [{"id": jar.id, "name": f"{jar.case} {jar.number}"} for jar in inside],
        "readings": [
            {**one, "at": stated(one["at"]), "band": BANDS.get(one["band"]), "out": one["band"] not in CALM}
            for one in reversed(cold_log(line))
        ],
        "accounts": [one for one in line["corrections"] if one["sort"] == "account"],
        "excursions": [
            {**one, "from": stated(one["first_out"]), "to": stated(one["last_out"])}
            for one in line["excursions"]
        ],
        "forecast": _forecast(life, terms),
    }


def _ahead(life: Life) -> list[tuple[int, str]]:
    """The instants of the newest forecast, where it still stands."""
    made = life.forecasts[-1] if life.forecasts else None
    if made is None or made.off is not None or made.made_us < life.readings[-1].at_us:
        return []
    told = ((made.p10_us, "1 in 10"), (made.p50_us, "half"), (made.p90_us, "9 in 10"))
    return [(us, label) for us, label in told if us is not None]


def _forecast(life: Life, terms: Terms) -> dict[str, Any] | None:
    """The newest forecast in times of the unit's clocks, or why there is none."""
    if not life.forecasts:
        return None
    made = life.forecasts[-1]
    p10, p50, p90 = (None if us is None else terms.at(us) for us in (made.p10_us, made.p50_us, made.p90_us))
    off = None if made.off is None else NO_FORECAST.get(made.off, made.off.replace("_", " "))
    return {"made": terms.at(made.made_us), "p10": p10, "p50": p50, "p90": p90, "off": off}


def people(unit: Unit, lines: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Everybody of `show people`, with where they said they are; who is out stands first."""
    told = [{**one, "out": _whereabouts(unit.whereabouts.get(one["name"]))} for one in lines]
    return sorted(told, key=lambda one: not one["out"])


def _whereabouts(now: Whereabouts | None) -> str:
    """Where somebody said they are, an empty text where they are not out."""
    if now is None or not now.is_out:
        return ""
    parts = ("afloat" if now.afloat else "out", now.words, f"till {stated(now.till)}" if now.till else "")
    return ", ".join(part for part in parts if part)


def reading_line(reading: Mapping[str, Any], terms: Terms) -> dict[str, Any]:
    """A reading in one line; the number as it was typed."""
    where = band(reading["celsius"], terms.limits)
    return {
        "at": terms.at(reading["at_us"]),
        "since": terms.since(reading["at_us"]),
        "celsius": reading["celsius"],
        "raw": reading["raw"],
        "by": reading["by"],
        "band": BANDS[where],
        "out": where != "ok",
    }
