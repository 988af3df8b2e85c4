"""What the engine sees of the store: the jars named, never a whole case, so that cost stays flat.

A lookup of what the desk has not read yet raises Missing; the desk reads it and asks again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields

from pydantic import TypeAdapter

from .alert import Alert
from .base import Frozen
from .case import Case
from .cold import Row, key_of, standing
from .entries import FactTold
from .keys import Key
from .message import Attachment, Incoming, MessageState
from .people import Person, Unit
from .sample import Sample
from .shelf import Shelf


class Missing(Exception):
    """The board does not hold these yet: read them and think again."""

    def __init__(self, *keys: Key) -> None:
        super().__init__(" ".join("/".join(key) for key in keys))
        self.keys = keys


class LoosePhoto(Frozen):
    """A kept file that nobody has assigned to a jar; `id` is its entry."""

    id: str
    chain: str
    photo: Attachment
    received_us: int


class Code(Frozen):
    """A code that the store knows: for what, whose ("person:R3", or an address), until when, used when."""

    purpose: str
    holder: str
    expires_us: int
    used_us: int | None = None


@dataclass(frozen=True)
class Conversation:
    """Where one address stands. Answers to a jar's questions are entries, not kept here.

    `question` is the id of the open question, about `sample` where it is a jar's; `waiting` are the
    jars last read back, at `shown_us`; `trail` the fields answered in this walk; `redo` a field taken back
    by WRONG; `told` the cases where it was said once what is missing. Of a stranger: answered at `stray_us`,
    wrong codes at `tries_us`, a call for help at `sos_us`. `speaker` is who speaks on it until then.
    """

    address: str
    case: str | None = None
    walk: str | None = None
    sample: str | None = None
    question: str | None = None
    answers: dict[str, FactTold] = field(default_factory=dict)
    skipped: tuple[str, ...] = ()
    trail: tuple[str, ...] = ()
    redo: str | None = None
    waiting: tuple[str, ...] = ()
    shown_us: int = 0
    offered: tuple[str, ...] = ()
    about: str | None = None
    told: tuple[str, ...] = ()
    stray_us: int | None = None
    sos_us: int | None = None
    tries_us: tuple[int, ...] = ()
    speaker: str | None = None
    speaker_until_us: int = 0

    def changed(self, change: Mapping[str, object]) -> Conversation:
        """This conversation with other values under these names. Raises AttributeError.

        `dataclasses.replace` at a tenth of its cost: every turn notes several changes.
        """
        if not change.keys() <= _NAMES:
            raise AttributeError(f"a conversation has no {', '.join(sorted(change.keys() - _NAMES))}")
        made = object.__new__(Conversation)
        made.__dict__.update(self.__dict__)
        made.__dict__.update(change)
        return made


_NAMES = frozenset(one.name for one in fields(Conversation))
# A dataclass and not a model: a turn notes several changes, and a model's copy costs three times as much.
CONVERSATION: TypeAdapter[Conversation] = TypeAdapter(Conversation)


# Which alerts stand under a key, by its first word.
ALERTS_UNDER: dict[str, Callable[[Alert, Key], bool]] = {
    "alert": lambda alert, key: alert.id == key[1],
    "alert_of": lambda alert, key: (alert.kind, alert.subject) == key[1:],
    "alerts_called": lambda alert, key: alert.is_open and alert.handle == key[1],
    "alerts_open": lambda alert, key: alert.is_open,
    "alert_pushed": lambda alert, key: alert.incident == key[1],
}


class Board:
    """The working copy of one gulp, over the jars at hand. `heads`: chain to (sequence, hash).

    `seen`: which of its messages are on record already, and as what; `changed`: the jars it changed.
    """

    def __init__(
        self,
        unit: Unit,
        cases: dict[str, Case],
        heads: dict[str, tuple[int, str]],
        people: dict[str, str],
        case_names: frozenset[str],
        shelf: Shelf,
    ) -> None:
        self.unit = unit
        self.shelf = shelf
        self.cases = cases
        self.heads = heads
        self.people_by_address = people
        self.case_names = case_names | frozenset(cases)
        self._in_capitals: dict[str, list[str]] | None = None
        self.seen: dict[str, MessageState] = {}
        self.commitments: dict[str, str] = {}
        self.codes: dict[str, Code] = {}
        self.closed: dict[str, Case | None] = {}
        self.quarantined: dict[str, list[tuple[Incoming, str]]] = {}
        self.changed: dict[str, Sample] = {}
        self.conversations: dict[str, Conversation] = {}
        self.loose: dict[str, dict[str, LoosePhoto]] = {}
        self.alerts: dict[str, Alert] = {}
        self.of_kit: dict[str, tuple[Sample, ...]] = {}
        self.heard: dict[str, int] = {}
        self.cold: dict[str, list[Row]] = {}
        self.lately: dict[str, list[Row]] = {}
        self._used: dict[Key, set[int]] = {}
        self._loaded: set[Key] = set()

    def person_at(self, address: str) -> Person | None:
        """Who is enrolled under this address, None for a stranger."""
        name = self.people_by_address.get(address)
        return None if name is None else self.unit.people.get(name)

    def need(self, keys: Iterable[Key]) -> None:
        """All of these were read. Raises Missing with those that were not, all at once."""
        lacking = [key for key in dict.fromkeys(keys) if not self.has(key)]
        if lacking:
            raise Missing(*lacking)

    def change_unit(self, unit: Unit) -> None:
        """The unit stands like this, and so does who speaks from which address."""
        if unit.people is not self.unit.people:
            self.people_by_address = unit.enrolled()
        self.unit = unit

    def commitment(self, address: str) -> str:
        """What stands in entries for an address. Raises Missing."""
        if address not in self.commitments:
            raise Missing(("commitment", address))
        return self.commitments[address]

    def behind(self, commitments: Iterable[str]) -> tuple[str, ...]:
        """The addresses that these commitments stand for, which a turn has looked up."""
        values = {commitment: value for value, commitment in self.commitments.items()}
        return tuple(values[commitment] for commitment in commitments)

    def cases_like(self, word: str) -> list[str]:
        """The names of the cases, open or closed, that are this word in any case of letters."""
        if self._in_capitals is None:
            self._in_capitals = {}
            for name in self.case_names:
                self._in_capitals.setdefault(name.upper(), []).append(name)
        return self._in_capitals.get(word.upper(), [])

    def any_case(self, name: str) -> Case | None:
        """An open or closed case, None where there is none. Raises Missing for a closed one not read yet."""
        if name in self.cases or name not in self.case_names:
            return self.cases.get(name)
        if name not in self.closed:
            raise Missing(("closed_case", name))
        return self.closed[name]

    def find(self, key: Key) -> list[Sample]:
        """The samples under a key, oldest first. Raises Missing where it was not read yet."""
        if key not in self.shelf.read:
            raise Missing(key)
        return self.shelf.find(key)

    def heard_us(self, person: str) -> int:
        """When this person last wrote, 0 for never. Raises Missing."""
        if person not in self.heard:
            raise Missing(("heard", person))
        return self.heard[person]

    def find_alerts(self, key: Key) -> list[Alert]:
        """The alerts under a key, oldest first. Raises Missing where it was not read yet."""
        if key not in self._loaded:
            raise Missing(key)
        if key[0] == "alert":  # the one way that many rows due at once ask
            return [self.alerts[key[1]]] if key[1] in self.alerts else []
        fits = ALERTS_UNDER[key[0]]
        return sorted((a for a in self.alerts.values() if fits(a, key)), key=lambda a: (a.raised_us, a.id))

    def used_numbers(self, case: str, kit: str) -> set[int]:
        """The numbers of a kit's block that jars of this case bear. Raises Missing."""
        key = ("used", case, kit)
        if key not in self._used:
            raise Missing(key)
        here = {int(s.number_key) for s in self.changed.values() if s.case == case and s.number_key.isdigit()}
        return self._used[key] | here

    def loose_of(self, person: str) -> dict[str, LoosePhoto]:
        """This person's files without a jar, by entry id. Raises Missing."""
        if person not in self.loose:
            raise Missing(("loose", person))
        return self.loose[person]

    def taken_with(self, kit: str) -> tuple[Sample, ...]:
        """The jars numbered from a kit's block since its inspection began. Raises Missing."""
        if kit not in self.of_kit:
            raise Missing(("kit", kit))
        stored = {sample.id: sample for sample in self.of_kit[kit]}
        here = {sample.id: sample for sample in self.changed.values() if self._is_of(sample, kit)}
        return tuple((stored | here).values())

    def _is_of(self, sample: Sample, kit: str) -> bool:
        """True for a working copy that was numbered from this kit's block since it was counted."""
        low, high = self.unit.kits[kit].numbers or (1, 0)
        stock, case = self.unit.stock.get(kit), self.cases.get(sample.case)
        since_us = stock.begun_us if stock is not None and stock.begun_us is not None else 0
        inside = sample.number_key.isdigit() and low <= int(sample.number_key) <= high
        fits = case is not None and case.exercise == self.unit.kits[kit].training
        return inside and fits and sample.received_us >= since_us

    def cold_rows_of(self, cooler: str) -> list[Row]:
        """What is on record of a cooler's life. Raises Missing."""
        key = key_of(cooler)
        if key not in self.cold:
            raise Missing(("cooler", key))
        return self.cold[key]

    def hear_cold(self, rows: Iterable[Row]) -> None:
        """The coolers that the board holds have heard this too."""
        for row in rows:
            self.hear_cold_under(("cooler", row[1]), row)
            self.hear_cold_under(("lately", row[1]), row)

    def hear_cold_under(self, key: Key, row: Row) -> None:
        """A cooler's life, or its last readings, have heard this too where the board holds them."""
        sort, cooler = key
        if sort == "cooler" and cooler in self.cold:
            self.cold[cooler].append(row)
        if sort == "lately" and cooler in self.lately:
            self.lately[cooler] = standing([*self.lately[cooler], row])

    def last_readings(self, cooler: str) -> list[Row]:
        """The last few readings of a cooler: enough to tell whether all is well. Raises Missing."""
        key = key_of(cooler)
        if key not in self.lately:
            raise Missing(("lately", key))
        return self.lately[key]

    def supply_alerts(self, key: Key, alerts: Iterable[Alert]) -> None:
        """What the store holds of alerts under a key is on the board; newer working copies stay."""
        for alert in alerts:
            self.alerts.setdefault(alert.id, alert)
        self._loaded.add(key)

    def supply_used(self, key: Key, numbers: Iterable[int]) -> None:
        """The numbers of a kit's block that the store knows are on the board."""
        self._used[key] = set(numbers)

    def has(self, key: Key) -> bool:
        """True where a lookup of this key needs no reading."""
        if key[0] == "loose":
            return key[1] in self.loose
        if key[0] == "kit":
            return key[1] in self.of_kit
        if key[0] == "cooler":
            return key[1] in self.cold
        if key[0] == "lately":
            return key[1] in self.lately
        return key in self.shelf.read or key in self._loaded or key in self._used

    def put_case(self, name: str, case: Case) -> None:
        """An open case is among the others; a closed one is found only by those who look for it."""
        self.case_names |= {name}
        self._in_capitals = None
        if case.state == "open":
            self.cases[name] = case
            self.closed.pop(name, None)
        else:
            self.cases.pop(name, None)
            self.closed[name] = case

    def put(self, sample: Sample) -> None:
        """This is how the sample stands now."""
        self.changed[sample.id] = sample
        self.shelf.put(sample)
