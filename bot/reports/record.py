"""A case as a page to be read in court: each jar with its corrections struck in place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Any

from ..model.sample import Correction, Fact, Sample
from ..model.times import HOUR_US, us_of_iso
from ..rules.checks import came_late
from ..rules.civil_time import local
from ..rules.limits import Limits
from .timeline import Row, Span, draw, spans_of

LONG_US = 36 * HOUR_US  # a longer case is drawn twice: whole, and its first day
FIRST_US = 24 * HOUR_US
QUIET_US = 4 * HOUR_US  # so long after the last that happened is drawn whole, however short the case
FIRST = ("kind", "duplicate_of", "matrix", "time", "position", "place", "method", "seal", "cooler")
LABELS = {"cooler_celsius": "Cooler reads", "gloves": "Gloves changed", "time": "Taken at"}
CHOSEN = ("cooler", "gloves", "kind", "matrix", "method", "owner_present", "split_offer", "wiped")
READ = {"at", "celsius", "lat", "number", "percent"}  # of a value that was read from words, not the words
MASKED = "(masked)"
SHOWN = ("image/jpeg", "image/png", "image/webp", "image/gif")  # what every browser draws


@dataclass(frozen=True)
class Look:
    """How instants and files are shown: the unit's zone, the limits, and where each original stands."""

    zone: tzinfo
    limits: Limits
    originals: Mapping[str, tuple[str, str]]  # sha256 to (path, media type)
    masked: bool = False  # what a person wrote freely is not shown

    def at(self, us: int) -> str:
        """An instant as the unit's clocks showed it, with its offset."""
        wall = local(us, self.zone)
        return f"{wall.day} {wall:%b %Y %H:%M:%S} {wall.isoformat()[-6:]}"


def jar(sample: Sample, not_stated: Sequence[str], look: Look) -> dict[str, Any]:
    """One jar as the page shows it: a row for each field, struck values before the one that stands."""
    by_field: dict[str, list[Correction]] = {}
    for correction in sample.corrections:
        by_field.setdefault(correction.field, []).append(correction)
    fields = [f for f in FIRST if f in sample.facts] + sorted(set(sample.facts) - set(FIRST))
    return {
        "number": sample.number,
        "number_struck": [_struck(one, look) for one in by_field.get("number", ())],
        "number_open": sample.number_open,
        "evidence": sample.evidence_number,
        "struck": sample.struck,
        "not_stated": list(not_stated),
        "confirmed": sample.confirmed,
        "by": sample.declared_by,
        "said": look.at(sample.said_us),
        "received": look.at(sample.received_us),
        "late": came_late(sample.said_us, sample.received_us, look.limits),
        "rows": [_row(field, sample.facts[field], by_field.get(field, []), look) for field in fields],
        "queries": [
            {
                "text": q.text,
                "field": label(q.field),
                "at": look.at(q.raised_us),
                "open": q.open,
                "how": q.how,
            }
            for q in sample.queries
        ],
        "accounts": [
            {
                "by": account.by,
                "received": look.at(account.received_us),
                "earlier": account.sort == "earlier_statement",
                "told": [(label(f), fact.raw) for f, fact in sorted(account.facts.items())],
            }
            for account in sample.accounts
        ],
        "photos": [_photo(photo.sha256, photo.camera_time, look) for photo in sample.photos],
    }


def standing(line: Mapping[str, Any]) -> dict[str, Any]:
    """How far a jar has come and what marks it, from its line of `show samples`."""
    seals = [f"seal {one['state']}" for one in line["seals"] if one["state"] != "whole"]
    return {"status": line["status"], "with": line["with"], "flags": [*line["flags"], *seals]}


def label(field: str) -> str:
    """A field's name as people read it."""
    return LABELS.get(field, field.replace("_", " ").capitalize())


def _row(field: str, fact: Fact, corrections: Iterable[Correction], look: Look) -> dict[str, Any]:
    return {
        "label": label(field),
        "struck": [_struck(one, look) for one in corrections if one.old is not None],
        "added": any(one.sort == "late_addition" for one in corrections),
        "value": MASKED
        if look.masked and _is_free(field, fact.value)
        else value_text(fact.value, "" if look.masked else fact.raw),
        "raw": fact.raw,
        "by": fact.by,
        "said": look.at(fact.said_us),
        "received": look.at(fact.received_us),
        "copied_from": fact.copied_from,
    }


def stated(iso: str | None, zone: tzinfo = UTC) -> str:
    """A stated instant as people read it, with the offset that it was stated with; nothing for None.

    The server's own, which end with Z, are shown as the clocks of the zone showed them.
    """
    if iso is None:
        return ""
    wall = datetime.fromisoformat(iso)
    wall = wall.astimezone(zone) if iso.endswith("Z") else wall
    seconds = f":{wall:%S}" if wall.second else ""
    return f"{wall.day} {wall:%b %Y %H:%M}{seconds} {wall.isoformat()[-6:]}"


def _is_free(field: str, value: Any) -> bool:
    """Whether a value may be a person's own words."""
    return field not in CHOSEN and (not isinstance(value, dict) or not set(value) & READ)


def value_text(value: Any, raw: str) -> str:
    """A value as it was read from the words; where that is another form of them, the words as typed first.

    Without words (`raw` empty) what was read stands alone; no digit is added to it.
    """
    if isinstance(value, str):
        return value.replace("_", " ")
    if isinstance(value, dict):
        if "at" in value:
            return stated(str(value["at"])) + (" (offset derived)" if value.get("offset_derived") else "")
        if "lat" in value:
            read = f"{round(value['lat'], 6)}, {round(value['lon'], 6)} WGS84"
            return f"{raw}, {value['source']} ({read})" if raw else f"{read}, {value['source']}"
        if value.get("percent") is not None:
            read = f"{value['percent']} %"
            return f"{raw} ({read})" if raw and "%" not in raw else read
        for key, unit in (("celsius", " C"), ("number", ""), ("tape", " (tape)")):
            if value.get(key) is not None:
                return f"{value[key]}{unit}"
    return raw


def _struck(one: Correction, look: Look) -> dict[str, Any]:
    return {
        "old": one.old,
        "new": one.new,
        "by": one.by,
        "said": look.at(one.said_us),
        "received": look.at(one.received_us),
        "why": one.why or "none given",
        "reentered": one.sort == "reentered",
    }


def _photo(sha256: str | None, camera_time: str | None, look: Look) -> dict[str, Any]:
    path, media = look.originals.get(sha256 or "", (None, ""))
    return {"sha256": sha256, "path": path, "shown": media in SHOWN, "camera_time": camera_time}


def timelines(
    samples: Iterable[Sample],
    custody: Iterable[Mapping[str, Any]],
    look: Look,
    to_us: int,
    marks: Mapping[str, Iterable[tuple[int, str]]] | None = None,
) -> list[tuple[str, str]]:
    """(heading, SVG) of each drawing of the case: the whole, and its first day where the whole is long.

    `marks` are photos and excursions by sample number, as of `marks_of`.
    """
    lines: dict[str, list[list[Mapping[str, Any]]]] = {}
    for line in custody:
        if line.get("type") == "collected":  # the first of a jar: another jar may bear the same number
            lines.setdefault(str(line["sample"]), []).append([])
        lines.setdefault(str(line["sample"]), [[]])[-1].append(line)
    rows: list[Row] = []
    told_of: list[list[Mapping[str, Any]]] = []
    for sample in samples:
        jars = lines.get(sample.number)
        told_of.extend(jars[:1] if jars else ())
        told = (marks or {}).get(sample.number, ())
        rows.append(_line_of(sample, spans_of(jars.pop(0)) if jars else (), told))
    instants = [span.from_us for row in rows for span in row.spans]
    instants += [at for row in rows for at, _ in row.marks]
    if not instants:
        return []
    from_us = min(instants)
    ends = [span.to_us for row in rows for span in row.spans]
    goes_on = None in ends
    heard = [us for jars in told_of for line in jars for us in _heard_at(line)]
    last_us = max([*instants, *(end for end in ends if end is not None), *heard])
    end_us = _drawn_to(from_us, last_us, to_us, goes_on=goes_on)
    heading = "The whole case" if len(rows) > 1 else f"All of jar {rows[0].name}"
    if goes_on and end_us < to_us:
        wall = local(end_us, look.zone)
        heading += f", drawn to {wall.day} {wall:%b %H:%M}; an arrow: still so when this was made"
    drawn = [(heading, draw(rows, from_us, end_us, look.zone))]
    if end_us - from_us > LONG_US:
        drawn.insert(0, ("The first 24 hours", draw(rows, from_us, from_us + FIRST_US, look.zone)))
    return drawn


def _heard_at(line: Mapping[str, Any]) -> list[int]:
    """When this hand-over was offered, read and closed: it happened, though the jar may not have moved."""
    told = (line.get(name) for name in ("offered_at", "read_at", "closed_at"))
    return [us_of_iso(iso) for iso in told if iso is not None]


def _drawn_to(from_us: int, last_us: int, to_us: int, *, goes_on: bool) -> int:
    """Where a drawing ends: now while a jar is held, unless that squeezes what happened to a strip."""
    if goes_on and to_us - last_us <= max(2 * (last_us - from_us), QUIET_US):
        return to_us
    return min(to_us, last_us + max((last_us - from_us) // 12, HOUR_US // 4))


def marks_of(
    photos: Iterable[Mapping[str, Any]], coolers: Iterable[Mapping[str, Any]]
) -> dict[str, list[tuple[int, str]]]:
    """When a photo of a jar was received and when its cooler was first read out of range, by number."""
    found: dict[str, list[tuple[int, str]]] = {}
    for photo in photos:
        found.setdefault(str(photo["sample"]), []).append((us_of_iso(photo["received_at"]), "photo"))
    for one in (excursion for cooler in coolers for excursion in cooler["excursions"]):
        for number in one["samples"]:
            found.setdefault(number, []).append((us_of_iso(one["first_out"]), "cold"))
    return found


def _line_of(sample: Sample, spans: tuple[Span, ...], told: Iterable[tuple[int, str]]) -> Row:
    marks = [*told]
    marks += [(one.received_us, "correction") for one in sample.corrections if one.sort != "late_addition"]
    marks += [(one.raised_us, "query") for one in sample.queries]
    return Row(sample.number, spans, tuple(sorted(marks)))
