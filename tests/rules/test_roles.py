"""Who may do what, by role."""

from __future__ import annotations

import pytest

from bot.model.people import Person, Unit
from bot.rules.roles import ROLES, Action, may, who_may

NAMED = {
    "responder", "custodian", "supervisor", "deputy", "duty_office", "courier", "laboratory", "administrator",
}  # fmt: skip
# Common practice, no source: whoever takes samples does not run the unit, and whoever runs its machine
# is not woken and does not hold evidence.
ALONE = {
    Action.GIVE_EVIDENCE_NUMBERS: {"custodian", "supervisor", "deputy", "duty_office", "administrator"},
    Action.HEAR_ALERTS: {"supervisor", "deputy", "duty_office"},
    Action.WORK_ON_ALL_CASES: {"custodian", "supervisor", "deputy", "duty_office", "administrator"},
    Action.ADMINISTER: {"supervisor", "deputy", "administrator"},
    Action.ENROL: {"supervisor", "deputy", "administrator"},
    Action.CLOSE_CASES: {"supervisor", "deputy", "administrator"},
    Action.HAND_OVER: {"responder", "custodian", "supervisor", "deputy", "courier", "laboratory"},
    Action.DISPOSE: {"custodian", "supervisor", "deputy"},
    Action.SEE_ALL_CASES: {"custodian", "supervisor", "deputy", "duty_office", "administrator"},
    Action.SEE_ADMINISTRATION: {"supervisor", "deputy", "administrator"},
    Action.SEE_DOWNLOADS: {"custodian", "supervisor", "deputy"},
}


def test_the_roles_of_the_trade_are_in_the_table() -> None:
    assert set(ROLES) == NAMED


@pytest.mark.parametrize("action", sorted(ALONE))
def test_only_these_roles_may(action: Action) -> None:
    assert {role for role in ROLES if may(Person(name="P", roles=(role,)), action)} == ALONE[action]


def test_every_action_is_somebodys_and_the_deputy_stands_in_for_all_of_the_supervisor() -> None:
    assert frozenset().union(*ROLES.values()) == set(Action)
    assert ROLES["deputy"] == ROLES["supervisor"]


def test_two_roles_may_what_either_may_and_a_retired_person_may_nothing() -> None:
    both = Person(name="P", roles=("responder", "custodian"))
    assert may(both, Action.PLAN)
    assert may(both, Action.KEEP_STORE)
    assert not any(may(both.model_copy(update={"active": False}), action) for action in Action)


def test_a_role_that_is_none_is_not_taken_for_one() -> None:
    with pytest.raises(KeyError, match="captain"):
        may(Person(name="P", roles=("captain",)), Action.PLAN)


def test_whom_to_tell_are_those_who_may_and_can_be_reached() -> None:
    people = [
        Person(name="S2", roles=("supervisor",), addresses=("sms:+447700900008",)),
        Person(name="S1", roles=("supervisor",), addresses=("sms:+447700900004",)),
        Person(name="S3", roles=("supervisor",)),
        Person(name="S4", roles=("supervisor",), addresses=("sms:+447700900009",), active=False),
        Person(name="R1", roles=("responder",), addresses=("sms:+447700900001",)),
    ]
    unit = Unit(people={person.name: person for person in people})
    assert [person.name for person in who_may(unit, Action.HEAR_ALERTS)] == ["S1", "S2"]
