"""The setup file: what it says, and the entries that bring the unit there: no change, no entry."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from datetime import datetime
from typing import Annotated, Any, Literal, TypeAlias
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import Field, JsonValue, StringConstraints, ValidationError, field_validator, model_validator

from .model.base import Frozen
from .model.case import Case
from .model.entries import (
    Addition,
    Body,
    CaseChanged,
    CaseOpened,
    CoolerSet,
    KitSet,
    KitStocked,
    LaboratorySet,
    LimitSet,
    PersonSet,
    UnitSet,
    WatchSet,
)
from .model.errors import AskedWrongly
from .model.people import Unit
from .model.plainly import plainly
from .rules.area import Area
from .rules.kit import stock_of
from .rules.limits import limits_in_force
from .rules.par import BASIC_JARS
from .rules.phone_number import e164
from .rules.roles import ROLES
from .rules.worded import OFFERED

ClockTime: TypeAlias = Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]

INSTANT = "2026-10-12T09:00:00+01:00"


class _Unit(Frozen):
    name: str = Field(min_length=1, max_length=80)
    zone: str = "UTC"
    area: JsonValue = None
    region: str | None = None

    @field_validator("zone")
    @classmethod
    def _known(cls, zone: str) -> str:
        try:
            ZoneInfo(zone)
        except (ZoneInfoNotFoundError, ValueError) as problem:
            raise ValueError(f"{zone} is no zone of the IANA data; use one like Europe/Lisbon") from problem
        return zone

    @field_validator("area")
    @classmethod
    def _area(cls, area: JsonValue) -> JsonValue:
        if area is not None:
            if not isinstance(area, dict):
                raise ValueError("area is a table: south, north, west, east, or a GeoJSON polygon")
            Area.parse(area)
        return area


class _Person(Frozen):
    name: str = Field(min_length=1, max_length=40, pattern=r"^[^\s/:#]+$")
    roles: tuple[str, ...] = ("responder",)
    addresses: tuple[str, ...] = ()
    gloves: str | None = None
    language: str | None = None
    active: bool = True

    @field_validator("language")
    @classmethod
    def _language(cls, language: str | None) -> str | None:
        if language is not None and language not in OFFERED:
            raise ValueError(f"{language} is not spoken yet; offered: {', '.join(OFFERED)}")
        return language

    @field_validator("roles")
    @classmethod
    def _roles(cls, roles: tuple[str, ...]) -> tuple[str, ...]:
        unknown = sorted(set(roles) - ROLES.keys())
        if unknown:
            raise ValueError(f"{unknown[0]} is no role; roles are {', '.join(sorted(ROLES))}")
        return roles

    @field_validator("addresses")
    @classmethod
    def _addresses(cls, addresses: tuple[str, ...]) -> tuple[str, ...]:
        for address in addresses:
            channel, colon, account = address.partition(":")
            if not (channel and colon and account):
                raise ValueError(f"{address} is no address; write channel:account, like sms:+447700900001")
        return addresses


class _Kit(Frozen):
    name: str = Field(min_length=1, max_length=20, pattern=r"^\S+$")
    numbers: tuple[int, int] | None = None
    seals: tuple[str, str] | None = None
    training: bool = False
    jars: int = Field(BASIC_JARS, ge=1, le=200)
    vehicle: str | None = None
    cooler: str | None = None
    more: tuple[Addition, ...] = ()

    @field_validator("numbers")
    @classmethod
    def _order(cls, numbers: tuple[int, int] | None) -> tuple[int, int] | None:
        if numbers is not None and not 0 < numbers[0] <= numbers[1] < 1000:
            if 0 < numbers[1] < numbers[0] < 1000:
                raise ValueError(
                    f"first and last are the wrong way round; write [{numbers[1]}, {numbers[0]}]"
                )
            raise ValueError("numbers are [first, last], from 1 to 999")
        return numbers


class _Cooler(Frozen):
    name: str = Field(min_length=1, max_length=20, pattern=r"^\S+$")
    cooler_class: str = Field("50 L ordinary", alias="class")


class _Case(Frozen):
    name: str = Field(min_length=2, max_length=24, pattern=r"^[^\s/#]+$")
    exercise: bool = False
    people: tuple[str, ...] = ()
    kits: tuple[str, ...] = ()
    opened: str

    @field_validator("opened")
    @classmethod
    def _offset(cls, opened: str) -> str:
        try:
            instant = datetime.fromisoformat(opened)
        except ValueError as problem:
            raise ValueError(f"{opened[:40]!r} is no instant; write it like {INSTANT}") from problem
        if instant.tzinfo is None:
            raise ValueError(f"opened needs its offset, like {INSTANT}")
        return opened

    @field_validator("name")
    @classmethod
    def _not_unit(cls, name: str) -> str:
        if name.lower() == "unit":
            raise ValueError("a case cannot be called unit")
        return name


class _Watch(Frozen):
    quiet: tuple[ClockTime, ClockTime] | None = None
    ladder: tuple[str, ...] = ()
    ladder_minutes: int = Field(10, ge=1, le=240)
    digest: dict[str, ClockTime] = {}


Weekday: TypeAlias = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


class _Laboratory(Frozen):
    name: str = ""
    hours: dict[Weekday, tuple[ClockTime, ClockTime]] = {}
    closed: tuple[Annotated[str, StringConstraints(pattern=r"^\d{4}-\d\d-\d\d$")], ...] = ()
    courier_days: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri")
    courier_cutoff: ClockTime = "15:00"
    transit_hours: float = Field(20, gt=0, le=240)

    @field_validator("hours")
    @classmethod
    def _forward(cls, hours: dict[Weekday, tuple[str, str]]) -> dict[Weekday, tuple[str, str]]:
        for day, (opens, closes) in hours.items():
            if opens >= closes:
                raise ValueError(f"on {day} it closes before it opens; write [opens, closes]")
        return hours


class SetupFile(Frozen):
    """The whole file. Names in cases and ladder must be people of the file or of the unit."""

    unit: _Unit
    people: tuple[_Person, ...] = ()
    kits: tuple[_Kit, ...] = ()
    coolers: tuple[_Cooler, ...] = ()
    cases: tuple[_Case, ...] = ()
    watch: _Watch | None = None
    laboratory: _Laboratory | None = None
    limits: dict[str, JsonValue] = {}

    @model_validator(mode="after")
    def _whole(self) -> SetupFile:
        limits_in_force(self.limits)
        for names in (
            [p.name for p in self.people],
            [k.name for k in self.kits],
            [c.name for c in self.cases],
        ):
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise ValueError(f"{twice[0]} stands twice in the file")
        addresses = [address for person in self.people for address in person.addresses]
        shared = sorted({address for address in addresses if addresses.count(address) > 1})
        if shared:
            raise ValueError(f"{shared[0]} is the address of two people; give each their own")
        return self


def read_setup(text: str) -> SetupFile:
    """The file's contents. Raises AskedWrongly with one sentence that names the place."""
    try:
        return _with_whole_numbers(SetupFile.model_validate(tomllib.loads(text)))
    except tomllib.TOMLDecodeError as problem:
        raise AskedWrongly(f"The setup file is not TOML: {problem}.") from problem
    except ValidationError as problem:
        first = problem.errors()[0]
        place = _place(tomllib.loads(text), first["loc"]) or "the file"
        raise AskedWrongly(f"In the setup file, {place}: {plainly(first)}.") from problem


_ONE_OF = {"people": "person", "kits": "kit", "coolers": "cooler", "cases": "case"}


def _place(told: dict[str, Any], loc: tuple[int | str, ...]) -> str:
    """Where it stands as its writer would say it: "kit A, numbers", a table without a name by its place."""
    if len(loc) < 2 or loc[0] not in _ONE_OF or not isinstance(loc[1], int):
        return ".".join(map(str, loc))
    table, at = told[str(loc[0])], loc[1]
    one = table[at] if isinstance(table, list) else None
    name = one.get("name") if isinstance(one, dict) else None
    known = f"{_ONE_OF[str(loc[0])]} {name}" if name else f"[[{loc[0]}]] number {at + 1}"
    fields = [str(part) for part in loc[2:] if isinstance(part, str)]
    return ", ".join((known, *fields))


def _with_whole_numbers(file: SetupFile) -> SetupFile:
    """Telephone numbers as gateways tell them (E.164), the unit's region standing in for a country code."""

    def whole(address: str) -> str:
        channel, _, account = address.partition(":")
        return f"sms:{e164(account, file.unit.region)}" if channel == "sms" else address

    people = [
        person.model_copy(update={"addresses": tuple(dict.fromkeys(map(whole, person.addresses)))})
        for person in file.people
    ]
    return SetupFile.model_validate({**dict(file), "people": people})


def unit_changes(file: SetupFile, unit: Unit, commit: dict[str, str], first: bool) -> Iterator[Body]:
    """The entries of the unit chain that the file asks for beyond what stands."""
    one = file.unit
    if first or (unit.name, unit.zone, unit.area, unit.region) != (one.name, one.zone, one.area, one.region):
        yield UnitSet(name=one.name, zone=one.zone, area=one.area, region=one.region)
    yield from _people(file, unit, commit)
    yield from _things(file, unit)
    watch = None if file.watch is None else WatchSet(**file.watch.model_dump())
    if watch is not None and watch != unit.watch:
        yield watch
    laboratory = None if file.laboratory is None else LaboratorySet(**file.laboratory.model_dump())
    if laboratory is not None and laboratory != unit.laboratory:
        yield laboratory
    for name, value in sorted(file.limits.items()):
        if name not in unit.limits or unit.limits[name] != value:
            yield LimitSet(name=name, value=value)


def _people(file: SetupFile, unit: Unit, commit: dict[str, str]) -> Iterator[Body]:
    for person in file.people:
        known = unit.people.get(person.name)
        if known is not None and person.gloves is None:  # a size that was texted stays
            person = person.model_copy(update={"gloves": known.gloves})
        addresses = person.addresses
        if known is not None:
            by_code = (one for one in known.by_code if one in known.addresses)
            addresses = tuple(dict.fromkeys((*addresses, *by_code)))
        held = person.model_dump(exclude={"addresses"})
        if known is None or (known.addresses, known.model_dump(include=set(held))) != (addresses, held):
            yield PersonSet(**held, addresses=tuple(commit[address] for address in addresses))


_STOCKED = {"jars", "vehicle", "cooler", "more"}  # of a kit's table, what its contents are to be


def _things(file: SetupFile, unit: Unit) -> Iterator[Body]:
    for kit in file.kits:
        held, stocked = kit.model_dump(exclude=_STOCKED), kit.model_dump(include=_STOCKED)
        if kit.name not in unit.kits or unit.kits[kit.name].model_dump() != held:
            yield KitSet(**held)
        if stock_of(unit.stock, kit.name).model_dump(include=_STOCKED) != stocked:
            yield KitStocked(kit=kit.name, **stocked)
    for cooler in file.coolers:
        if cooler.name not in unit.coolers or unit.coolers[cooler.name].cooler_class != cooler.cooler_class:
            yield CoolerSet(name=cooler.name, cooler_class=cooler.cooler_class)


def case_changes(
    file: SetupFile, cases: dict[str, Case], closed: frozenset[str]
) -> Iterator[tuple[str, Body]]:
    """(chain, entry) for each case that the file opens or changes. Raises AskedWrongly."""
    for case in file.cases:
        known = cases.get(case.name)
        if known is None and case.name in closed:
            continue
        if known is None:
            yield case.name, CaseOpened(**case.model_dump())
        elif known.exercise != case.exercise:
            raise AskedWrongly(f"{case.name} stands as exercise={known.exercise}; open a new case instead.")
        elif (known.people, known.kits) != (case.people, case.kits):
            yield case.name, CaseChanged(people=case.people, kits=case.kits)
