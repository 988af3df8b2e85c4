"""The unit as the unit chain makes it: people, kits, coolers, the watch and the settings in force."""

from __future__ import annotations

from collections.abc import Callable, Container
from typing import Any

from . import entries as said
from .base import Frozen, JsonValue
from .entries import Draft
from .kit import Stock, fold_stock
from .times import DAY_US

TRIES_KEPT = 20


class Person(Frozen):
    """Somebody enrolled. `addresses` like "sms:+447700900001", from the side table.

    `by_code` are those of them that a code enrolled, `revoked` those that were theirs; `tries_us` the last
    wrong codes, `has_code` whether they have a personal one; `told` that what is texted may be disclosed.
    """

    name: str
    roles: tuple[str, ...]
    addresses: tuple[str, ...] = ()
    gloves: str | None = None
    language: str | None = None
    active: bool = True
    by_code: tuple[str, ...] = ()
    revoked: tuple[str, ...] = ()
    has_code: bool = False
    tries_us: tuple[int, ...] = ()
    told: bool = False

    def has(self, *roles: str) -> bool:
        """True where one of these roles is theirs."""
        return any(role in self.roles for role in roles)

    def address_by(self, channels: Container[str]) -> str | None:
        """Their first address that one of these channels reaches, else their first, None without any."""
        reached = [one for one in self.addresses if one.partition(":")[0] in channels]
        return next(iter((*reached, *self.addresses)), None)


class Kit(Frozen):
    """A kit: its block of sample numbers and range of seals, both ends included."""

    name: str
    numbers: tuple[int, int] | None = None
    seals: tuple[str, str] | None = None
    training: bool = False


class Cooler(Frozen):
    """A cooler or fridge, with its class by name."""

    name: str
    cooler_class: str


class Whereabouts(Frozen):
    """Where somebody said they are. Instants in microseconds UTC; `back_us` None while they are out."""

    out_us: int | None = None
    till: str | None = None
    till_us: int | None = None
    afloat: bool = False
    words: str = ""
    back_us: int | None = None
    watch_until_us: int = 0

    @property
    def is_out(self) -> bool:
        """True from their word that they are out until their word that they are back."""
        return self.out_us is not None and self.back_us is None


class Strangers(Frozen):
    """A day of strangers from its first: how many were answered, and what was reported of them."""

    since_us: int = 0
    answered: int = 0
    reported: tuple[str, ...] = ()

    def at(self, us: int) -> Strangers:
        """This day of strangers, or a new one where it is over."""
        return self if us - self.since_us < DAY_US else Strangers(since_us=us)


class Unit(Frozen):
    """Everything the unit chain says, as it stands."""

    name: str = ""
    zone: str = "UTC"
    area: JsonValue = None
    region: str | None = None
    people: dict[str, Person] = {}
    kits: dict[str, Kit] = {}
    coolers: dict[str, Cooler] = {}
    stock: dict[str, Stock] = {}
    whereabouts: dict[str, Whereabouts] = {}
    watch: said.WatchSet = said.WatchSet()
    limits: dict[str, JsonValue] = {}
    laboratory: said.LaboratorySet | None = None
    strangers: Strangers = Strangers()

    def with_role(self, *roles: str) -> tuple[Person, ...]:
        """Everybody in service who has one of these roles, by name."""
        people = (self.people[name] for name in sorted(self.people))
        return tuple(person for person in people if person.active and person.has(*roles))

    def language_of(self, name: str) -> str | None:
        """The language that this person chose, None for none and for nobody's name."""
        person = self.people.get(name)
        return None if person is None else person.language

    def reachable(self, *roles: str) -> tuple[Person, ...]:
        """`with_role`, of those only who have an address."""
        return tuple(person for person in self.with_role(*roles) if person.addresses)

    def owners(self) -> dict[str, tuple[str, str]]:
        """Whose each address is: (person, enrolled, retired or revoked); an address is one person's."""
        owners: dict[str, tuple[str, str]] = {}
        for name in sorted(self.people):
            person = self.people[name]
            for address in person.addresses:
                owners.setdefault(address, (name, "enrolled" if person.active else "retired"))
        for name in sorted(self.people):
            for address in self.people[name].revoked:
                owners.setdefault(address, (name, "revoked"))
        return owners

    def enrolled(self) -> dict[str, str]:
        """Who speaks from which address."""
        return {address: name for address, (name, state) in self.owners().items() if state == "enrolled"}


def fold_unit(unit: Unit, draft: Draft, addresses: tuple[str, ...] = ()) -> Unit:
    """The unit after this entry; `addresses` are the ones its commitments stand for."""
    change = CHANGES.get(type(draft.body))
    return unit if change is None else unit.model_copy(update=change(unit, draft, addresses))


def _unit(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return draft.body.model_dump(include={"name", "zone", "area", "region"})


def _person(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    """What the line learned of a known person stays: codes, tries, revoked addresses."""
    told = draft.body.model_dump(exclude={"sample", "addresses"})
    known = unit.people.get(told["name"])
    if known is None:
        return {"people": {**unit.people, told["name"]: Person(**told, addresses=addresses)}}
    kept = {
        "by_code": tuple(one for one in known.by_code if one in addresses),
        "revoked": tuple(one for one in known.revoked if one not in addresses),
    }
    return _changed(unit, known, {**told, **kept, "addresses": addresses})


def _changed(unit: Unit, person: Person, change: dict[str, object]) -> dict[str, object]:
    return {"people": {**unit.people, person.name: person.model_copy(update=change)}}


def _of_person(change: Callable[[Person, Draft, tuple[str, ...]], dict[str, object]]) -> _Change:
    """What an entry changes of the person it names; of nobody's where the unit does not know them."""

    def of_unit(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
        person = unit.people.get(getattr(draft.body, "name", None) or "")
        return {} if person is None else _changed(unit, person, change(person, draft, addresses))

    return of_unit


def _enrolled(person: Person, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    def also(known: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*known, *addresses)))

    left = tuple(one for one in person.revoked if one not in addresses)
    return {"addresses": also(person.addresses), "by_code": also(person.by_code), "revoked": left}


def _revoked(person: Person, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return {
        "addresses": tuple(one for one in person.addresses if one not in addresses),
        "by_code": tuple(one for one in person.by_code if one not in addresses),
        "revoked": tuple(dict.fromkeys((*person.revoked, *addresses))),
    }


def _issued(person: Person, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    body = draft.body
    personal = isinstance(body, said.CodeIssued) and body.purpose == "personal"
    return {"has_code": True, "tries_us": ()} if personal else {}


def _refused(person: Person, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return {"tries_us": (*person.tries_us, draft.received_us)[-TRIES_KEPT:]}


def _told(person: Person, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return {"told": True}


def _kit(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    kit = Kit(**draft.body.model_dump(exclude={"sample"}))
    return {"kits": {**unit.kits, kit.name: kit}}


def _cooler(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    cooler = Cooler(**draft.body.model_dump(exclude={"sample"}))
    return {"coolers": {**unit.coolers, cooler.name: cooler}}


def _without(held: dict[str, Any], draft: Draft) -> dict[str, Any]:
    gone = draft.body.model_dump(include={"name"})["name"]
    return {name: one for name, one in held.items() if name != gone}


def _no_kit(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return {"kits": _without(unit.kits, draft)}


def _no_cooler(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return {"coolers": _without(unit.coolers, draft)}


def _laboratory(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return {"laboratory": draft.body}


def _watch(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    return {"watch": draft.body}


def _limit(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    told = draft.body.model_dump()
    return {"limits": {**unit.limits, told["name"]: told["value"]}}


def _stranger(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    body = draft.body
    if not isinstance(body, said.StrangerHeard):
        return {}
    day = unit.strangers.at(draft.received_us)
    change: dict[str, object] = {"answered": day.answered + int(body.answered)}
    if body.reported is not None:
        change["reported"] = (*day.reported, body.reported)
    return {"strangers": day.model_copy(update=change)}


def _stock(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    kit = str(draft.body.model_dump(include={"kit"})["kit"])
    return {"stock": {**unit.stock, kit: fold_stock(unit.stock.get(kit), draft)}}


def _gloves(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    told = draft.body.model_dump(include={"person", "size"})
    person = unit.people.get(told["person"])
    return {} if person is None else _changed(unit, person, {"gloves": told["size"]})


def _out(unit: Unit, draft: Draft, addresses: tuple[str, ...]) -> dict[str, object]:
    now = _whereabouts(unit.whereabouts.get(draft.author, Whereabouts()), draft)
    return {"whereabouts": {**unit.whereabouts, draft.author: now}}


def _whereabouts(known: Whereabouts, draft: Draft) -> Whereabouts:
    body = draft.body
    if isinstance(body, said.WatchStood):
        return known.model_copy(update={"watch_until_us": body.until_us})
    if not isinstance(body, said.PersonOut):
        return known.model_copy(update={"back_us": draft.said_us, "afloat": False})
    told: dict[str, object] = {"back_us": None, "afloat": body.afloat or (known.is_out and known.afloat)}
    if not known.is_out:
        told |= {"out_us": draft.said_us, "till": None, "till_us": None, "words": ""}
    if body.till_us is not None:
        told |= {"till": body.till, "till_us": body.till_us, "words": body.words}
    return known.model_copy(update=told)


_Change = Callable[[Unit, Draft, tuple[str, ...]], dict[str, object]]
# Every kind of entry that changes the unit, with what it changes.
CHANGES: dict[type[said.Body], _Change] = {
    said.UnitSet: _unit,
    said.PersonSet: _person,
    said.KitSet: _kit,
    said.CoolerSet: _cooler,
    said.KitRetired: _no_kit,
    said.CoolerRetired: _no_cooler,
    said.WatchSet: _watch,
    said.LaboratorySet: _laboratory,
    said.LimitSet: _limit,
    said.KitStocked: _stock,
    said.KitInspected: _stock,
    said.KitUsed: _stock,
    said.KitRestocked: _stock,
    said.GlovesTold: _gloves,
    said.PersonOut: _out,
    said.PersonBack: _out,
    said.WatchStood: _out,
    said.StrangerHeard: _stranger,
    said.CodeIssued: _of_person(_issued),
    said.CodeRefused: _of_person(_refused),
    said.AddressesEnrolled: _of_person(_enrolled),
    said.AddressesRevoked: _of_person(_revoked),
    said.DisclosureTold: _of_person(_told),
}
