"""With whom a jar is, as its entries make it: small, because every jar carries it along.

The whole line of a jar, each reading and each attempt, is made from the entries (`rules/custody.py`).
"""

from __future__ import annotations

from functools import singledispatch

from . import entries as said
from .base import Frozen
from .entries import Body, Draft


class Offer(Frozen):
    """A hand-over that is open.

    `differs`: a reading held the jar back, until the giver `answered` and it is read again.
    `giver_read` is the number that the giver read off the jar when answering.
    """

    id: str
    by: str
    to: str
    type: str
    place: str | None = None
    at_us: int | None = None
    received_us: int
    agrees: bool | None = None
    unread: bool = False
    read_us: int | None = None
    condition: str | None = None
    differs: bool = False
    answered: bool = False
    giver_read: str | None = None


class Mark(Frozen):
    """What stays with the jar for ever.

    `sort` is mismatched, unread, cut, lifted, broken, leaking or damaged.
    """

    sort: str
    by: str
    received_us: int
    words: str


class Custody(Frozen):
    """With whom the jar is since when (us UTC), how it came there, and what is on offer."""

    holder: str
    since_us: int
    type: str = "collected"
    place: str | None = None
    offer: Offer | None = None
    marks: tuple[Mark, ...] = ()


def fold_custody(custody: Custody, draft: Draft) -> Custody:
    """The custody after this entry; unchanged where the entry does not speak of custody."""
    return custody.model_copy(update=_change(draft.body, custody, draft))


@singledispatch
def _change(body: Body, custody: Custody, draft: Draft) -> dict[str, object]:
    """What of the custody this entry changes; what stands in the line alone changes nothing."""
    return {}


@_change.register
def _(body: said.CustodyOffered, custody: Custody, draft: Draft) -> dict[str, object]:
    known = body.model_dump(include={"to", "type", "place", "at_us"})
    return {"offer": Offer(id=body.offer, by=draft.author, received_us=draft.received_us, **known)}


@_change.register
def _(body: said.SealRead, custody: Custody, draft: Draft) -> dict[str, object]:
    offer = custody.offer
    if offer is None or body.offer != offer.id or draft.author != offer.to:
        return {}
    apart = _is_apart(body, offer)
    told = {
        "agrees": body.agrees,
        "unread": body.unread,
        "read_us": draft.received_us,
        "condition": body.condition,
        "differs": apart or (offer.differs and not offer.answered),
        "answered": offer.answered and not apart,
    }
    return {"offer": offer.model_copy(update=told), "marks": _marked(custody, body, draft)}


def _is_apart(body: said.SealRead, offer: Offer) -> bool:
    """The reading holds the jar back: it is not what is on record, nor what the giver read since."""
    if body.unread:
        return not offer.answered
    giver = offer.giver_read
    return body.agrees is False and (giver is None or (body.number or "").upper() != giver.upper())


def _marked(custody: Custody, body: said.SealRead, draft: Draft) -> tuple[Mark, ...]:
    """The marks with what this reading adds; the same from the same reader counts once."""
    sorts = ["unread"] if body.unread else ["mismatched"] if body.agrees is False else []
    sorts += [body.condition] if body.condition not in (None, "whole") else []
    known = {(mark.sort, mark.by) for mark in custody.marks}
    fresh = [sort for sort in sorts if sort is not None and (sort, draft.author) not in known]
    told = (Mark(sort=sort, by=draft.author, received_us=draft.received_us, words=body.raw) for sort in fresh)
    return (*custody.marks, *told)


@_change.register
def _(body: said.DifferenceAnswered, custody: Custody, draft: Draft) -> dict[str, object]:
    offer = custody.offer
    if offer is None or offer.id != body.offer:
        return {}
    return {"offer": offer.model_copy(update={"answered": True, "giver_read": body.number})}


@_change.register
def _(body: said.CustodyReceived, custody: Custody, draft: Draft) -> dict[str, object]:
    offer = custody.offer
    if offer is None or offer.id != body.offer:
        return {}
    since_us = draft.received_us if body.at_us is None else body.at_us
    kept = {"type": offer.type, "place": offer.place, "offer": None}
    return {"holder": offer.to, "since_us": since_us, **kept}


@_change.register
def _(body: said.CustodyRefused, custody: Custody, draft: Draft) -> dict[str, object]:
    return _without(custody, body.offer)


@_change.register
def _(body: said.OfferWithdrawn, custody: Custody, draft: Draft) -> dict[str, object]:
    return _without(custody, body.offer)


def _without(custody: Custody, offer: str | None) -> dict[str, object]:
    ended = custody.offer is not None and custody.offer.id == offer
    return {"offer": None} if ended else {}
