"""What people say of alerts: whose one is, and that it is solved."""

from __future__ import annotations

from ..model.alert import Alert
from ..model.entries import UNIT_CHAIN, AlertClosed, AlertTaken
from ..model.message import AlertMark
from ..rules.alerts import may_take
from ..rules.cold import next_reading_due_us
from ..rules.roles import Action, may
from .cold_says import instant_text
from .turn import Turn

LISTED = 6


def hear_mine(turn: Turn, rest: list[str]) -> bool:
    """Every open alert of what is named is theirs, and nobody else is woken for it."""
    alerts = _meant(turn, rest)
    if not alerts:
        return True
    if not all(may_take(turn.board.unit, alert, turn.person.name) for alert in alerts):
        turn.say(turn.word("watch.not_yours", subject=alerts[0].subject))
        return True
    for alert in alerts:
        turn.write(UNIT_CHAIN, AlertTaken(alert=alert.id, owner=turn.person.name))
    turn.say(_taken(turn, alerts))
    return True


def _taken(turn: Turn, alerts: list[Alert]) -> str:
    """Whose it is now; of a cooler, when its next reading is due as well."""
    subject = _subjects(alerts)
    if alerts[0].subject.startswith("cooler "):
        due_us = next_reading_due_us(turn.life(alerts[0].subject.partition(" ")[2]), turn.trade.limits)
        if due_us is not None:
            return turn.word("watch.taken.cooler", subject=subject, at=instant_text(turn, due_us))
    return turn.word("watch.taken", subject=subject)


def hear_solved(turn: Turn, rest: list[str]) -> bool:
    """Open alerts of what is named are over by a person's word, with how; who was told and waits hears it."""
    if not rest:
        turn.say(turn.word("watch.solved.how"))
        return True
    alerts = _meant(turn, rest[:1])
    if not alerts:
        return True
    why = " ".join(rest[1:])
    if sum(letter.isalpha() for letter in why) < 3:
        turn.say(turn.word("watch.solved.why", handle=rest[0]))
        return True
    if not all(may_take(turn.board.unit, alert, turn.person.name) for alert in alerts):
        turn.say(turn.word("watch.not_yours", subject=alerts[0].subject))
        return True
    for alert in alerts:
        turn.write(UNIT_CHAIN, AlertClosed(alert=alert.id, how="said", why=why))
        _tell_of_end(turn, alert, why)
    turn.say(turn.word("watch.solved", subject=_subjects(alerts), why=why[:60]))
    return True


def _meant(turn: Turn, rest: list[str]) -> list[Alert]:
    """The open alerts of what was named; with nothing named the only one, else it is asked which."""
    if rest:
        handle = rest[-1].strip(".,!").lower()
        found = turn.alerts(("alerts_called", handle))
        if not found:
            turn.say(turn.word("watch.none_of", handle=rest[-1][:20]))
        return found
    told = [a for a in turn.alerts(("alerts_open",)) if any(p.to == turn.person.name for p in a.pushes)]
    subjects = list(dict.fromkeys(alert.subject for alert in told))
    if len(subjects) == 1:
        return told
    if not subjects:
        turn.say(turn.word("watch.none"))
    else:
        listed = ", ".join(subjects[:LISTED])
        turn.say(turn.word("watch.which", listed=listed, handle=told[0].handle.upper()))
    return []


def _subjects(alerts: list[Alert]) -> str:
    return ", ".join(dict.fromkeys(alert.subject for alert in alerts))


def _tell_of_end(turn: Turn, alert: Alert, why: str) -> None:
    """Where nobody owned it, all who were told hear that it is over; else its owner, if another."""
    heard = (alert.owner,) if alert.is_taken else dict.fromkeys(push.to for push in alert.pushes)
    text = turn.word("watch.solved.by", person=turn.person.name, subject=alert.subject, why=why[:60])
    mark = AlertMark(
        id=alert.id, kind=alert.kind, subject=alert.subject, level="reminder", repeat=alert.repeats
    )
    for name in heard:
        person = turn.board.unit.people.get(name or "")
        if person is not None and name != turn.person.name:
            turn.tell(person, text, mark)


def hear_digest(turn: Turn, rest: list[str]) -> bool:
    """The day as it stands now is sent to whoever may hear of the whole unit."""
    more = [word.lower() for word in rest] == ["more"]
    if rest and not more:
        return False
    if not may(turn.person, Action.HEAR_ALERTS):
        turn.say(turn.word("digest.not_yours"))
        return True
    turn.run_errand("digest_asked", turn.person.name, more=more)
    return True
