"""What whoever runs the unit says: people, kits, coolers, cases that come and go, phones that are gone.

By text and at the shell alike; each change is an entry.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from ..model.base import Frozen
from ..model.entries import (
    UNIT_CHAIN,
    AddressesEnrolled,
    AddressesRevoked,
    CaseClosed,
    CaseOpened,
    CaseReopened,
    CoolerRetired,
    CoolerSet,
    KitRetired,
    KitSet,
    PersonSet,
)
from ..model.people import Person
from ..model.times import iso_utc
from ..rules.phone_number import e164
from ..rules.roles import ROLES, Action, may
from .turn import Turn

_LINE = re.compile(r"^(?P<verb>[a-z]+)(?:\s+(?P<rest>\S.*))?$", re.IGNORECASE | re.DOTALL)
_NAME = re.compile(r"[^\s/:#,]{1,24}")
_KIT = re.compile(
    r"(?P<first>\d{1,3})-(?P<last>\d{1,3})(?:\s+seals?\s+(?P<from>\w+)-(?P<to>\w+))?(?P<training>\s+training)?"
)


class Order(Frozen):
    """Who may give an order, and what it does; False where its words are no such order."""

    action: Action
    do: Callable[[Turn, list[str]], bool]


def hear_administration(turn: Turn, text: str) -> bool:
    """True where the text was an order of somebody who may give it; of anybody else it is no order at all."""
    match = _LINE.match(text)
    order = ORDERS.get(match["verb"].lower()) if match is not None else None
    if match is None or order is None or not may(turn.person, order.action):
        return False
    return order.do(turn, (match["rest"] or "").split())


def person_named(turn: Turn, word: str) -> Person | None:
    """The person whom this word names, in any case of letters."""
    people = turn.unit.people
    return people.get(word) or next((p for name, p in people.items() if name.upper() == word.upper()), None)


def _known(turn: Turn, word: str) -> Person | None:
    person = person_named(turn, word)
    if person is None:
        turn.say(turn.word("people.unknown", name=word[:40]))
    return person


# --- phones -----------------------------------------------------------------------------------


def _enrol(turn: Turn, words: list[str]) -> bool:
    """Codes are shown at the shell alone: here only where."""
    if len(words) != 1:
        return False
    person = _known(turn, words[0])
    if person is not None:
        turn.say(turn.word("enrol.where", name=person.name))
    return True


def _revoke(turn: Turn, words: list[str]) -> bool:
    """All phones of a person, or the one that ends so, are nobody's from this text on."""
    if len(words) not in (1, 2):
        return False
    person = _known(turn, words[0])
    if person is None:
        return True
    gone = tuple(one for one in person.addresses if one.endswith("".join(words[1:])))
    if not gone:
        key = "revoke.nothing" if person.addresses else "revoke.no_phones"
        turn.say(turn.word(key, name=person.name, ends=_ends(person.addresses)))
        return True
    commitments = tuple(turn.board.commitment(address) for address in gone)
    turn.write(UNIT_CHAIN, AddressesRevoked(name=person.name, addresses=commitments, why="lost or taken"))
    turn.say(turn.word("revoke.done", name=person.name, ends=_ends(gone)))
    return True


def _ends(addresses: tuple[str, ...]) -> str:
    """Enough of each address to tell it from the others."""
    return ", ".join(f"{one.partition(':')[0]} {one[-4:]}" for one in addresses)


def _address(turn: Turn, words: list[str]) -> bool:
    """An address is a person's by the word of whoever runs the unit, a revoked one too."""
    if len(words) != 2 or ":" not in words[1]:
        return False
    person = _known(turn, words[0])
    if person is None:
        return True
    channel, _, account = words[1].partition(":")
    known = e164(account, turn.unit.region) if channel == "sms" else account
    if channel == "sms" and not known.startswith("+"):
        turn.say(turn.word("address.unread", account=account[:40]))
        return True
    address = f"{channel}:{known}"
    owner = turn.board.person_at(address)
    if owner is not None:
        turn.say(turn.word("address.taken", name=owner.name))
        return True
    body = AddressesEnrolled(name=person.name, addresses=(turn.board.commitment(address),), how="by hand")
    turn.write(UNIT_CHAIN, body)
    turn.say(turn.word("address.done", name=person.name, end=_ends((address,))))
    return True


# --- people, kits, coolers --------------------------------------------------------------------


def _people(turn: Turn, words: list[str]) -> bool:
    if words:
        return False
    people = (turn.unit.people[name] for name in sorted(turn.unit.people))
    named = ", ".join(f"{one.name} {' '.join(one.roles)}" for one in people if one.active)
    turn.say(turn.word("people.list", names=named))
    return True


def _add(turn: Turn, words: list[str]) -> bool:
    """Like `add person R9 responder`, `add kit B 20-39 seals 5201-5221`, `add case CH-015 exercise`."""
    if len(words) < 2:
        return False
    what, name, rest = words[0].lower(), words[1], words[2:]
    add = {"person": _add_person, "kit": _add_kit, "cooler": _add_cooler, "case": _add_case}.get(what)
    if add is None:
        return False
    if not _NAME.fullmatch(name):
        turn.say(turn.word("add.name", name=name[:40]))
    elif not add(turn, name, rest):
        turn.say(turn.word(f"add.{what}.how"))
    return True


def _add_person(turn: Turn, name: str, rest: list[str]) -> bool:
    """A new person, or a known one with these roles and in service again."""
    roles = tuple(dict.fromkeys(word.strip(",").lower() for word in rest)) or ("responder",)
    if not set(roles) <= ROLES.keys():
        return False
    person = person_named(turn, name) or Person(name=name, roles=roles)
    _set_person(turn, person, roles=roles, active=True)
    turn.say(turn.word("add.person", name=person.name, roles=", ".join(roles)))
    return True


def _set_person(turn: Turn, person: Person, **change: object) -> None:
    held = person.model_dump(include={"name", "roles", "gloves", "language", "active"})
    addresses = tuple(turn.board.commitment(one) for one in person.addresses)
    turn.write(UNIT_CHAIN, PersonSet(**{**held, "addresses": addresses, **change}))


def _add_kit(turn: Turn, name: str, rest: list[str]) -> bool:
    match = _KIT.fullmatch(" ".join(rest))
    if match is None or not 0 < int(match["first"]) <= int(match["last"]):
        return False
    seals = (match["from"], match["to"]) if match["from"] else None
    numbers = (int(match["first"]), int(match["last"]))
    turn.write(UNIT_CHAIN, KitSet(name=name, numbers=numbers, seals=seals, training=bool(match["training"])))
    turn.say(turn.word("add.kit", name=name, first=numbers[0], last=numbers[1]))
    return True


def _add_cooler(turn: Turn, name: str, rest: list[str]) -> bool:
    cooler_class = " ".join(rest) or "50 L ordinary"
    turn.write(UNIT_CHAIN, CoolerSet(name=name, cooler_class=cooler_class[:40]))
    turn.say(turn.word("add.cooler", name=name, cooler_class=cooler_class[:40]))
    return True


def _retire(turn: Turn, words: list[str]) -> bool:
    """Out of service from now on; what they told and what was taken with it stays."""
    if len(words) != 2:
        return False
    what, name = words[0].lower(), words[1]
    if what == "person":
        person = _known(turn, name)
        if person is not None:
            _set_person(turn, person, active=False)
            turn.say(turn.word("retire.done", name=person.name))
        return True
    if what not in ("kit", "cooler"):
        return False
    held = sorted(turn.unit.kits if what == "kit" else turn.unit.coolers)
    known = next((one for one in held if one.upper() == name.upper()), None)
    if known is None:
        turn.say(turn.word("retire.unknown", name=name[:40], names=" ".join(held)))
    else:
        turn.write(UNIT_CHAIN, KitRetired(name=known) if what == "kit" else CoolerRetired(name=known))
        turn.say(turn.word("retire.done", name=known))
    return True


# --- cases ------------------------------------------------------------------------------------


def _add_case(turn: Turn, name: str, rest: list[str]) -> bool:
    """A case is open; who goes and with what is told or set later."""
    said = [word.lower() for word in rest]
    if not set(said) <= {"exercise", "real"} or name.upper() == "UNIT" or len(name) < 2:
        return False
    if turn.board.cases_like(name):
        turn.say(turn.word("case.taken", name=name))
        return True
    opened = iso_utc(turn.message.said_us)
    turn.write(name, CaseOpened(name=name, exercise="exercise" in said, opened=opened), event=opened)
    turn.case = turn.case_named(name)
    turn.say(turn.word("case.opened", name=name))
    return True


def _close(turn: Turn, words: list[str]) -> bool:
    """A closed case is offered no more; its chain stays whole."""
    case = next((one for one in turn.open_cases() if words and one.name.upper() == words[0].upper()), None)
    if case is None:
        known = turn.closed_case(words[0]) if words else None
        if known is not None:
            turn.say(turn.word("case.closed_already", name=known))
        return known is not None or _say_no_case(turn, words)
    turn.case = case
    turn.write(case.name, CaseClosed(why=" ".join(words[1:]) or "closed"))
    turn.say(turn.word("case.now_closed", name=case.name))
    turn.note(case=None, sample=None, question=None, walk=None, waiting=())
    return True


def _say_no_case(turn: Turn, words: list[str]) -> bool:
    """True where the words name a case: its name has a figure in it, and "close the lid" none."""
    if not words or not any(letter.isdigit() for letter in words[0]):
        return False
    names = ", ".join(case.name for case in turn.open_cases())
    key = "case.unknown" if names else "case.unknown.none_open"
    turn.say(turn.word(key, name=words[0][:24], names=names))
    return True


def _reopen(turn: Turn, words: list[str]) -> bool:
    """The case goes on where it stood, on the same chain."""
    name = turn.closed_case(words[0]) if words else None
    if name is None:
        named = [one.name for one in turn.open_cases() if words and one.name.upper() == words[0].upper()]
        for known in named:
            turn.say(turn.word("case.open_already", name=known))
        return bool(named) or _say_no_case(turn, words)
    turn.reopen(name)
    turn.write(name, CaseReopened(why=" ".join(words[1:]) or "reopened"))
    turn.case = turn.case_named(name)
    turn.say(turn.word("case.reopened", name=name))
    return True


ORDERS: dict[str, Order] = {
    "enrol": Order(action=Action.ENROL, do=_enrol),
    "enroll": Order(action=Action.ENROL, do=_enrol),
    "revoke": Order(action=Action.ENROL, do=_revoke),
    "address": Order(action=Action.ADMINISTER, do=_address),
    "people": Order(action=Action.SEE_PEOPLE, do=_people),
    "add": Order(action=Action.ADMINISTER, do=_add),
    "retire": Order(action=Action.ADMINISTER, do=_retire),
    "close": Order(action=Action.CLOSE_CASES, do=_close),
    "reopen": Order(action=Action.CLOSE_CASES, do=_reopen),
}
