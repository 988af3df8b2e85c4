"""What a supervisor's day is made of: read from the tables as they stand, or folded anew as of an instant."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from bot.model.alert import Alert, alert_of, fold_alert
from bot.model.case import Case
from bot.model.entries import UNIT_CHAIN, CaseOpened
from bot.model.people import Unit
from bot.model.sample import Sample
from bot.model.times import us_of_iso

from . import alerts, reading
from .database import Tx
from .ledger import Entry
from .rebuild import chains, entries_of, fold_entry
from .views import read_unit
from .work import fold_unit_entries


@dataclass(frozen=True)
class Standing:
    """The unit, its open cases with their jars, and the alerts that are open."""

    unit: Unit
    cases: dict[str, Case]
    jars: dict[str, list[Sample]]
    alerts: list[Alert]


async def standing(tx: Tx) -> Standing:
    """As it stands now."""
    cases = {name: case for name, case in (await reading.cases(tx)).items() if case.state == "open"}
    jars = {name: await reading.samples(tx, name) for name in cases}
    return Standing(await read_unit(tx), cases, jars, await alerts.under(tx, ("alerts_open",)))


async def as_of(tx: Tx, at_us: int) -> Standing:
    """As it stood at an instant (us UTC), made from the entries received by then."""
    unit, told = Unit(), dict[str, Alert]()
    cases: dict[str, Case] = {}
    jars: dict[str, list[Sample]] = {}
    for chain in await chains(tx):
        samples: dict[str, Sample] = {}
        case: Case | None = None
        async for page in entries_of(tx, chain):
            known = [entry for entry in page if _holds(entry, at_us)]
            for entry in known:
                case = fold_entry(entry, samples, case)
                id_ = alert_of(entry.draft.body)
                alert = fold_alert(told.get(id_), entry.draft) if id_ is not None else None
                if id_ is not None and alert is not None:
                    told[id_] = alert
            unit = await fold_unit_entries(tx, unit, known)
        if chain != UNIT_CHAIN and case is not None and case.state == "open":
            cases[chain], jars[chain] = case, list(samples.values())
    return Standing(unit, cases, jars, [alert for alert in told.values() if alert.is_open])


def _holds(entry: Entry, at_us: int) -> bool:
    """Received by then; what a setup says also counts, since a script may begin before it."""
    body = entry.draft.body
    if isinstance(body, CaseOpened):
        return us_of_iso(body.opened) <= at_us
    return entry.draft.received_us <= at_us or (entry.chain == UNIT_CHAIN and entry.draft.channel == "setup")


async def heard(tx: Tx, addresses: Iterable[str]) -> int | None:
    """When one of these addresses last wrote, None for never."""
    sql = f"SELECT MAX(touched_us) FROM conversations WHERE {tx.among('address', '$1')}"  # noqa: S608 - no values
    rows = await tx.rows(sql, json.dumps(sorted(addresses)))
    return None if rows[0][0] is None else int(rows[0][0])


async def words_before(tx: Tx, at_us: int) -> tuple[str, str] | None:
    """(day, six words) of the last midnight up to an instant, None before the first."""
    sql = """SELECT text FROM entries WHERE chain = $1 AND kind = 'HeadsSealed' AND received_us <= $2
    ORDER BY seq DESC LIMIT 1"""
    for (text,) in await tx.rows(sql, UNIT_CHAIN, at_us):
        body = json.loads(text)["body"]
        return str(body["day"]), str(body["words"])
    return None
