"""A hand-over's stated time taken back by who stated it: "01 received was 1507, misread my watch"."""

from __future__ import annotations

import re

from ...model.custody import Custody, Offer
from ...model.entries import AccountGiven, FactTold, HandOverTimeCorrected
from ...model.sample import Sample
from ...rules.civil_time import local
from ..readers.words import NumberTold, read_number
from ..turn import Turn
from .jars import answer, listed, look_up, numbered, several, unknown, without_case
from .offer import own_time

_IS = re.compile(
    r"\s*(?P<number>\d{1,3}|[A-Za-z]{1,3}-?\d{1,4})\s+"
    r"(?P<side>received|taken over|offered|released|handed over)\s+"
    r"(?:time\s+)?(?:is|was|at|should\s+be)\s+(?P<new>[^\s,;]+)(?:\s*,?\s+not\s+[^\s,;]+)?"
    r"(?:\s*[,;]\s*(?P<why>.*))?\s*$",
    re.IGNORECASE,
)
_SIDE = re.compile(r"\b(?:received|taken over|offered|released|handed over)\b", re.IGNORECASE)
_FEWEST = 3  # letters of a reason in human words


def hear_time_correction(turn: Turn, text: str) -> bool:
    """Only who stated a time of a hand-over corrects it; what others say of it stands beside the jar."""
    if _SIDE.search(text) is None:
        return False
    match = _IS.match(without_case(turn, text))
    number = read_number(match["number"]) if match is not None else None
    if match is None or not isinstance(number, NumberTold):
        return False
    look_up(turn, [number])
    jars = [jar for jar in numbered(turn, number) if turn.case is None or jar.case == turn.case.name]
    at = own_time(turn, match["new"])
    if len(jars) != 1:
        turn.say(several(turn, number, jars) if jars else unknown(turn, number.number))
    elif isinstance(at, str) or at is None:
        turn.say(at or turn.word("custody.unread", words=match["new"]))
    else:
        side = "closed" if match["side"].lower() in ("received", "taken over") else "offered"
        _correct(turn, jars[0], side, (at.iso, at.at_us), match["why"] or "", text)
    return True


def _correct(turn: Turn, jar: Sample, side: str, at: tuple[str, int], words: str, text: str) -> None:
    offer = _own_link(turn, jar.custody, side)
    if offer is None:
        told = FactTold(field="deviations", value=text, raw=text)
        turn.write(jar.case, AccountGiven(sample=jar.id, facts=(told,)))
        answer(turn, [jar], (turn.word("custody.time_beside", number=listed(turn, [jar])),))
        return
    why = words.strip() if sum(1 for letter in words if letter.isalpha()) >= _FEWEST else None
    old = _shown(turn, _stood(jar.custody, offer, side))
    body = HandOverTimeCorrected(
        samples=(jar.id,), offer=offer.id, side=side, at=at[0], at_us=at[1], old=old, why=why
    )
    turn.write(jar.case, body, event=at[0])
    key = "custody.time_corrected" if why else "custody.time_why"
    told_back = {"number": listed(turn, [jar]), "new": at[0][11:16], "old": old[11:16], "why": why or ""}
    answer(turn, [jar], (turn.word(key, **told_back),))


def _shown(turn: Turn, us: int) -> str:
    return local(us, turn.trade.zone).isoformat(timespec="seconds")


def _own_link(turn: Turn, custody: Custody | None, side: str) -> Offer | None:
    """The hand-over whose time on this side this person stated: the open one, else the last."""
    links = () if custody is None else (custody.offer, custody.last)
    for offer in links:
        if offer is None or (side == "closed" and custody is not None and offer is custody.offer):
            continue
        if turn.person.name == (offer.to if side == "closed" else offer.by):
            return offer
    return None


def _stood(custody: Custody | None, offer: Offer, side: str) -> int:
    """The instant that stood until now, in us UTC."""
    if side == "closed" and custody is not None:
        return custody.since_us
    return offer.received_us if offer.at_us is None else offer.at_us
