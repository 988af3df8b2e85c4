"""What whoever runs the unit says: who is enrolled, whose phone is gone. Each change is an entry."""

from __future__ import annotations

import re
from collections.abc import Callable

from ..model.entries import UNIT_CHAIN, AddressesRevoked
from ..model.people import Person
from ..rules.roles import Action, may
from .turn import Turn

_LINE = re.compile(r"^(?P<verb>[a-z]+)\s+(?P<rest>\S.*)$", re.IGNORECASE | re.DOTALL)


def hear_administration(turn: Turn, text: str) -> bool:
    """True where the text was an order of somebody who may give it; of anybody else it is no order at all."""
    match = _LINE.match(text)
    order = ORDERS.get(match["verb"].lower()) if match is not None else None
    if match is None or order is None or not may(turn.person, order[0]):
        return False
    return order[1](turn, match["rest"].split())


def person_named(turn: Turn, word: str) -> Person | None:
    """The person whom this word names, in any case of letters."""
    people = turn.board.unit.people
    return people.get(word) or next((p for name, p in people.items() if name.upper() == word.upper()), None)


def _enrol(turn: Turn, words: list[str]) -> bool:
    """Codes are shown at the shell alone: here only where."""
    if len(words) != 1:
        return False
    person = person_named(turn, words[0])
    if person is None:
        turn.say(turn.word("enrol.unknown", name=words[0][:40]))
    else:
        turn.say(turn.word("enrol.where", name=person.name))
    return True


def _revoke(turn: Turn, words: list[str]) -> bool:
    """All phones of a person, or the one that ends so, are nobody's from this text on."""
    if len(words) > 2:
        return False
    person = person_named(turn, words[0])
    if person is None:
        turn.say(turn.word("enrol.unknown", name=words[0][:40]))
        return True
    end = words[1] if len(words) == 2 else ""
    gone = tuple(address for address in person.addresses if address.endswith(end))
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


ORDERS: dict[str, tuple[Action, Callable[[Turn, list[str]], bool]]] = {
    "enrol": (Action.ENROL, _enrol),
    "enroll": (Action.ENROL, _enrol),
    "revoke": (Action.ENROL, _revoke),
}
