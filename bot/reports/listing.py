"""What programs read: the shapes of `show … --json`. Fields may be added, never renamed."""

from __future__ import annotations

from typing import Any

from ..model.alert import Alert
from ..model.case import Case
from ..model.custody import NewSeal
from ..model.message import Outgoing
from ..model.people import Unit
from ..model.sample import Account, Correction, Photo, Query, Sample
from ..model.times import iso_utc
from ..rules.checks import came_late
from ..rules.cold import Carried
from ..rules.fields import SampleTable
from ..rules.holding import Running
from ..rules.limits import Limits
from .cold_listing import carried_line
from .holding_listing import holding_lines

STATUSES = {
    "store": "stored",
    "courier": "sent",
    "laboratory": "at_laboratory",
    "return": "returned",
    "disposal": "disposed",
}
SEAL_STATES = {
    "cut": "cut",
    "broken": "cut",
    "lifted": "lifted",
    "mismatched": "mismatched",
    "unread": "unread",
}
NAMED = frozenset(
    (
        "collector",
        "cooler",
        "cooler_celsius",
        "device_lot",
        "fill",
        "gloves",
        "in_cold_at",
        "kind",
        "matrix",
        "method",
        "place",
        "position",
        "seal",
        "time",
        "tube",
        "witness",
    )
)  # what has a name of its own in the listing; other fields stand under `more`


def sample_line(
    sample: Sample,
    case: Case | None,
    table: SampleTable,
    limits: Limits,
    carried: tuple[Carried, ...] = (),
    running: tuple[Running, ...] = (),
) -> dict[str, Any]:
    """One jar as programs read it: stated times keep their offset, server times are UTC.

    `carried` are the excursions of the coolers that it was in, `running` the legs of its holding times.
    """
    time, place = sample.value("time"), sample.value("position")
    return {
        "id": sample.id,
        "case": sample.case,
        "number": sample.number,
        "exercise": case is not None and case.exercise,
        "kind": sample.text("kind"),
        "matrix": sample.text("matrix"),
        "event_time": time["at"] if isinstance(time, dict) else None,
        "offset_derived": time["offset_derived"] if isinstance(time, dict) else None,
        "received_time": iso_utc(sample.facts["time"].received_us if time else sample.received_us),
        "position": _position(sample, place),
        "place": sample.text("place"),
        "collector": sample.text("collector") or sample.declared_by,
        "told_by": sample.declared_by,
        "accounts": [_account(account) for account in sample.accounts],
        "witnesses": [sample.text("witness")] if sample.text("witness") else [],
        "method": sample.text("method"),
        "device_lot": sample.text("device_lot"),
        "evidence_number": sample.evidence_number,
        "seals": _seals(sample),
        "fill": _in(sample.value("fill"), "percent"),
        "gloves_changed": _yes_no(sample.text("gloves")),
        "cooler": sample.text("cooler"),
        "cooler_celsius": _in(sample.value("cooler_celsius"), "celsius"),
        "in_cold_at": _in(sample.value("in_cold_at"), "at"),
        "tube": sample.text("tube"),
        "with": sample.holder,
        "status": status(sample),
        "retained": None if sample.custody is None else sample.custody.retained,
        "struck": sample.struck,
        "confirmed": sample.confirmed,
        "flags": [*flags(sample, limits), *_marks(carried, running)],
        "holding": holding_lines(running),
        "excursions": [carried_line(one, limits) for one in carried],
        "photos": [_photo(photo) for photo in sample.photos],
        "queries": [_query(query) for query in sample.queries],
        "corrections": [_correction(correction) for correction in sample.corrections],
        "not_stated": table.listed(sample),
        "raw": {field: fact.raw for field, fact in sorted(sample.facts.items())},
        "copied": {f: fact.copied_from for f, fact in sorted(sample.facts.items()) if fact.copied_from},
        "more": {f: fact.value for f, fact in sorted(sample.facts.items()) if f not in NAMED},
    }


def _marks(carried: tuple[Carried, ...], running: tuple[Running, ...]) -> list[str]:
    past = any(one.state == "past" for one in running)
    return [*(["excursion"] if carried else []), *(["holding"] if past else [])]


def _in(value: object, key: str) -> Any:
    return value.get(key) if isinstance(value, dict) else None


def _yes_no(value: str | None) -> bool | None:
    return None if value is None else value == "yes"


def _position(sample: Sample, value: object) -> dict[str, Any] | None:
    if not isinstance(value, dict) or "lat" not in value:
        return None
    return {
        "lat": value["lat"],
        "lon": value["lon"],
        "raw": sample.facts["position"].raw,
        "source": value["source"],
        "accuracy_m": value.get("accuracy_m"),
    }


def _seals(sample: Sample) -> list[dict[str, Any]]:
    value = sample.value("seal")
    if not isinstance(value, dict):
        return []
    marks = () if sample.custody is None else sample.custody.marks
    mark = next((one for one in reversed(marks) if one.sort in SEAL_STATES), None)
    state, at = ("whole", None) if mark is None else (SEAL_STATES[mark.sort], iso_utc(mark.received_us))
    first = {"number": value.get("number"), "tape": value.get("tape"), "state": state, "at": at}
    later = () if sample.custody is None else sample.custody.seals
    return [first, *(_new_seal(seal) for seal in later)]


def _new_seal(seal: NewSeal) -> dict[str, Any]:
    told = {"witness": seal.witness, "why": seal.why, "by": seal.by}
    return {"number": seal.number, "tape": None, "state": "whole", "at": iso_utc(seal.received_us), **told}


def status(sample: Sample) -> str:
    """How far the jar has come, as derived from what is told."""
    if sample.struck is not None:
        return "struck"
    if sample.custody is not None and sample.custody.type in STATUSES:
        return STATUSES[sample.custody.type]
    if "cooler" in sample.facts:
        return "cold"
    return "sealed" if "seal" in sample.facts else "declared"


def flags(sample: Sample, limits: Limits) -> list[str]:
    """What marks the jar: an open query, a doubtful number, a late text, typed in from a card."""
    found = []
    if sample.open_query is not None:
        found.append("query")
    if sample.custody is not None and sample.custody.marks:
        found.append("exception")
    if sample.number_open:
        found.append("number_query")
    if sample.without_code:
        found.append("without_code")
    if came_late(sample.said_us, sample.received_us, limits):
        found.append("late")
    if sample.text("from_card") == "yes":
        found.append("from_card")
    return found


def _account(account: Account) -> dict[str, Any]:
    time, place = account.facts.get("time"), account.facts.get("position")
    return {
        "by": account.by,
        "at": _in(time.value, "at") if time is not None else None,
        "position": place.value if place is not None else None,
        "received_at": iso_utc(account.received_us),
        "saw": account.facts["witness"].raw if "witness" in account.facts else None,
        "sort": account.sort,
        "told": {field: fact.raw for field, fact in sorted(account.facts.items())},
    }


def _photo(photo: Photo) -> dict[str, Any]:
    return {"sha256": photo.sha256, "state": photo.state, "camera_time": photo.camera_time}


def _query(query: Query) -> dict[str, Any]:
    return {
        "id": query.id,
        "field": query.field,
        "rule": query.rule,
        "text": query.text,
        "raised_at": iso_utc(query.raised_us),
        "open": query.open,
        "how": query.how,
    }


def _correction(correction: Correction) -> dict[str, Any]:
    return {
        "field": correction.field,
        "old": correction.old,
        "new": correction.new,
        "by": correction.by,
        "at": iso_utc(correction.said_us) if correction.said_us != correction.received_us else None,
        "received_at": iso_utc(correction.received_us),
        "why": correction.why,
        "sort": correction.sort,
    }


def _out_till(unit: Unit, name: str) -> str | None:
    now = unit.whereabouts.get(name)
    return now.till if now is not None and now.is_out else None


def alert_line(alert: Alert) -> dict[str, Any]:
    """An alert as programs read it, with each text that went out for it."""
    return {
        "id": alert.id,
        "kind": alert.kind,
        "subject": alert.subject,
        "level": alert.level,
        "raised_at": iso_utc(alert.raised_us),
        "pushes": [{"to": push.to, "at": iso_utc(push.at_us)} for push in alert.pushes],
        "owner": alert.owner,
        "acknowledged_at": _utc(alert.taken_us),
        "closed_at": _utc(alert.closed_us),
        "closed_how": alert.closed_how,
        "cases": list(alert.cases),
        "samples": list(alert.numbers),
        "text": alert.text,
    }


def _utc(us: int | None) -> str | None:
    return None if us is None else iso_utc(us)


def people_lines(unit: Unit) -> list[dict[str, Any]]:
    """Everybody, with the state of each address."""
    return [
        {
            "name": person.name,
            "roles": list(person.roles),
            "addresses": [
                *(
                    {"address": address, "state": "enrolled" if person.active else "retired"}
                    for address in person.addresses
                ),
                *({"address": address, "state": "revoked"} for address in person.revoked),
            ],
            "out_till": _out_till(unit, person.name),
        }
        for person in (unit.people[name] for name in sorted(unit.people))
    ]


def text_line(row: dict[str, Any]) -> dict[str, Any]:
    """One text sent, or waiting to be: `again` where it may have gone twice, `report` as its network told."""
    text = Outgoing.model_validate_json(row["doc"])
    return {
        "row": row["row"],
        "channel": text.channel,
        "to": text.account,
        "person": text.person,
        "queued_at": iso_utc(row["queued_us"]),
        "text": text.text,
        "asks": text.asks,
        "state": row["state"],
        "tries": row["attempts"],
        "again": bool(row["again"]),
        "problem": row["problem"],
        "report": row["report"],
        "reported_at": iso_utc(row["report_us"]) if row["report_us"] is not None else None,
    }
