"""What happens to a jar from hand to hand: offers, seals read, receipts, and what went wrong."""

from __future__ import annotations

from ..message import Attachment
from .base import OfCustody

__all__ = [
    "ContainerOpened",
    "ContainerSealed",
    "CustodyOffered",
    "CustodyReceived",
    "CustodyRefused",
    "DifferenceAnswered",
    "DisposalRefused",
    "GapExplained",
    "HandOverTimeCorrected",
    "JarsStored",
    "OfferWithdrawn",
    "PaperKept",
    "Resealed",
    "ResultAttached",
    "RetentionLifted",
    "RetentionOrdered",
    "SealRead",
]


class CustodyOffered(OfCustody):
    """Its holder offers these jars. `at` is ISO 8601 as stated, None where no time was; `at_us` UTC.

    `type` as in the list of custody; `place` where the jars will be, in the giver's words; `carrier` who
    carries them; `container` where they go as one box under its own seal; `giver` where it is not the author.
    `paper`: one side has no phone here and signed. `coded`: with a code of the author's own.
    `authority` and route of a disposal, in the author's words.
    """

    offer: str
    to: str
    type: str
    place: str | None = None
    at: str | None = None
    at_us: int | None = None
    carrier: str | None = None
    container: str | None = None
    giver: str | None = None
    paper: bool = False
    coded: bool | None = None
    authority: str | None = None


class SealRead(OfCustody):
    """Somebody read a seal off a jar, or off the `container` of these jars; every reading is an entry.

    `number` or `tape` as read, both None where it could not be read (`unread`). `condition` is None where
    it was not told. `agrees` is derived: None where nothing on record could be compared. `temperature`
    stands as typed.
    """

    offer: str | None = None
    number: str | None = None
    tape: str | None = None
    unread: bool = False
    raw: str
    container: str | None = None
    condition: str | None = None
    agrees: bool | None = None
    temperature: str | None = None
    coded: bool | None = None
    on_phone_of: str | None = None


class CustodyReceived(OfCustody):
    """The receiver has these jars now; `at` is the receiver's stated time, None where none was told.

    `paper`: closed by a supervisor from a photographed signature. `on_phone_of`: spoken on another's phone.
    """

    offer: str
    at: str | None = None
    at_us: int | None = None
    coded: bool | None = None
    on_phone_of: str | None = None
    paper: bool = False


class CustodyRefused(OfCustody):
    """The receiver does not take these jars; the giver has them still."""

    offer: str | None
    why: str


class OfferWithdrawn(OfCustody):
    """The giver took the offer of these jars back."""

    offer: str
    why: str | None = None


class DifferenceAnswered(OfCustody):
    """The giver looked at a jar whose seal was not read as on record; `number` is what they read on it."""

    offer: str
    words: str
    number: str | None = None


class GapExplained(OfCustody):
    """A human statement on minutes that the chain of custody leaves open; dated when it was given."""

    words: str


class Resealed(OfCustody):
    """A new seal stands beside the old one, which stays on; who saw it (None: not told), and why.

    `declared`: a laboratory's own, after its work, and no exception.
    """

    number: str
    witness: str | None
    why: str
    declared: bool = False


class JarsStored(OfCustody):
    """Their holder put these jars in a place; `locked` is None where nobody said."""

    place: str
    locked: bool | None
    at: str | None = None
    at_us: int | None = None


class ContainerSealed(OfCustody):
    """These jars are in a box or cooler under one seal."""

    container: str
    seal: str


class ContainerOpened(OfCustody):
    """The box or cooler with these jars was opened; each jar stands for itself again."""

    container: str
    words: str


class PaperKept(OfCustody):
    """A photo of what was signed on paper for these jars is on disk."""

    offer: str
    photo: Attachment
    caption: str = ""


class RetentionOrdered(OfCustody):
    """These jars are kept until the order is lifted; the order in its author's words."""

    words: str


class RetentionLifted(OfCustody):
    """No retention order stands for these jars any more, and why."""

    words: str


class DisposalRefused(OfCustody):
    """Somebody asked to dispose of these jars and a rule forbids it."""

    why: str
    words: str


class ResultAttached(OfCustody):
    """A laboratory's result on these jars, verbatim, with its file where one came."""

    words: str
    file: Attachment | None = None


class HandOverTimeCorrected(OfCustody):
    """The time that its author had stated for a hand-over is another; the first stays, struck in place.

    `side` is offered (the giver's) or closed (the receiver's); `old` as it stood, None where none was stated.
    """

    offer: str
    side: str
    at: str
    at_us: int
    old: str | None
    why: str | None
