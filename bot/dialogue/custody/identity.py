"""A receiver without a phone of their own speaks once on the giver's, by a code that counts once."""

from __future__ import annotations

from ..turn import Turn

ONCE = "once"


def speak_as(turn: Turn) -> None:
    """Where a one-time code of somebody else's was texted here, the turn is theirs, proven."""
    now_us = turn.message.received_us
    for commitment in turn.message.codes:
        code = turn.board.codes[commitment]
        person = turn.unit.people.get(code.holder.removeprefix("person:"))
        good = code.purpose == ONCE and code.used_us is None and code.expires_us > now_us
        if good and person is not None and person.active and person.name != turn.person.name:
            turn.use_code(commitment)
            turn.phone_of = turn.person.name
            turn.person, turn.proven = person, True
            return
