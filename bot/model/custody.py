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
    carrier: str | None = None
    container: str | None = None
    paper: bool = False
    signed: bool = False
    received_us: int
    agrees: bool | None = None
    unread: bool = False
    was_read: bool = False
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


class NewSeal(Frozen):
    """A seal put on beside an older one, which stays on."""

    number: str
    by: str
    witness: str | None
    why: str
    received_us: int


class Box(Frozen):
    """What the jar is in, under a seal of its own; `key` is what it is looked up by."""

    name: str
    seal: str

    @property
    def key(self) -> str:
        """The name as it is compared."""
        return self.name.upper()


class Custody(Frozen):
    """With whom the jar is since when (us UTC), how it came there, and what is on offer.

    `last` is the hand-over by which it came; `retained` the order that keeps it; `acknowledged`: read one by
    one where it arrived in a box.
    """

    holder: str
    since_us: int
    type: str = "collected"
    place: str | None = None
    offer: Offer | None = None
    marks: tuple[Mark, ...] = ()
    seals: tuple[NewSeal, ...] = ()
    retained: str | None = None
    last: Offer | None = None
    acknowledged: bool = False
    box: Box | None = None

    @property
    def reseal(self) -> str | None:
        """The number of the seal put on last, None where the first one stands alone."""
        return self.seals[-1].number.upper() if self.seals else None


def fold_custody(custody: Custody, draft: Draft) -> Custody:
    """The custody after this entry; unchanged where the entry does not speak of custody."""
    return custody.model_copy(update=_change(draft.body, custody, draft))


@singledispatch
def _change(body: Body, custody: Custody, draft: Draft) -> dict[str, object]:
    """What of the custody this entry changes; what stands in the line alone changes nothing."""
    return {}


@_change.register
def _(body: said.CustodyOffered, custody: Custody, draft: Draft) -> dict[str, object]:
    known = body.model_dump(include={"to", "type", "place", "at_us", "carrier", "container", "paper"})
    giver = body.giver or draft.author
    return {"offer": Offer(id=body.offer, by=giver, received_us=draft.received_us, **known)}


@_change.register
def _(body: said.SealRead, custody: Custody, draft: Draft) -> dict[str, object]:
    offer = custody.offer
    if offer is None or body.offer != offer.id or draft.author != offer.to:
        own = draft.author == custody.holder and body.offer is None
        read = {"marks": _marked(custody, body, draft), "acknowledged": body.container is None}
        return read if own else {}
    apart = _is_apart(body, offer)
    told = {
        "agrees": body.agrees,
        "unread": body.unread,
        "was_read": offer.was_read or body.number is not None or body.tape is not None,
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
    alone = offer.container is None
    kept = {"type": offer.type, "place": offer.place, "offer": None, "acknowledged": alone, "last": offer}
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


@_change.register
def _(body: said.Resealed, custody: Custody, draft: Draft) -> dict[str, object]:
    told = {"number": body.number, "witness": body.witness, "why": body.why}
    fresh = NewSeal(by=draft.author, received_us=draft.received_us, **told)
    older = custody.seals
    if older and older[-1].number.upper() == body.number.upper():
        older = older[:-1]  # told again, with its witness
    if body.declared:
        return {"seals": (*older, fresh)}
    broken = Mark(sort="broken", by=draft.author, received_us=draft.received_us, words=body.why)
    known = any(mark.sort in ("broken", "cut", "lifted") for mark in custody.marks)
    return {"seals": (*older, fresh), "marks": custody.marks if known else (*custody.marks, broken)}


@_change.register
def _(body: said.JarsStored, custody: Custody, draft: Draft) -> dict[str, object]:
    return {"place": body.place, "type": "store"}


@_change.register
def _(body: said.ContainerSealed, custody: Custody, draft: Draft) -> dict[str, object]:
    return {"box": Box(name=body.container, seal=body.seal)}


@_change.register
def _(body: said.ContainerOpened, custody: Custody, draft: Draft) -> dict[str, object]:
    return {"box": None}


@_change.register
def _(body: said.PaperKept, custody: Custody, draft: Draft) -> dict[str, object]:
    offer = custody.offer
    if offer is None or offer.id != body.offer:
        return {}
    return {"offer": offer.model_copy(update={"signed": True})}


@_change.register
def _(body: said.RetentionOrdered, custody: Custody, draft: Draft) -> dict[str, object]:
    return {"retained": body.words}


@_change.register
def _(body: said.RetentionLifted, custody: Custody, draft: Draft) -> dict[str, object]:
    return {"retained": None}


@_change.register
def _(body: said.HandOverTimeCorrected, custody: Custody, draft: Draft) -> dict[str, object]:
    if custody.last is not None and custody.last.id == body.offer and body.side == "closed":
        return {"since_us": body.at_us}
    if custody.offer is not None and custody.offer.id == body.offer and body.side == "offered":
        return {"offer": custody.offer.model_copy(update={"at_us": body.at_us})}
    return {}
