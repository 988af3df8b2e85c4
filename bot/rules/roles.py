"""Who may do what, and who may see what on the pages: one table. Common practice, no source.

A person may do what any of their roles may. Telling of a jar, a cooler or a danger needs no role: what
people say is recorded, whoever they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from ..model.people import Person, Unit


class Action(StrEnum):
    """What a role may do on the line; the last block is what it may see on the pages."""

    HEAR_ALERTS = "hear_alerts"
    TAKE_ALERTS = "take_alerts"
    WORK_ON_ALL_CASES = "work_on_all_cases"
    CLOSE_CASES = "close_cases"
    GIVE_EVIDENCE_NUMBERS = "give_evidence_numbers"
    HAND_OVER = "hand_over"
    KEEP_STORE = "keep_store"
    ORDER_RETENTION = "order_retention"
    DISPOSE = "dispose"
    PLAN = "plan"
    COUNT_KITS = "count_kits"
    ENROL = "enrol"
    ADMINISTER = "administer"

    SEE_OWN_CASES = "see_own_cases"
    SEE_ALL_CASES = "see_all_cases"
    SEE_PEOPLE = "see_people"
    SEE_CUSTODY = "see_custody"
    SEE_EVIDENCE = "see_evidence"
    SEE_DOWNLOADS = "see_downloads"
    SEE_ADMINISTRATION = "see_administration"


_A = Action
_LEADS = frozenset(_A)  # whoever answers for the unit; the deputy stands in for all of it
ROLES: Mapping[str, frozenset[Action]] = {
    "responder": frozenset(
        (_A.TAKE_ALERTS, _A.HAND_OVER, _A.PLAN, _A.COUNT_KITS, _A.SEE_OWN_CASES, _A.SEE_CUSTODY)
    ),
    "custodian": frozenset(
        (
            *(_A.TAKE_ALERTS, _A.WORK_ON_ALL_CASES, _A.GIVE_EVIDENCE_NUMBERS, _A.HAND_OVER),
            *(_A.KEEP_STORE, _A.DISPOSE, _A.COUNT_KITS),
            *(_A.SEE_OWN_CASES, _A.SEE_ALL_CASES, _A.SEE_CUSTODY, _A.SEE_EVIDENCE, _A.SEE_DOWNLOADS),
        )
    ),
    "supervisor": _LEADS,
    "deputy": _LEADS,
    "duty_office": frozenset(
        (
            *(_A.HEAR_ALERTS, _A.TAKE_ALERTS, _A.WORK_ON_ALL_CASES, _A.GIVE_EVIDENCE_NUMBERS, _A.PLAN),
            *(_A.SEE_OWN_CASES, _A.SEE_ALL_CASES, _A.SEE_PEOPLE, _A.SEE_CUSTODY),
        )
    ),
    "courier": frozenset((_A.TAKE_ALERTS, _A.HAND_OVER)),
    "laboratory": frozenset((_A.HAND_OVER, _A.KEEP_STORE)),
    "administrator": frozenset(
        (
            *(_A.WORK_ON_ALL_CASES, _A.GIVE_EVIDENCE_NUMBERS, _A.COUNT_KITS, _A.ENROL, _A.ADMINISTER),
            *(_A.CLOSE_CASES, _A.SEE_OWN_CASES, _A.SEE_ALL_CASES, _A.SEE_PEOPLE, _A.SEE_ADMINISTRATION),
        )
    ),
}


def may(person: Person, action: Action) -> bool:
    """True where the person is in service and a role of theirs may do this. KeyError: no such role."""
    return person.active and any(action in ROLES[role] for role in person.roles)


def who_may(unit: Unit, action: Action) -> tuple[Person, ...]:
    """Everybody in service with an address who may do this, by name."""
    people = (unit.people[name] for name in sorted(unit.people))
    return tuple(person for person in people if person.addresses and may(person, action))
