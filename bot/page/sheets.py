"""The sheets of the register, one function each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from urllib.parse import quote

from storage import alerts, reading, register
from storage.lookups import cold_rows

from ..model.alert import Alert
from ..model.case import Case
from ..model.cold import key_of, life_of
from ..model.sample import Sample
from ..ports import Sheet, Shut
from ..reports import sheets as drawn
from ..reports.cold_listing import cooler_line as cold_line
from ..reports.custody import custody_listing
from ..reports.drawn_map import draw_map
from ..reports.kit import kit_line
from ..reports.listing import people_lines
from ..reports.plan import plan_line
from ..reports.record import Look
from ..reports.record import jar as jar_record
from ..rules.custody import custody_lines
from ..rules.plan import matrix_of
from ..rules.roles import Action, may
from ..watch.cold import is_still_in
from .base import Find, Reader
from .cold import carried_by

CLOSED = 100  # closed cases on the sheet of cases
NO_JAR = Shut(404, "There is no such jar on record. The register is at /register.")


async def _front(reader: Reader, of: str) -> Sheet | Shut:
    """What needs somebody, problems first; then where everything stands."""
    open_cases = await _cases(reader, "open")
    exercises = {case.name for case in open_cases if case.exercise}
    seen = {case.name for case in open_cases}
    jars = [jar for jar in await register.waiting_jars(reader.tx) if jar.case in seen]
    needs = drawn.needs(await _alerts(reader, seen), jars, exercises, reader.terms)
    values = {
        "needs": needs,
        "reader": reader.person.name,
        "hears": may(reader.person, Action.HEAR_ALERTS),
        "takes": may(reader.person, Action.TAKE_ALERTS),
        "cases": await _case_lines(reader, open_cases),
        "coolers": await _cooler_lines(reader),
    }
    return Sheet("front.html", "Register", values, live=True)


async def _alerts(reader: Reader, cases: set[str]) -> list[Alert]:
    """Open alerts that this person may see: all of them, or those of their own cases."""
    found = await alerts.under(reader.tx, ("alerts_open",))
    if may(reader.person, Action.SEE_ALL_CASES):
        return found
    return [alert for alert in found if cases.intersection(alert.cases)]


async def _cases(reader: Reader, state: str) -> list[Case]:
    found = await register.cases(reader.tx, state, register.MOST if state == "open" else CLOSED)
    return [case for case in found if reader.sees(case)]


async def _case_lines(reader: Reader, cases: Iterable[Case]) -> list[dict[str, Any]]:
    cases = list(cases)
    counts = await register.counts(reader.tx, (case.name for case in cases))
    lines = [drawn.case_line(case, counts.get(case.name, (0, 0))) for case in cases]
    return sorted(lines, key=lambda line: line["exercise"])  # real first


async def _cooler_lines(reader: Reader) -> list[dict[str, Any]]:
    last = await register.last_readings(reader.tx, sorted(reader.unit.coolers))
    coolers = (reader.unit.coolers[name] for name in sorted(reader.unit.coolers))
    return [drawn.cooler_line(one, last.get(one.name), reader.terms) for one in coolers]


async def _all_cases(reader: Reader, of: str) -> Sheet | Shut:
    values = {
        "open": await _case_lines(reader, await _cases(reader, "open")),
        "closed": await _case_lines(reader, await _cases(reader, "closed")),
    }
    return Sheet("cases.html", "Cases", values, live=True)


async def _case(reader: Reader, of: str) -> Sheet | Shut:
    case = await register.case(reader.tx, of)
    if case is None:
        return NO_JAR
    jars = await register.jars(reader.tx, of)
    warm = await carried_by(reader, jars)
    values = {
        "case": drawn.case_line(case, (len(jars), sum(jar.is_open for jar in jars))),
        "told": drawn.told_lines(case),
        "jars": [
            drawn.jar_line(jar, reader.terms, excursion=jar.id in warm, blind=reader.is_offered(jar))
            for jar in jars
        ],
        "plan": plan_line(case, matrix_of(case.plan, jars, reader.trade.plan_table, reader.trade.limits)),
        "map": draw_map(drawn.marks_of(jars), reader.trade.area, f"Where the jars of {of} were taken"),
        "whole": len(jars) < register.MOST,
        "custody": may(reader.person, Action.SEE_CUSTODY),
        "downloads": may(reader.person, Action.SEE_DOWNLOADS),
    }
    return Sheet("case.html", f"Case {of}", values)


async def _jar(reader: Reader, of: str) -> Sheet | Shut:
    jar = await register.jar(reader.tx, of)
    case = await register.case(reader.tx, of.rpartition("#")[0])
    if jar is None or case is None:
        return NO_JAR
    terms = reader.terms
    blind = reader.is_offered(jar)
    shown = not blind and may(reader.person, Action.SEE_EVIDENCE)
    files = await register.photos_of(reader.tx, of) if shown else []
    photos = {sha: (f"/register/file/photo?of={quote(f'{case.name}/{sha}')}", kind) for sha, kind in files}
    record = jar_record(jar, terms.table.listed(jar), Look(terms.zone, terms.limits, photos))
    values = {
        "case": case,
        "line": drawn.jar_line(jar, terms, excursion=bool(await carried_by(reader, [jar])), blind=blind),
        "jar": drawn.without_seal(record) if blind else record,
        "custody": await _custody_of(reader, jar, blind=blind)
        if may(reader.person, Action.SEE_CUSTODY)
        else None,
        "id": of,
        "cooler": await _cooler_of(reader, jar),
    }
    return Sheet("jar.html", f"{case.name} jar {jar.number}", values)


async def _custody_of(reader: Reader, jar: Sample, *, blind: bool) -> dict[str, Any]:
    """The jar's custody as a drawing and as lines; a reader it is offered to sees no seal in them."""
    links = await _links(reader, [jar], {jar.id} if blind else set())
    return drawn.custody_sheet([jar], links, reader.terms)


async def _links(reader: Reader, jars: list[Sample], blind: set[str]) -> list[dict[str, Any]]:
    """The lines of `show custody` for these jars of one case."""
    entries = await reading.custody(reader.tx, jars[0].case)
    found = custody_lines(jars, entries, reader.trade.limits)
    return [
        {**line, "seal_read": None, "readings": []} if id_ in blind else line
        for id_, one in found.items()
        for line in custody_listing([one])
        if id_ not in blind or "reading" not in line
    ]


async def _custody(reader: Reader, of: str) -> Sheet | Shut:
    """With whom each jar of a case was, as drawn lines and as a table."""
    jars = await register.jars(reader.tx, of)
    if not jars:
        return NO_JAR
    blind = {jar.id for jar in jars if reader.is_offered(jar)}
    sheet = drawn.custody_sheet(jars, await _links(reader, jars, blind), reader.terms)
    case = await register.case(reader.tx, of)
    return Sheet("custody.html", f"Custody of {of}", {"case": case, "custody": sheet})


async def _cooler_of(reader: Reader, jar: Sample) -> dict[str, Any] | None:
    name = jar.text("cooler")
    cooler = reader.unit.coolers.get(name or "")
    if cooler is None:
        return None
    last = await register.last_readings(reader.tx, [cooler.name])
    return drawn.cooler_line(cooler, last.get(cooler.name), reader.terms)


async def _cooler(reader: Reader, of: str) -> Sheet | Shut:
    """A cooler's record and its forecast, kept apart; what was read lately as a drawing."""
    cooler = reader.unit.coolers.get(of)
    if cooler is None:
        return Shut(404, f"There is no cooler {of[:20]}. The register is at /register.")
    rows = await cold_rows(reader.tx, key_of(of))
    life = life_of(of, rows)
    found = [await register.jar(reader.tx, id_) for id_ in dict.fromkeys(s.sample for s in life.stays)]
    jars = {jar.id: jar for jar in found if jar is not None}
    line = cold_line(life, cooler, reader.trade.limits, jars)
    now_in = [jars[id_] for id_ in dict.fromkeys(life.inside(reader.now_us)) if id_ in jars]
    inside = [jar for jar in now_in if is_still_in(jar, life.name)]
    values = drawn.cooler_sheet(life, line, inside, reader.terms)
    return Sheet("cooler.html", f"Cooler {of}", values, live=True)


async def _people(reader: Reader, of: str) -> Sheet | Shut:
    return Sheet("people.html", "People", {"people": drawn.people(reader.unit, people_lines(reader.unit))})


async def _kits(reader: Reader, of: str) -> Sheet | Shut:
    used = await reading.used_by_kit(reader.tx, {n: kit.numbers for n, kit in reader.unit.kits.items()})
    kits = (reader.unit.kits[name] for name in sorted(reader.unit.kits))
    lines = [kit_line(kit, reader.unit, reader.trade.par, used[kit.name]) for kit in kits]
    return Sheet("kits.html", "Kits", {"kits": lines})


def _case_of_jar(of: str) -> str:
    return of.rpartition("#")[0]


SHEETS: dict[str, Find[Sheet | Shut]] = {
    "": Find(_front, Action.SEE_OWN_CASES),
    "cases": Find(_all_cases, Action.SEE_OWN_CASES),
    "case": Find(_case, Action.SEE_OWN_CASES, str, evidence=True),
    "jar": Find(_jar, Action.SEE_OWN_CASES, _case_of_jar, evidence=True),
    "custody": Find(_custody, Action.SEE_CUSTODY, str, evidence=True),
    "cooler": Find(_cooler, Action.SEE_OWN_CASES),
    "people": Find(_people, Action.SEE_PEOPLE),
    "kits": Find(_kits, Action.COUNT_KITS),
}
