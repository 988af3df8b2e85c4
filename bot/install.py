"""Brings a store to what a setup file says, and makes the one-time links of its web addresses."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from storage.work import Store, Work

from .model.base import JsonValue
from .model.entries import UNIT_CHAIN, Body, Draft, LinkIssued
from .model.errors import AskedWrongly
from .model.people import Unit
from .model.times import DAY_US, us_of_iso
from .ports import Clock, Secrets
from .setup import SetupFile, case_changes, read_setup, unit_changes
from .sign_in import new_link

LINK_LIFE_US = 7 * DAY_US


@dataclass(frozen=True)
class Installed:
    """How many entries were written, and (person, token) for each web address without a link yet."""

    changes: int
    links: tuple[tuple[str, str], ...]


async def apply_setup(store: Store, text: str, clock: Clock, secrets: Secrets, key: bytes) -> Installed:
    """The unit stands as the file says. Raises AskedWrongly; then nothing was changed."""
    file = read_setup(text)
    now_us = clock.now_us()
    async with store.work() as work:
        snapshot = work.snapshot
        _known_names(file, snapshot.unit.people.keys(), snapshot.unit.kits.keys())
        _not_revoked(file, snapshot.unit)
        addresses = [address for person in file.people for address in person.addresses]
        addresses += [address for person in snapshot.unit.people.values() for address in person.by_code]
        commit = await work.commitments(addresses)
        first = not snapshot.heads
        bodies: list[tuple[str, Body]] = [
            (UNIT_CHAIN, body) for body in unit_changes(file, snapshot.unit, commit, first)
        ]
        bodies.extend(case_changes(file, snapshot.cases, snapshot.case_names))
        links = await _links(work, file, secrets, key, now_us)
        bodies.extend((UNIT_CHAIN, LinkIssued(address=commit[address])) for address, _, _ in links)
        if bodies:
            await work.change_unit([_draft(chain, body, now_us) for chain, body in bodies])
    return Installed(len(bodies), tuple((person, token) for _, person, token in links))


def _draft(chain: str, body: Body, now_us: int) -> Draft:
    event: JsonValue = getattr(body, "opened", None)
    said_us = us_of_iso(event) if isinstance(event, str) else now_us
    return Draft(
        chain=chain,
        body=body,
        author="",
        channel="setup",
        said_us=said_us,
        received_us=now_us,
        event=event if isinstance(event, str) else None,
    )


def _not_revoked(file: SetupFile, unit: Unit) -> None:
    """An older file does not bring a lost phone back."""
    for person in file.people:
        known = unit.people.get(person.name)
        for address in person.addresses if known is not None else ():
            if known is not None and address in known.revoked:
                raise AskedWrongly(
                    f"{address} of {person.name} was revoked; take it out of the file. If the number is back:"
                    f" coldjar admin address {person.name} {address}"
                )


def _known_names(file: SetupFile, people: Iterable[str], kits: Iterable[str]) -> None:
    """Cases and ladder name only people and kits that the file or the unit has."""
    known = {person.name for person in file.people} | set(people)
    known_kits = {kit.name for kit in file.kits} | set(kits)
    for case in file.cases:
        for name in case.people:
            if name not in known:
                raise AskedWrongly(f"Case {case.name} names {name}, who is not among the people; add them.")
        for kit in case.kits:
            if kit not in known_kits:
                raise AskedWrongly(f"Case {case.name} names kit {kit}, which is not among the kits; add it.")
    for name in (*(file.watch.ladder if file.watch else ()), *(file.watch.digest if file.watch else ())):
        if name not in known:
            raise AskedWrongly(f"The watch names {name}, who is not among the people; add them.")


async def _links(
    work: Work, file: SetupFile, secrets: Secrets, key: bytes, now_us: int
) -> list[tuple[str, str, str]]:
    """(address, person, token) for each web address that nobody signed in to and that has no fresh link."""
    made = []
    for person in file.people:
        for address in person.addresses:
            if address.startswith("web:"):
                token = await new_link(work, address, secrets, key, now_us, LINK_LIFE_US)
                if token is not None:
                    made.append((address, person.name, token))
    return made
