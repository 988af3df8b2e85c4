"""A jar's line of custody, made from its entries: with whom it was when, every attempt, reading and gap.

A sample is in custody while it is in somebody's possession, in view, or locked up or sealed by them
(EPA Region V custody manual, 1978). The rest: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from ..model import entries as said
from ..model.entries import Draft, OfCustody
from ..model.sample import Sample
from ..model.times import MINUTE_US
from .custody_parts import Gap, Link, Reading, Span, Stay, Struck
from .limits import Limits


@dataclass
class Line:
    """The whole line of one jar: its links in the order of the record, and what follows from them."""

    sample: Sample
    links: list[Link]
    loose: list[Reading] = field(default_factory=list)
    stays: list[Stay] = field(default_factory=list)
    explanations: list[tuple[str, str, int]] = field(default_factory=list)
    spans: tuple[Span, ...] = ()
    gaps: tuple[Gap, ...] = ()

    def at(self, us: int) -> tuple[str, str] | None:
        """(with whom, held | offered | query) at this instant; None before the jar was taken."""
        span = next((s for s in reversed(self.spans) if s.from_us <= us), None)
        if span is None:
            return None
        if any(gap.covers(us) and not gap.explained for gap in self.gaps):
            return span.holder, "query"
        for link in self.links:
            if link.giver is not None and _is_open_at(link, us):
                waits = any(r.at_us <= us and (r.unread or r.agrees is False) for r in link.readings)
                return span.holder, "query" if waits else "offered"
        return span.holder, "held"


@dataclass(frozen=True)
class Pending:
    """An open offer of one jar: who offers it to whom, since when (us UTC, as received)."""

    sample: Sample
    giver: str
    receiver: str
    since_us: int
    offer: str


def pending(samples: Iterable[Sample]) -> list[Pending]:
    """The offers among these jars that are open, oldest first; 15 and 60 minutes are the watch's limits."""
    found = [
        Pending(sample, sample.offer.by, sample.offer.to, sample.offer.received_us, sample.offer.id)
        for sample in samples
        if sample.offer is not None
    ]
    return sorted(found, key=lambda one: (one.since_us, one.sample.id))


def custody_lines(samples: Iterable[Sample], drafts: Iterable[Draft], limits: Limits) -> dict[str, Line]:
    """The line of each of these jars by id. `drafts` are their chains' entries on custody, in their order."""
    lines = {sample.id: Line(sample, [_collected(sample)]) for sample in samples}
    for draft in drafts:
        if isinstance(draft.body, OfCustody):
            for id_ in draft.body.samples:
                if id_ in lines:
                    _take(lines[id_], draft)
    for line in lines.values():
        line.spans = _spans(line.links)
        gaps = sorted((*_gaps(line.links, limits), *_unlocked(line)), key=lambda gap: gap.from_us)
        line.gaps = _explained(gaps, line.explanations)
    return lines


def with_whom(lines: Mapping[str, Line], us: int) -> list[tuple[Sample, str, str]]:
    """(jar, holder, state) of each jar that had been taken by this instant."""
    found = [(line.sample, line.at(us)) for line in lines.values()]
    return [(sample, *at) for sample, at in found if at is not None]


def _collected(sample: Sample) -> Link:
    """Taking opens the line: at the time told, else when the jar was told of."""
    told = sample.instant("time")
    return Link(
        id=sample.id,
        giver=None,
        receiver=sample.declared_by,
        type="collected",
        place=sample.text("place"),
        offered_us=None,
        offered_at=None,
        offered_told_us=None,
        closed_us=told[0] if told is not None else sample.said_us,
        closed_at=told[1] if told is not None else None,
        closed_told_us=sample.received_us,
        ended="received",
    )


def _take(line: Line, draft: Draft) -> None:
    body = draft.body
    match body:
        case said.CustodyOffered():
            line.links.append(_offered(body, draft))
        case said.SealRead():
            _read(line, body, draft)
        case said.GapExplained():
            line.explanations.append((body.words, draft.author, draft.received_us))
        case said.JarsStored():
            since_us = draft.received_us if body.at_us is None else body.at_us
            line.stays.append(Stay(body.place, body.locked, since_us, draft.received_us))
        case OfCustody():
            _change(line, body, draft)


def _change(line: Line, body: OfCustody, draft: Draft) -> None:
    """What this entry says of a hand-over that is open, or of a time that was stated for any."""
    offer = getattr(body, "offer", None)
    link = next((one for one in line.links if one.id == offer), None)
    if link is not None and isinstance(body, said.HandOverTimeCorrected):
        _correct(link, body, draft)
    elif link is not None and link.ended == "open":
        _end(link, body, draft)


def _offered(body: said.CustodyOffered, draft: Draft) -> Link:
    return Link(
        id=body.offer,
        giver=body.giver or draft.author,
        receiver=body.to,
        type=body.type,
        place=body.place,
        offered_us=draft.received_us if body.at_us is None else body.at_us,
        offered_at=body.at,
        offered_told_us=draft.received_us,
        carrier=body.carrier,
        container=body.container,
        coded=body.coded,
        authority=body.authority,
    )


def _read(line: Line, body: said.SealRead, draft: Draft) -> None:
    told = body.model_dump(include={"number", "tape", "unread", "condition", "agrees", "temperature"})
    reading = Reading(by=draft.author, at_us=draft.received_us, **told)
    link = next((one for one in line.links if one.id == body.offer and one.ended == "open"), None)
    if link is None:
        line.loose.append(reading)
        return
    link.readings = (*link.readings, reading)
    link.read_us = draft.received_us
    link.by_channel = draft.channel


def _correct(link: Link, body: said.HandOverTimeCorrected, draft: Draft) -> None:
    """The time stands corrected; told again with its reason, it is one correction."""
    struck = Struck(body.side, body.old, body.at, draft.author, draft.received_us, body.why)
    before = link.corrections[-1:]
    if before and (before[0].side, before[0].new) == (body.side, body.at):
        struck = replace(struck, old=before[0].old)
        link.corrections = link.corrections[:-1]
    link.corrections = (*link.corrections, struck)
    if body.side == "offered":
        link.offered_us, link.offered_at = body.at_us, body.at
    else:
        link.closed_us, link.closed_at = body.at_us, body.at


def _end(link: Link, body: OfCustody, draft: Draft) -> None:
    match body:
        case said.DifferenceAnswered():
            link.answers = (*link.answers, body.words)
        case said.CustodyReceived():
            link.ended, link.ended_us = "received", draft.received_us
            link.closed_us = draft.received_us if body.at_us is None else body.at_us
            link.closed_at, link.closed_told_us = body.at, draft.received_us
            link.by_channel = "paper" if body.paper else draft.channel
            link.coded = body.coded
            link.on_phone_of = body.on_phone_of
        case said.PaperKept():
            link.papers = (*link.papers, body.photo.sha256)
        case said.CustodyRefused():
            link.ended, link.ended_us, link.why = "refused", draft.received_us, body.why
            link.by_channel = draft.channel
        case said.OfferWithdrawn():
            link.ended, link.ended_us, link.why = "withdrawn", draft.received_us, body.why


def _is_open_at(link: Link, us: int) -> bool:
    if link.offered_us is None or us < link.offered_us:
        return False
    end = link.closed_us if link.ended == "received" else link.ended_us
    return end is None or us < end


def _moves(links: Iterable[Link]) -> list[Link]:
    return [link for link in links if link.ended == "received"]


def _spans(links: list[Link]) -> tuple[Span, ...]:
    """One holder at every instant; times that run backwards never overlap here, they are gaps beside."""
    found: list[Span] = []
    last_us = 0
    for link in _moves(links):
        last_us = max(last_us, link.closed_us or 0)
        if found:
            found[-1] = Span(found[-1].holder, found[-1].from_us, last_us, found[-1].place)
        found.append(Span(link.receiver, last_us, None, link.place))
    return tuple(found)


def _gaps(links: list[Link], limits: Limits) -> list[Gap]:
    """Minutes without a holder or with two, and receipts before their release."""
    found: list[Gap] = []
    before_us = None
    for link in _moves(links):
        closed_us, known_us = link.closed_us or 0, link.closed_told_us or 0
        released_us = link.offered_us if link.offered_at is not None else None
        if released_us is not None:
            found.extend(_between(released_us, closed_us, known_us, link.carrier, limits))
        if before_us is not None and closed_us < before_us:
            found.append(Gap(closed_us, before_us, "two holders", known_us))
        before_us = max(closed_us, before_us or 0)
    return found


def _between(
    released_us: int, closed_us: int, known_us: int, carrier: str | None, limits: Limits
) -> tuple[Gap, ...]:
    """What lies between a stated release and the receipt, where no carrier is named."""
    if closed_us < released_us:
        return (Gap(closed_us, released_us, "receipt before release", known_us),)
    if carrier is None and closed_us - released_us > limits.custody_carrier_minutes * MINUTE_US:
        return (Gap(released_us, closed_us, "no holder", known_us),)
    return ()


def is_gap(released_us: int, closed_us: int, carrier: str | None, limits: Limits) -> bool:
    """Whether a receipt at this time leaves minutes open after a release stated for that one."""
    return bool(_between(released_us, closed_us, closed_us, carrier, limits))


def _unlocked(line: Line) -> list[Gap]:
    """The time in a place that was not said to be locked, up to the next place or the next hand-over."""
    moves = [link.closed_us or 0 for link in _moves(line.links)]
    turns = sorted((*(stay.from_us for stay in line.stays), *moves))
    return [
        Gap(
            stay.from_us,
            next((us for us in turns if us > stay.from_us), None),
            "lock not stated" if stay.locked is None else "place without lock",
            stay.told_us,
        )
        for stay in line.stays
        if stay.locked is not True
    ]


def _explained(gaps: list[Gap], explanations: list[tuple[str, str, int]]) -> tuple[Gap, ...]:
    """Each gap with the statements that were given once it was on record."""
    return tuple(
        replace(gap, explained=tuple(one for one in explanations if one[2] >= gap.known_us)) for gap in gaps
    )
