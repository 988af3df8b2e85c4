"""Handing a shift over item by item: each alert is the outgoing's until the incoming says HAVE."""

from __future__ import annotations

from ..model.alert import Alert
from ..model.entries import UNIT_CHAIN, AlertTaken, ShiftOffered
from ..rules.roles import Action, may
from .turn import Turn


def hear_handover(turn: Turn, rest: list[str]) -> bool:
    """What is open is on record as it stands, and the incoming hears each item, with the day beside it."""
    if not may(turn.person, Action.HEAR_ALERTS):
        return False
    words = [word for word in rest if word.lower() != "to"]
    if len(words) != 1:
        turn.say(turn.word("watch.handed.how"))
        return True
    people = {name.lower(): person for name, person in turn.unit.people.items()}
    to = people.get(words[0].lower())
    if to is None or to.name == turn.person.name or not may(to, Action.HEAR_ALERTS):
        turn.say(turn.word("watch.handed.unknown", name=words[0][:20]))
        return True
    alerts = turn.alerts(("alerts_open",))
    listed = _listed(alerts)
    body = ShiftOffered(to=to.name, alerts=tuple(alert.id for alert in alerts), text=listed)
    turn.write(UNIT_CHAIN, body)
    if alerts:
        shown = {"person": turn.person.name, "listed": listed, "handle": alerts[0].handle.upper()}
        turn.tell(to, turn.word("watch.handed", **shown))
        turn.say(turn.word("watch.handed.on", to=to.name, listed=listed))
    else:
        turn.tell(to, turn.word("watch.handed.none", person=turn.person.name))
        turn.say(turn.word("watch.handed.on.none", to=to.name))
    promised = _promised(turn)
    if promised:
        turn.tell(to, turn.word("watch.handed.promised", promised=promised))
    turn.run_errand("digest_asked", to.name, more=False, shift_of=turn.person.name)
    return True


def _promised(turn: Turn) -> str:
    """What stands promised to ships and places in the open cases, exercises left out."""
    made = (one for case in turn.every_case() if not case.exercise for one in case.plan.promises)
    return "; ".join(f"{one.to}: {one.words} ({one.by})" for one in made)


def _listed(alerts: list[Alert]) -> str:
    """Each with its owner; one that nobody took is the outgoing's by what the text says."""
    items = (f"{a.subject} ({a.owner})" if a.is_taken else a.subject for a in alerts)
    return ", ".join(dict.fromkeys(items))


def hear_have(turn: Turn, rest: list[str]) -> bool:
    """One item of a shift is theirs now, and who had it hears so."""
    if len(rest) != 1 or not may(turn.person, Action.HEAR_ALERTS):
        return False
    handle = rest[0].strip(".,!").lower()
    alerts = turn.alerts(("alerts_called", handle)) or (_the_one_left(turn) if handle == "it" else [])
    if not alerts:
        return False
    handle = alerts[0].handle
    left = [a for a in turn.alerts(("alerts_open",)) if a.handle != handle and a.owner != turn.person.name]
    for alert in alerts:
        turn.write(UNIT_CHAIN, AlertTaken(alert=alert.id, owner=turn.person.name))
        before = turn.unit.people.get(alert.owner or "")
        if before is not None and before.name != turn.person.name:
            told = turn.word("watch.have.told", person=turn.person.name, subject=alert.subject)
            turn.tell(before, told)
    subjects = ", ".join(dict.fromkeys(alert.subject for alert in alerts))
    waiting = ", ".join(dict.fromkeys(alert.subject for alert in left)) or turn.word("watch.have.none")
    turn.say(turn.word("watch.have", subject=subjects, left=waiting))
    return True


def _the_one_left(turn: Turn) -> list[Alert]:
    """`have it`: what is open and not theirs, where that is one thing; of several none is meant."""
    left = [alert for alert in turn.alerts(("alerts_open",)) if alert.owner != turn.person.name]
    return left if len({alert.handle for alert in left}) == 1 else []
