"""A jar, with everything that is known of it. Only `fold_sample.fold` makes or changes one."""

from __future__ import annotations

from .base import Frozen, JsonValue, KeptValue
from .custody import Custody, Offer


class Fact(Frozen):
    """The value that stands for a field, the words it was told in, by whom and when (us UTC)."""

    value: KeptValue
    raw: str
    by: str
    said_us: int
    received_us: int
    copied_from: str | None = None


class Correction(Frozen):
    """A struck value beside the one that followed it. `sort` as in the output's list."""

    field: str
    old: str | None
    new: str
    by: str
    said_us: int
    received_us: int
    why: str | None
    sort: str


class Query(Frozen):
    """What differs from which rule, and how a person answered."""

    id: str
    field: str
    rule: str
    text: str
    raised_us: int
    open: bool = True
    how: str | None = None


class Photo(Frozen):
    """A file that shows the jar, or one that was announced and has not come (`sha256` None)."""

    sha256: str | None
    state: str
    camera_time: str | None = None


class Account(Frozen):
    """Another telling of the same jar: facts by field, as told."""

    by: str
    said_us: int
    received_us: int
    sort: str
    facts: dict[str, Fact]


class Sample(Frozen):
    """One jar. `facts` by field id (see `rules/tables/sample.toml`); `number` as typed."""

    id: str
    case: str
    number: str
    number_key: str
    declared_by: str
    said_us: int
    received_us: int
    facts: dict[str, Fact] = {}
    corrections: tuple[Correction, ...] = ()
    queries: tuple[Query, ...] = ()
    photos: tuple[Photo, ...] = ()
    accounts: tuple[Account, ...] = ()
    confirmed: bool = False
    struck: str | None = None
    apart_from: str | None = None
    number_open: bool = False
    evidence_asked_by: str | None = None
    evidence_number: str | None = None
    without_code: bool = False
    custody: Custody | None = None

    def value(self, field: str) -> JsonValue:
        """What stands for a field, None where nothing was told."""
        fact = self.facts.get(field)
        return None if fact is None else fact.value

    def text(self, field: str) -> str | None:
        """The value of a field that is a plain word, None where nothing was told."""
        fact = self.facts.get(field)
        return fact.value if fact is not None and isinstance(fact.value, str) else None

    def told(self, field: str) -> dict[str, JsonValue]:
        """The value of a field that has parts, empty where none were told."""
        fact = self.facts.get(field)
        return fact.value if fact is not None and isinstance(fact.value, dict) else {}

    @property
    def seal(self) -> str | None:
        """The seal's printed number, None for tape or nothing told."""
        number = self.told("seal").get("number")
        return str(number) if number else None

    def instant(self, field: str) -> tuple[int, str] | None:
        """(microseconds UTC, ISO 8601 as stated) of a field that is a time, None where nothing was told."""
        told = self.told(field)
        at_us = told.get("at_us")
        return (at_us, str(told["at"])) if isinstance(at_us, int) else None

    @property
    def event_us(self) -> int | None:
        """When it was taken, as told."""
        at_us = self.told("time").get("at_us")
        return at_us if isinstance(at_us, int) else None

    @property
    def place(self) -> tuple[float, float] | None:
        """(lat, lon) in WGS84 degrees, None where no position was told."""
        told = self.told("position")
        lat, lon = told.get("lat"), told.get("lon")
        return (lat, lon) if isinstance(lat, (int, float)) and isinstance(lon, (int, float)) else None

    @property
    def holder(self) -> str:
        """With whom the jar is on record: who told of it, until another has taken it."""
        return self.declared_by if self.custody is None else self.custody.holder

    @property
    def offer(self) -> Offer | None:
        """The hand-over that is open, None where none is."""
        return None if self.custody is None else self.custody.offer

    @property
    def is_open(self) -> bool:
        """Its author has not agreed to a read-back yet, or a query waits."""
        return self.struck is None and (not self.confirmed or self.open_query is not None)

    @property
    def open_query(self) -> Query | None:
        """The oldest query that nobody answered."""
        return next((query for query in self.queries if query.open), None)
