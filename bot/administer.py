"""What is done for a unit at the shell of its machine: codes that are shown nowhere else."""

from __future__ import annotations

from storage.work import Store

from .model.entries import UNIT_CHAIN, CodeIssued, Draft
from .model.errors import AskedWrongly
from .model.people import Person, Unit
from .model.times import HOUR_US
from .ports import Clock, Secrets
from .rules.limits import limits_in_force
from .sign_in import PERSONAL_LIFE_US, new_code


async def issue_code(
    store: Store, name: str, purpose: str, clock: Clock, secrets: Secrets, key: bytes
) -> tuple[str, int]:
    """A fresh code ("enrol", "personal" or "once") and until when it counts; no entry holds it."""
    now_us = clock.now_us()
    async with store.work() as work:
        unit = work.snapshot.unit
        person = known_person(unit, name)
        life_us = int(limits_in_force(unit.limits).code_hours * HOUR_US)
        until_us = now_us + (PERSONAL_LIFE_US if purpose == "personal" else life_us)
        code = await new_code(work, person.name, purpose, secrets, key, now_us, until_us)
        body = CodeIssued(name=person.name, purpose=purpose, until_us=until_us)
        draft = Draft(
            chain=UNIT_CHAIN, body=body, author="", channel="shell", said_us=now_us, received_us=now_us
        )
        await work.change_unit([draft])
    return code, until_us


def known_person(unit: Unit, name: str) -> Person:
    """The person of this name, in service. Raises AskedWrongly."""
    person = unit.people.get(name)
    if person is None:
        raise AskedWrongly(
            f"There is no {name} here; there are: {', '.join(sorted(unit.people)) or 'none yet'}."
        )
    if not person.active:
        raise AskedWrongly(f"{name} is retired; bring them back in the setup file first.")
    return person
