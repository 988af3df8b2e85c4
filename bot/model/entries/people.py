"""Who is at the other end: codes, addresses that come and go, and what was told to whom."""

from __future__ import annotations

from .base import Body

__all__ = [
    "AddressesEnrolled",
    "AddressesRevoked",
    "CodeIssued",
    "CodeRefused",
    "DisclosureTold",
    "FloodStopped",
    "MessagesAdopted",
    "SpeakerChanged",
]


class CodeIssued(Body):
    """A code was shown at the shell for this person; `purpose` is enrol, personal or once."""

    name: str
    purpose: str
    until_us: int


class CodeRefused(Body):
    """A code that was not good was texted, as this person's or (None) as an enrolment; from an address."""

    name: str | None
    address: str
    why: str


class AddressesEnrolled(Body):
    """These addresses (commitments) are this person's too from now on."""

    name: str
    addresses: tuple[str, ...]
    how: str


class AddressesRevoked(Body):
    """These addresses (commitments) are nobody's from now on; what they send is kept apart."""

    name: str
    addresses: tuple[str, ...]
    why: str


class MessagesAdopted(Body):
    """Messages (SHA-256) that waited from an address are this person's, with the times they came in."""

    name: str
    address: str
    messages: tuple[str, ...]


class FloodStopped(Body):
    """More texts came from an address than people send: for a while the next ones are not kept."""

    address: str


class SpeakerChanged(Body):
    """From now on until then, what comes from another's phone is this person's."""

    name: str
    phone_of: str
    until_us: int


class DisclosureTold(Body):
    """This person was told that what is texted here may be disclosed."""

    name: str
