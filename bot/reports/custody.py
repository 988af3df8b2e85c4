"""The lines of custody as programs read them: `show custody`, with gaps as lines of their own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ..model.entries import Draft, ResultAttached
from ..model.times import iso_utc
from ..rules.custody import Line
from ..rules.custody_parts import Gap, Link, Reading, Stay


def custody_listing(lines: Iterable[Line]) -> list[dict[str, Any]]:
    """Each jar's links and gaps in the order of their times, jar by jar."""
    return [one for line in lines for one in (*_of_jar(line), *_loose(line))]


def _loose(line: Line) -> list[dict[str, Any]]:
    """Readings outside a hand-over: a holder's own, a laboratory's item by item, anybody's."""
    head = {"sample": line.sample.number, "case": line.sample.case}
    return [{**head, "reading": _reading(reading)} for reading in line.loose]


def results(drafts: Iterable[Draft], numbers: Mapping[str, str]) -> list[dict[str, Any]]:
    """Each result as it came, with the numbers of its jars. `numbers`: sample id to its number."""
    return [
        {
            "case": draft.chain,
            "samples": [numbers.get(id_, id_) for id_ in draft.body.samples],
            "words": draft.body.words,
            "file": None if draft.body.file is None else draft.body.file.sha256,
            "by": draft.author,
            "received_at": iso_utc(draft.received_us),
        }
        for draft in drafts
        if isinstance(draft.body, ResultAttached)
    ]


def _of_jar(line: Line) -> list[dict[str, Any]]:
    number, case = line.sample.number, line.sample.case
    told = [(link.closed_us or link.offered_us or 0, _link(number, case, link)) for link in line.links]
    told += [(gap.from_us, _gap(number, case, gap)) for gap in line.gaps]
    told += [(stay.from_us, _stay(line, stay)) for stay in line.stays]
    return [one for _, one in sorted(told, key=lambda pair: pair[0])]


def _instant(stated: str | None, us: int | None) -> str | None:
    """As stated, else the server's."""
    return stated if stated is not None else iso_utc(us) if us is not None else None


def _link(number: str, case: str, link: Link) -> dict[str, Any]:
    last = link.readings[-1] if link.readings else None
    ended = f"{link.ended}: {link.why}" if link.why else link.ended
    marks = (*link.exceptions, *((ended,) if link.ended in ("refused", "withdrawn") else ()))
    return {
        "sample": number,
        "case": case,
        "from": link.giver,
        "to": link.receiver,
        "type": link.type,
        "place": link.place,
        "offered_at": _instant(link.offered_at, link.offered_us),
        "read_at": _instant(None, link.read_us),
        "closed_at": _instant(link.closed_at, link.closed_us) if link.ended == "received" else None,
        "seal_read": None if last is None else last.number or (f"tape {last.tape}" if last.tape else None),
        "condition": None if last is None else last.condition,
        "by_channel": link.by_channel,
        "exception": ", ".join(marks) or None,
        "state": link.ended,
        "carrier": link.carrier,
        "coded": link.coded,
        "on_phone_of": link.on_phone_of,
        "papers": list(link.papers),
        "authority": link.authority,
        "corrections": [
            {
                "field": f"{one.side}_at",
                "old": one.old,
                "new": one.new,
                "by": one.by,
                "received_at": iso_utc(one.received_us),
                "why": one.why or "none given",
                "sort": "correction" if one.old is not None else "late_addition",
            }
            for one in link.corrections
        ],
        "container": link.container,
        "ended_at": iso_utc(link.ended_us) if link.ended_us is not None else None,
        "readings": [_reading(reading) for reading in link.readings],
        "answers": list(link.answers),
    }


def _reading(reading: Reading) -> dict[str, Any]:
    return {
        "by": reading.by,
        "at": iso_utc(reading.at_us),
        "seal": reading.number,
        "tape": reading.tape,
        "unread": reading.unread,
        "condition": reading.condition,
        "agrees": reading.agrees,
        "temperature": reading.temperature,
    }


def _gap(number: str, case: str, gap: Gap) -> dict[str, Any]:
    told = [{"words": words, "by": by, "received_at": iso_utc(us)} for words, by, us in gap.explained]
    return {
        "sample": number,
        "case": case,
        "gap": [iso_utc(gap.from_us), iso_utc(gap.to_us) if gap.to_us is not None else None],
        "why": gap.why,
        "explained": told[0] if told else None,
        "statements": told,
    }


def _stay(line: Line, stay: Stay) -> dict[str, Any]:
    """Put in a place by its holder: a link from a person to a place, with the same key-holder."""
    at = line.at(stay.from_us)
    holder = line.sample.holder if at is None else at[0]
    return {
        "sample": line.sample.number,
        "case": line.sample.case,
        "from": holder,
        "to": holder,
        "type": "store",
        "place": stay.place,
        "offered_at": None,
        "read_at": None,
        "closed_at": iso_utc(stay.from_us),
        "seal_read": None,
        "condition": None,
        "by_channel": None,
        "exception": None,
        "state": "stored",
        "locked": stay.locked,
    }
