"""Texts made whole from the parts that a modem's program keeps."""

from __future__ import annotations

import hmac
from collections.abc import Iterable
from dataclasses import dataclass, field

from ..model.modem import HeardPart

PATIENCE_US = 120_000_000  # parts come within seconds, and again after the program was killed


@dataclass(frozen=True)
class Whole:
    """One text. `key` is the same however often it comes; `rows` are acknowledged with it."""

    sender: str
    text: str
    key: str
    sent_us: int | None
    rows: tuple[int, ...]
    unread: str | None = None


@dataclass
class _Pile:
    """Parts of one text; one that came twice counts once."""

    total: int
    parts: dict[int, HeardPart] = field(default_factory=dict)
    rows: list[int] = field(default_factory=list)

    def takes(self, place: int, part: HeardPart) -> bool:
        """True where the part is now on this pile: its place was free, or holds the same."""
        if self.parts.setdefault(place, part).octets != part.octets:
            return False
        self.rows.append(part.row)
        return True

    @property
    def ready_parts(self) -> list[HeardPart]:
        return [self.parts[place] for place in sorted(self.parts)]


def whole(parts: Iterable[HeardPart], now_us: int, under: bytes, *, giving: bool) -> list[Whole]:
    """The texts that are complete, in the order in which they began, their keys made under the store's own.

    Where the program is there and giving, parts that waited long for others are texts by themselves.
    """
    piles: list[_Pile] = []
    open_: dict[tuple[str, int, int], _Pile] = {}
    for part in parts:
        reference, total, place = _place(part.header)
        name = (part.sender, reference, total)
        if total > 1 and name in open_ and open_[name].takes(place, part):
            continue
        pile = _Pile(total)
        pile.takes(place, part)
        piles.append(pile)
        if total > 1:
            open_[name] = pile
    found = []
    for pile in piles:
        if len(pile.parts) == pile.total:
            found.append(_joined(pile.ready_parts, pile.rows, under))
        elif giving and all(now_us - part.kept_us > PATIENCE_US for part in pile.ready_parts):
            found += [_joined([part], [part.row], under) for part in pile.ready_parts]
    return found


def _joined(parts: list[HeardPart], rows: list[int], under: bytes) -> Whole:
    first = parts[0]
    octets = b"".join(part.octets for part in parts)
    made = hmac.new(under, digestmod="sha256")  # the words go in: a code among them stays hidden
    for part in parts:
        for one in (part.sender.encode(), part.stamp.encode(), part.header, part.octets):
            made.update(len(one).to_bytes(4) + one)
    binary = any(part.binary for part in parts)
    return Whole(
        sender=first.sender,
        text="" if binary else octets.decode("utf-16-be", "replace"),
        key=made.hexdigest(),
        sent_us=first.sent_us,
        rows=tuple(rows),
        unread=octets.hex() if binary else None,
    )


def _place(header: bytes) -> tuple[int, int, int]:
    """(reference, parts, place), (0, 1, 1) of a text in one: 3GPP TS 23.040, 9.2.3.24.1 and .8."""
    rest = header[1:]
    while len(rest) >= 2:
        element, length = rest[0], rest[1]
        told, rest = rest[2 : 2 + length], rest[2 + length :]
        if (element, len(told)) in ((0, 3), (8, 4)):
            total, place = told[-2:]
            if 0 < place <= total:
                return int.from_bytes(told[:-2]), total, place
    return 0, 1, 1
