"""What a line of custody is made of: hand-overs, readings, places, gaps, and with whom a jar was."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Reading:
    """A seal as somebody read it off the jar; `at_us` when it was received."""

    by: str
    at_us: int
    number: str | None
    tape: str | None
    unread: bool
    condition: str | None
    agrees: bool | None
    temperature: str | None


@dataclass(frozen=True)
class Struck:
    """A time of a hand-over that its author took back: `side` is offered or closed, times ISO 8601."""

    side: str
    old: str | None
    new: str
    by: str
    received_us: int
    why: str | None


@dataclass
class Link:
    """One hand-over, or an attempt at one. Instants in us UTC; `*_at` as stated, None where not stated.

    `ended` is open, received, refused or withdrawn; `why` are the words of who ended it otherwise.
    """

    id: str
    giver: str | None
    receiver: str
    type: str
    place: str | None
    offered_us: int | None
    offered_at: str | None
    offered_told_us: int | None
    carrier: str | None = None
    container: str | None = None
    coded: bool | None = None
    on_phone_of: str | None = None
    papers: tuple[str, ...] = ()
    corrections: tuple[Struck, ...] = ()
    authority: str | None = None
    read_us: int | None = None
    closed_us: int | None = None
    closed_at: str | None = None
    closed_told_us: int | None = None
    by_channel: str | None = None
    ended: str = "open"
    ended_us: int | None = None
    why: str | None = None
    answers: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()

    @property
    def exceptions(self) -> tuple[str, ...]:
        """What the readings of this link showed, each once: mismatched, unread, cut, leaking ..."""
        found: list[str] = []
        for reading in self.readings:
            found += ["unread"] if reading.unread else ["mismatched"] if reading.agrees is False else []
            found += [reading.condition] if reading.condition not in (None, "whole") else []
        if self.by_channel == "paper":
            found.append("paper")
        return tuple(dict.fromkeys(found))


@dataclass(frozen=True)
class Gap:
    """Minutes that the line leaves open, from and to (None: still) in us UTC, known since `known_us`.

    `explained` are the human statements given since, each (words, by, received us).
    """

    from_us: int
    to_us: int | None
    why: str
    known_us: int
    explained: tuple[tuple[str, str, int], ...] = ()

    def covers(self, us: int) -> bool:
        """True where this instant lies in it."""
        return self.from_us <= us and (self.to_us is None or us < self.to_us)


@dataclass(frozen=True)
class Stay:
    """A place that the jar was put in, from when (us UTC), told when; `locked` None: nobody said."""

    place: str
    locked: bool | None
    from_us: int
    told_us: int


@dataclass(frozen=True)
class Span:
    """With whom the jar is on record from when to when (None: still), and in which place."""

    holder: str
    from_us: int
    to_us: int | None
    place: str | None
