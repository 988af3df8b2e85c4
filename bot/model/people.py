"""The unit as the unit chain makes it: people, kits, coolers, the watch and the settings in force."""

from __future__ import annotations

from collections.abc import Container

from . import entries as said
from .base import Frozen, JsonValue
from .entries import Draft
from .kit import Stock, fold_stock


class Person(Frozen):
    """Somebody enrolled. `addresses` like "sms:+447700900001", from the side table."""

    name: str
    roles: tuple[str, ...]
    addresses: tuple[str, ...] = ()
    gloves: str | None = None
    language: str | None = None
    active: bool = True

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

    def with_role(self, *roles: str) -> tuple[Person, ...]:
        """Everybody in service who has one of these roles, by name."""
        people = (self.people[name] for name in sorted(self.people))
        return tuple(person for person in people if person.active and person.has(*roles))

    def reachable(self, *roles: str) -> tuple[Person, ...]:
        """`with_role`, of those only who have an address."""
        return tuple(person for person in self.with_role(*roles) if person.addresses)


def fold_unit(unit: Unit, draft: Draft, addresses: tuple[str, ...] = ()) -> Unit:
    """The unit after this entry; `addresses` are the ones its commitments stand for."""
    body = draft.body
    match body:
        case said.UnitSet():
            change: dict[str, object] = body.model_dump(include={"name", "zone", "area", "region"})
        case said.PersonSet():
            known = body.model_dump(exclude={"sample", "addresses"})
            person = Person(**known, addresses=addresses)
            change = {"people": {**unit.people, body.name: person}}
        case said.KitSet():
            kit = Kit(**body.model_dump(exclude={"sample"}))
            change = {"kits": {**unit.kits, body.name: kit}}
        case said.CoolerSet():
            cooler = Cooler(name=body.name, cooler_class=body.cooler_class)
            change = {"coolers": {**unit.coolers, body.name: cooler}}
        case said.WatchSet():
            change = {"watch": body}
        case said.LimitSet():
            change = {"limits": {**unit.limits, body.name: body.value}}
        case _:
            return _fold_told(unit, draft)
    return unit.model_copy(update=change)


def _fold_told(unit: Unit, draft: Draft) -> Unit:
    """The unit after what people told of it, unchanged by any other entry."""
    body = draft.body
    match body:
        case said.KitStocked() | said.KitInspected() | said.KitUsed() | said.KitRestocked():
            stock = fold_stock(unit.stock.get(body.kit), draft)
            return unit.model_copy(update={"stock": {**unit.stock, body.kit: stock}})
        case said.GlovesTold() if body.person in unit.people:
            person = unit.people[body.person].model_copy(update={"gloves": body.size})
            return unit.model_copy(update={"people": {**unit.people, body.person: person}})
        case said.PersonOut() | said.PersonBack() | said.WatchStood():
            now = _whereabouts(unit.whereabouts.get(draft.author, Whereabouts()), draft)
            return unit.model_copy(update={"whereabouts": {**unit.whereabouts, draft.author: now}})
        case _:
            return unit


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
