"""What is done for a unit at the shell of its machine: orders, and codes that are shown nowhere else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from storage.work import Store, Work

from .dialogue.administration import ORDERS, hear_administration
from .dialogue.outcome import Outcome
from .dialogue.turn import Trade, Turn
from .gulp import LOOKS, Gulp
from .model.board import Board, Missing
from .model.entries import UNIT_CHAIN, CodeIssued, Draft
from .model.errors import AskedWrongly
from .model.message import Incoming
from .model.people import Person, Unit
from .model.times import HOUR_US
from .ports import Clock, Secrets
from .rules.limits import limits_in_force
from .rules.roles import may
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


async def give_order(
    store: Store, trade_of: Callable[[Unit], Trade], name: str, words: str, clock: Clock
) -> list[str]:
    """What the line answers to an order of this person, once it is on record. Raises AskedWrongly."""
    now_us = clock.now_us()
    async with store.work() as work:
        board = work.board()
        person = known_person(board.unit, name)
        message = Incoming(
            channel="shell", account=name, message_id=str(now_us), received_us=now_us, text=words
        )
        gulp = Gulp(work, board, trade_of)
        outcome = await _ordered(work, board, trade_of(board.unit), message, person)
        here = [say.text for say in outcome.says if say.address == message.address]
        others = [say for say in outcome.says if say.address != message.address]
        gulp.absorb(message, replace(outcome, says=others))
        writes = gulp.finish()
        writes.conversations.clear()
        await work.keep(board, writes)
        # They wait for the service that has the lines: this process has none.
        await work.queue(writes.texts, "", now_us, {text.address for text in writes.texts})
    return here


def _why_not(unit: Unit, person: Person, words: str) -> str:
    """Why these words of theirs are no order, and who may give it or how orders begin."""
    verb = next(iter(words.lower().split()), "")
    order = ORDERS.get(verb)
    if order is None:
        return f"There is no order {verb!r}; orders begin: {', '.join(ORDERS)}."
    others = [name for name, one in sorted(unit.people.items()) if may(one, order.action)]
    if person.name not in others:
        who = f"these may: {', '.join(others)}" if others else "nobody here may; give somebody the role first"
        return f"{verb} is no order that {person.name} may give; {who}."
    return f"What stands behind {verb} is not read; write it as README.md shows under Commands."


async def _ordered(work: Work, board: Board, trade: Trade, message: Incoming, person: Person) -> Outcome:
    for _ in range(LOOKS):
        turn = Turn(message, None, board, trade, person)
        try:
            heard = hear_administration(turn, turn.text)
        except Missing as missing:
            await work.supply(board, missing.keys)
            continue
        if not heard:
            raise AskedWrongly(_why_not(board.unit, person, words=message.text))
        return turn.outcome()
    raise AskedWrongly("That order never had what it needed; give it in parts.")
