"""What a jar could be asked about in court, one sentence each: what is on record, and no verdict."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import tzinfo
from typing import Any

from .record import stated

WEIGHTY = ("number", "seal", "time", "position")  # a correction of these is asked about first


def weak_points(jar: Mapping[str, Any], custody: Iterable[Mapping[str, Any]], zone: tzinfo) -> list[str]:
    """The sentences for a line of `show samples` and its lines of `show custody`."""
    return [
        *_struck(jar),
        *_queries(jar),
        *_seals(jar, zone),
        *_custody(custody, zone),
        *_cold(jar),
        *_kept(jar, zone),
        *_corrections(jar, zone),
        *_tellings(jar, zone),
        *_unsaid(jar),
    ]


def _struck(jar: Mapping[str, Any]) -> Iterable[str]:
    if jar["struck"]:
        yield f'Struck: "{jar["struck"]}".'


def _queries(jar: Mapping[str, Any]) -> Iterable[str]:
    for query in jar["queries"]:
        yield f'Query {"open" if query["open"] else "answered"}: "{query["text"]}"'


def _seals(jar: Mapping[str, Any], zone: tzinfo) -> Iterable[str]:
    """Numbers are left out: this may be read while a hand-over is open."""
    for place, seal in enumerate(jar["seals"]):
        at = f", {stated(seal['at'], zone)}" if seal["at"] else ""
        if seal["state"] != "whole":
            yield f"Seal {seal['state']}{at}."
        if place:
            seen = seal.get("witness") or "nobody named"
            yield f'A new seal was put beside the old one{at}, seen by {seen}: "{seal.get("why")}".'


def _custody(lines: Iterable[Mapping[str, Any]], zone: tzinfo) -> Iterable[str]:
    for line in lines:
        if "gap" in line:
            yield f"Custody gap {gap_text(line, zone)}: {line['why']}, {explained(line, zone)}."
            continue
        if "reading" in line:  # outside a hand-over: what differs in it is marked at its jar
            continue
        way = f"Hand-over {line['from']} to {line['to']}"
        if line["exception"]:
            yield f"{way}: {line['exception']}."
        if line["state"] == "open":
            yield f"{way} is open."


def gap_text(line: Mapping[str, Any], zone: tzinfo) -> str:
    """From when to when a gap lasts."""
    from_iso, to_iso = line["gap"]
    return f"{stated(from_iso, zone)} to {stated(to_iso, zone) if to_iso is not None else 'now, still open'}"


def explained(gap: Mapping[str, Any], zone: tzinfo) -> str:
    """What people said of a gap, each with the day it was said on."""
    told = [
        f'explained by {one["by"]}, {stated(one["received_at"], zone)}: "{one["words"]}"'
        for one in gap["statements"]
    ]
    return "; ".join(told) or "not explained"


def _cold(jar: Mapping[str, Any]) -> Iterable[str]:
    for one in jar["excursions"]:
        most, limit = one["at_most_minutes"], one["limit"]
        bound = "no good reading bounds it" if most is None else f"at most {most:g} min"
        yield (
            f"Cooler {one['cooler']} out of range at least {one['at_least_minutes']:g} min, {bound}; "
            f"peak observed {one['peak_celsius']} C; limit {limit['value']:g} C ({limit['is']})."
        )


def _kept(jar: Mapping[str, Any], zone: tzinfo) -> Iterable[str]:
    for one in jar["holding"]:
        if one["state"] == "past":
            leg = f"{one['analysis']}, {one['leg']}".replace("_", " ")
            due = stated(one["due_at"], zone)
            yield f"Past the {one['days']} days that {one['source']} gives for {leg}: {due}."
    if jar["retained"]:
        yield f'Kept under an order: "{jar["retained"]}".'


def _corrections(jar: Mapping[str, Any], zone: tzinfo) -> Iterable[str]:
    told = sorted(jar["corrections"], key=lambda one: one["field"] not in WEIGHTY)
    for one in told:
        field, at = one["field"].replace("_", " ").capitalize(), stated(one["received_at"], zone)
        if one["sort"] == "late_addition":
            yield f"{field} was added after the read-back, {at}."
        else:
            why = "re-entered on query" if one["sort"] == "reentered" else f'"{one["why"] or "none given"}"'
            yield f"{field} was corrected by {one['by']}, {at}: {why}."


def _tellings(jar: Mapping[str, Any], zone: tzinfo) -> Iterable[str]:
    if "late" in jar["flags"]:
        yield "The text came late."
    if not jar["confirmed"] and not jar["struck"]:
        yield "Its author did not confirm the read-back."
    for account in jar["accounts"]:
        yield f"{account['by']} told of it too, received {stated(account['received_at'], zone)}."


def _unsaid(jar: Mapping[str, Any]) -> Iterable[str]:
    if jar["gloves_changed"] is False:
        yield "Gloves were not changed before it."
    waiting = sum(photo["sha256"] is None for photo in jar["photos"])
    if waiting:
        yield f"{waiting} photos were announced and did not come."
    unsaid = [*jar["not_stated"], *([] if jar["witnesses"] else ["witness"])]
    if jar["evidence_number"] is None:
        unsaid.append("evidence number")
    if unsaid:
        yield f"Not stated: {', '.join(unsaid).replace('_', ' ')}."
