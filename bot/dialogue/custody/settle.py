"""What follows when a seal was not read as on record, what the giver answers, and refusals."""

from __future__ import annotations

import re

from ...model.entries import CustodyRefused, DifferenceAnswered
from ...model.sample import Sample
from ...rules.roles import Action, who_may
from ..readers.words import NumberTold
from ..turn import Turn
from .boxed import unboxed
from .jars import answer, find_jars, keep_words, leading_numbers, listed, tell_one, unknown

_ANSWER = re.compile(r"answer\b\s*(?P<rest>.*)$", re.IGNORECASE | re.DOTALL)
_NO = re.compile(r"no[\s:,]+(?P<rest>\S.*)$", re.IGNORECASE | re.DOTALL)
_SEAL = re.compile(r"\b[A-Za-z]{0,3}-?[0-9]{3,10}\b", re.ASCII)
_FEWEST = 3  # letters of a reason in human words


def tell_of_marks(turn: Turn, jar: Sample, *, fresh: bool, box: str | None = None) -> None:
    """The giver is asked to look; who must hear of seals hears what is `fresh`; nobody is shown a number."""
    offer = jar.offer
    if offer is None:
        return
    number = box or listed(turn, [jar])
    sort = "unread" if offer.unread else "mismatched" if offer.differs else str(offer.condition)
    told = {"number": number, "person": turn.person.name, "how": turn.word(f"custody.finds.{sort}")}
    if offer.differs:
        tell_one(turn, offer.by, jar.case, turn.word("custody.look", first=box or jar.number, **told))
    if fresh:
        text = turn.word("custody.alert", giver=offer.by, **told)
        _call(turn, jar, sort, text, (offer.by, turn.person.name), box)


def tell_of_own(turn: Turn, jar: Sample) -> None:
    """A jar's holder told of its seal outside a hand-over: who must hear of seals hears it."""
    sort = jar.custody.marks[-1].sort if jar.custody is not None else "broken"
    how = turn.word(f"custody.finds.{sort}")
    told = {"number": listed(turn, [jar]), "person": turn.person.name, "how": how}
    _call(turn, jar, sort, turn.word("custody.alert_own", **told), (turn.person.name,), None)


def _call(turn: Turn, jar: Sample, sort: str, text: str, parties: tuple[str, ...], box: str | None) -> None:
    """Everybody who hears alerts and is no party to it; a leaking or damaged jar is no matter of its seal."""
    people = tuple(one for one in who_may(turn.unit, Action.HEAR_ALERTS) if one.name not in parties)
    before, turn.case = turn.case, turn.case_named(jar.case)
    subject = f"jar {jar.case} {jar.number}" if box is None else f"{jar.case} {box}"
    if sort in ("cut", "lifted", "broken"):
        turn.raise_alert("seal_broken", subject, "critical", people, text)
    elif sort in ("mismatched", "unread"):
        turn.raise_alert("seal_mismatch", subject, "push", people, text)
    else:
        for person in people:
            turn.tell(person, text)
    turn.case = before


def answer_difference(turn: Turn, jar: Sample, words: str, number: str | None) -> str:
    """The giver's answer is on record and the receiver may read again; the sentence for the giver."""
    offer = jar.offer
    if offer is None:
        return ""
    turn.write(jar.case, DifferenceAnswered(samples=(jar.id,), offer=offer.id, words=words, number=number))
    told = turn.word("custody.read_again", person=turn.person.name, number=listed(turn, [jar]))
    tell_one(turn, offer.to, jar.case, told)
    return turn.word("custody.answered", number=listed(turn, [jar]), person=offer.to)


def hear_answer(turn: Turn, text: str) -> bool:
    """`answer 03 looked at it, 5103`: the giver's words on a seal that was read otherwise."""
    match = _ANSWER.match(text)
    numbers, words = leading_numbers(unboxed(turn, match["rest"])) if match is not None else ((), "")
    if match is None or not numbers:
        return False

    def fits(jar: Sample) -> bool:
        return jar.offer is not None and jar.offer.by == turn.person.name and jar.offer.differs

    def why_not(number: NumberTold, here: list[Sample]) -> str:
        if not here:
            return unknown(turn, number.number)
        return turn.word("custody.nothing_to_answer", number=here[-1].number)

    found = find_jars(turn, numbers, fits, why_not)
    seal = _SEAL.search(words)
    said = [
        answer_difference(turn, jar, words or "looked", seal.group() if seal else None) for jar in found.jars
    ]
    if not found.jars:
        keep_words(turn, [], text)
    answer(turn, found.jars, (*said, *found.said))
    return True


def hear_refusal(turn: Turn, text: str) -> bool:
    """`NO 02 lid leaks`: the receiver does not take a jar; it stays with the giver."""
    match = _NO.match(text)
    numbers, why = leading_numbers(unboxed(turn, match["rest"])) if match is not None else ((), "")
    if match is None or not numbers:
        return False

    def fits(jar: Sample) -> bool:
        return jar.offer is not None and jar.offer.to == turn.person.name

    def why_not(number: NumberTold, here: list[Sample]) -> str:
        if not here:
            return unknown(turn, number.number)
        key = "custody.refuse_own" if here[-1].holder == turn.person.name else "custody.not_offered_plain"
        return turn.word(key, number=here[-1].number, person=here[-1].holder)

    found = find_jars(turn, numbers, fits, why_not)
    if not found.jars and turn.conversation.question is not None:
        return False  # an answer that begins with "no"
    if found.said:
        keep_words(turn, found.jars, text)
    refuse(turn, found.jars, why, found.said)
    return True


def refuse(turn: Turn, jars: list[Sample], why: str, said: list[str]) -> None:
    """The jars offered to this person stay with their givers, who hear why; `said` follows in the reply."""
    reason = why.strip(" ,.:") if sum(1 for letter in why if letter.isalpha()) >= _FEWEST else ""
    for jar in jars:
        if jar.offer is None:
            continue
        told = {"number": listed(turn, [jar]), "person": turn.person.name, "why": reason or "none given"}
        body = CustodyRefused(samples=(jar.id,), offer=jar.offer.id, why=reason or "none given")
        turn.write(jar.case, body)
        tell_one(turn, jar.offer.by, jar.case, turn.word("custody.refused_told", **told))
    done = ""
    if jars:
        key = "custody.refused" if reason else "custody.refused_why"
        givers = " ".join(sorted({jar.holder for jar in jars}))
        done = turn.word(key, numbers=listed(turn, jars), person=givers, first=jars[0].number)
    answer(turn, jars, (done, *said))
