"""What `show` prints: the store read once, in the shapes of the listing."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from typing import Any

from storage import alerts, bundle, reading
from storage.database import Database, Tx
from storage.views import read_unit

from .clock import SystemClock
from .dialogue.turn import Trade
from .model.case import Case
from .model.cold import Life, Row, key_of, life_of
from .model.errors import AskedWrongly
from .model.people import Unit
from .model.sample import Sample
from .model.times import iso_utc, us_of_iso
from .reports.cold_listing import cooler_line
from .reports.custody import custody_listing, results
from .reports.kit import kit_line, restock_csv
from .reports.listing import alert_line, people_lines, sample_line, text_line
from .reports.plan import plan_line
from .rules.cold import Carried, carried, excursions, water_in
from .rules.custody import Line, custody_lines, with_whom
from .rules.holding import holding
from .rules.limits import Limits, limits_in_force
from .rules.plan import matrix_of
from .trades import Trades, par_table, plan_table

Lines = list[dict[str, Any]]
IN_BUNDLE = ("samples", "custody", "cooler", "plan", "photos", "results")


async def show(database: Database, what: str, case: str | None, at: str | None = None) -> Lines:
    """The list that this word names, of custody `at` an instant. Raises AskedWrongly for what it has not."""
    if at is not None and what != "custody":
        raise AskedWrongly("--at goes with the list of custody.")
    if what not in LISTS:
        raise AskedWrongly(f"There is no list called {what}; there are: {', '.join(sorted(LISTS))}.")
    async with database.read() as tx:
        return await show_in(tx, what, case, at)


async def show_in(tx: Tx, what: str, case: str | None, at: str | None = None) -> Lines:
    """The list of this name as the transaction sees it. Raises AskedWrongly for an unknown case."""
    cases = await reading.cases(tx)
    if case is not None and case not in cases:
        raise AskedWrongly(f"There is no case {case}; there are: {', '.join(cases) or 'none yet'}.")
    unit = await read_unit(tx)
    return await (_custody_at(tx, unit, case, at) if at else LISTS[what](tx, unit, cases, case))


async def bundle_lists(tx: Tx, case: str) -> dict[str, Lines]:
    """The lists that go into a case's bundle, by name."""
    return {name: await show_in(tx, name, case) for name in IN_BUNDLE}


async def restock(database: Database, kit: str | None) -> str:
    """What the kits lack, as CSV; a training kit's only when it is named. Raises AskedWrongly."""
    async with database.read() as tx:
        unit = await read_unit(tx)
    return restock_csv(unit, par_table(), kits_named(unit, kit))


def kits_named(unit: Unit, kit: str | None) -> tuple[str, ...]:
    """This kit, or all that are no training kits. Raises AskedWrongly for one that is not there."""
    if kit is not None and kit not in unit.kits:
        raise AskedWrongly(f"There is no kit {kit}; there are: {', '.join(sorted(unit.kits)) or 'none yet'}.")
    return (kit,) if kit else tuple(name for name in sorted(unit.kits) if not unit.kits[name].training)


async def _samples(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    trade = Trades().of(unit)
    found = await reading.samples(tx, case)
    carries = carried_by(await lives(tx, unit), found, trade.limits)
    return [_sample(s, cases.get(s.case), trade, carries.get(s.id, ())) for s in found]


def _sample(one: Sample, case: Case | None, trade: Trade, carries: tuple[Carried, ...]) -> dict[str, Any]:
    """A jar's line; which holding times ran out is judged by the clock of whoever asks."""
    running = holding(one, trade.holding, trade.limits, SystemClock().now_us())
    return sample_line(one, case, trade.table, trade.limits, carries, running)


async def _people(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    people = people_lines(unit)
    names = cases[case].people if case is not None else ()
    return [one for one in people if not names or one["name"] in names]


async def _messages(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    cited = None
    if case is not None:
        cited = {entry["message"] for entry in await reading.entries(tx, case)}
    return [
        {
            "id": row["key"],
            "channel": row["address"].partition(":")[0],
            "from": row["address"].partition(":")[2],
            "person": row["person"],
            "sent_at": iso_utc(row["sent_us"]) if row["sent_us"] is not None else None,
            "received_at": iso_utc(row["received_us"]),
            "text": json.loads(row["text"]).get("text", ""),
            "sha256": row["sha256"],
            "state": row["state"],
        }
        for row in await reading.messages(tx)
        if cited is None or row["sha256"] in cited
    ]


async def _entries(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    return await reading.entries(tx, case)


async def _alerts(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    return [alert_line(alert) for alert in await alerts.all_of(tx) if case is None or case in alert.cases]


async def lives(tx: Tx, unit: Unit) -> dict[str, Life]:
    """The life of every cooler that is set up or was ever told of, by its key."""
    rows: dict[str, list[Row]] = {key_of(name): [] for name in unit.coolers}
    names = {key_of(name): name for name in unit.coolers}
    for row in await reading.cold(tx):
        rows.setdefault(row[1], []).append(row)
        names.setdefault(row[1], row[3]["cooler"])
    return {key: life_of(names[key], rows[key]) for key in sorted(rows)}


def carried_by(known: dict[str, Life], found: list[Sample], limits: Limits) -> dict[str, tuple[Carried, ...]]:
    """The excursions that each jar carries, by its id."""
    by_id = {sample.id: sample for sample in found}
    carries: dict[str, tuple[Carried, ...]] = {}
    for life in known.values():
        out = excursions(life, limits, water_in(life, by_id))
        for id_ in {id_ for one in out for id_ in one.samples}:
            carries[id_] = carries.get(id_, ()) + carried(life, out, id_)
    return carries


async def _cooler(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    limits = limits_in_force(unit.limits)
    jars = {sample.id: sample for sample in await reading.samples(tx, None)}
    return [
        cooler_line(life, unit.coolers.get(life.name), limits, jars)
        for life in (await lives(tx, unit)).values()
        if case is None or any(jars[s.sample].case == case for s in life.stays if s.sample in jars)
    ]


async def _kit(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    names = sorted(unit.kits) if case is None else [n for n in sorted(unit.kits) if n in cases[case].kits]
    used = await reading.used_by_kit(tx, {name: unit.kits[name].numbers for name in names})
    return [kit_line(unit.kits[name], unit, par_table(), used[name]) for name in names]


async def _photos(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    numbers = {sample.id: sample.number for sample in await reading.samples(tx, None)}
    return [
        {
            "id": one["id"],
            "sha256": one["sha256"],
            "by": one["person"],
            "case": one["chain"],
            "sample": numbers.get(one["sample_id"]),
            "received_at": iso_utc(one["received_us"]),
            "flags": ["to be typed by a person"] if one["to_be_typed"] else [],
        }
        for one in await reading.files(tx)
        if case in (None, one["chain"])
    ]


async def _texts(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    """Texts name no case, so all are listed, whatever case is asked for."""
    return [text_line(row) for row in await reading.texts(tx)]


async def _words(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    return [{"day": one["day"], "words": one["words"]} for one in await bundle.midnights(tx)]


async def _cases(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    return [one.model_dump(mode="json") for name, one in cases.items() if case in (None, name)]


async def _lines_of_custody(tx: Tx, unit: Unit, case: str | None) -> dict[str, Line]:
    samples = await reading.samples(tx, case)
    return custody_lines(samples, await reading.custody(tx, case), limits_in_force(unit.limits))


async def _custody(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    return custody_listing((await _lines_of_custody(tx, unit, case)).values())


async def _results(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    numbers = {sample.id: sample.number for sample in await reading.samples(tx, case)}
    return results(await reading.custody(tx, case), numbers)


async def _custody_at(tx: Tx, unit: Unit, case: str | None, at: str) -> Lines:
    try:
        at_us = us_of_iso(at)
    except ValueError as problem:
        raise AskedWrongly(f"{at} is no instant; write it like 2026-10-12T15:00:00+01:00.") from problem
    found = with_whom(await _lines_of_custody(tx, unit, case), at_us)
    return [
        {"sample": jar.number, "case": jar.case, "with": holder, "state": state}
        for jar, holder, state in found
    ]


async def _plan(tx: Tx, unit: Unit, cases: dict[str, Case], case: str | None) -> Lines:
    limits, found = limits_in_force(unit.limits), []
    for name in (name for name in cases if case in (None, name)):
        jars = await reading.samples(tx, name)
        found.append(plan_line(cases[name], matrix_of(cases[name].plan, jars, plan_table(), limits)))
    return found


LISTS: dict[str, Callable[[Tx, Unit, dict[str, Case], str | None], Awaitable[Lines]]] = {
    "samples": _samples,
    "people": _people,
    "photos": _photos,
    "messages": _messages,
    "entries": _entries,
    "alerts": _alerts,
    "cooler": _cooler,
    "custody": _custody,
    "results": _results,
    "kit": _kit,
    "plan": _plan,
    "cases": _cases,
    "words": _words,
    "texts": _texts,
}
