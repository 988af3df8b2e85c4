"""A box or cooler under one seal: sealed, opened, and its seal read by who takes it for the jars inside."""

from __future__ import annotations

import re

from ...model.entries import ContainerOpened, ContainerSealed, SealRead
from ...model.sample import Sample
from ...rules.seals import same_seal
from ..readers.clock_time import TimeTold
from ..turn import Turn
from .boxed import Boxed, box_named, jars_in
from .identity import speak_as
from .jars import MOST_NAMED, answer, by_case, keep_words, leading_numbers, listed, without_case
from .offer import find_held, own_time
from .read import Heard, receive, received_text, settle
from .seal_lines import CONDITIONS, Item, scan_seals
from .settle import answer_difference

_SEALED = re.compile(
    r"seal(?:ed)?\s+(?P<seal>[A-Za-z]{0,3}-?[0-9]{1,10})\b[\s,:]*(?:jars?\s+)?(?P<rest>.*)$",
    re.IGNORECASE | re.DOTALL,
)
_OPENED = re.compile(r"opened\b[\s,:]*(?P<why>.*)$", re.IGNORECASE | re.DOTALL)
_READ = re.compile(
    rf"(?:seal\s+)?(?:[A-Za-z]{{0,3}}-?[0-9]{{1,10}}|unread|{'|'.join(CONDITIONS)})(?=[\s,]|$)",
    re.IGNORECASE | re.ASCII,
)


def hear_box(turn: Turn, text: str) -> bool:
    """A box's line: sealed with jars in it, opened, or its seal read."""
    boxed = box_named(without_case(turn, text))
    if boxed is None:
        return False
    sealed, opened = _SEALED.match(boxed.rest), _OPENED.match(boxed.rest)
    if sealed is not None and leading_numbers(sealed["rest"])[0]:
        return _seal(turn, boxed, sealed, text)
    jars = jars_in(turn, boxed.name)
    if not jars:
        meant = sealed or opened or _READ.match(boxed.rest)  # and not that a box of something ran out
        return bool(meant) and boxed.name.startswith("box") and _say_unknown(turn, boxed, text)
    if sealed is not None and all(jar.holder == turn.person.name and jar.offer is None for jar in jars):
        _write_sealed(turn, boxed.name, jars, sealed["seal"])
        return True
    if opened is not None:
        return boxed.name.startswith("box") and _open(turn, boxed, jars, opened["why"].strip())
    if _READ.match(boxed.rest) is None:
        return False
    item = scan_seals(f"1 {boxed.rest}").items[0]
    if boxed.name.startswith("cooler") and not item.conditions and not item.unread:
        return False  # a figure after a cooler is its check bottle's
    return _read(turn, boxed, jars)


def _say_unknown(turn: Turn, boxed: Boxed, text: str) -> bool:
    keep_words(turn, [], text)
    turn.say(turn.word("custody.box_unknown", box=boxed.name, person=""))
    return True


def _seal(turn: Turn, boxed: Boxed, sealed: re.Match[str], text: str) -> bool:
    numbers, left = leading_numbers(sealed["rest"])
    found = find_held(turn, numbers)
    if left:
        found.said.append(turn.word("custody.left", words=left[:MOST_NAMED]))
    if found.said:
        keep_words(turn, found.jars, text)
    if found.jars:
        _write_sealed(turn, boxed.name, found.jars, sealed["seal"], *found.said)
    else:
        answer(turn, [], found.said)
    return True


def _write_sealed(turn: Turn, box: str, jars: list[Sample], seal: str, *said: str) -> None:
    """The box's seal is queried too where it is a jar's already."""
    for case, of_case in by_case(jars):
        body = ContainerSealed(samples=tuple(jar.id for jar in of_case), container=box, seal=seal)
        turn.write(case, body)
    keys = (("seal", seal.upper()), ("reseal", seal.upper()))
    turn.need(keys)
    others = [jar for key in keys for jar in turn.find(key)]
    twice = turn.word("custody.box_seal_twice", seal=seal) if others else ""
    text = turn.word("custody.box_sealed", box=box, seal=seal, numbers=listed(turn, jars))
    answer(turn, jars, (text, twice, *said))


def _open(turn: Turn, boxed: Boxed, jars: list[Sample], why: str) -> bool:
    """Whoever holds the jars opens their box; others are told with whom it is."""
    if any(jar.holder != turn.person.name for jar in jars):
        turn.say(turn.word("custody.box_elsewhere", box=boxed.name, person=jars[0].holder))
        return True
    for case, of_case in by_case(jars):
        ids = tuple(jar.id for jar in of_case)
        turn.write(case, ContainerOpened(samples=ids, container=boxed.name, words=why or "opened"))
    answer(turn, jars, (turn.word("custody.box_opened", box=boxed.name, numbers=listed(turn, jars)),))
    return True


def _read(turn: Turn, boxed: Boxed, jars: list[Sample]) -> bool:
    """Every reading is on record; the jars of an offer move together when the box's seal agrees."""
    speak_as(turn)
    lines = scan_seals(f"1 {boxed.rest}")
    item = lines.items[0]
    me = turn.person.name
    mine = [jar for jar in jars if jar.offer is not None and jar.offer.to == me]
    gave = [jar for jar in jars if jar.offer is not None and jar.offer.by == me and jar.offer.differs]
    about = mine or jars
    _write(turn, boxed.name, about, item, offered=bool(mine))
    if not mine:
        said = [answer_difference(turn, jar, item.raw, item.seal) for jar in gave]
        key = "custody.read_own" if jars[0].holder == turn.person.name else "custody.not_offered"
        plain = turn.word(key, number=boxed.name, person=jars[0].holder)
        answer(turn, jars, said[:1] or (plain,))
        return True
    time = own_time(turn, lines.time or "")
    told = time if isinstance(time, TimeTold) else None
    heard = Heard(told, may_move=not isinstance(time, str))
    if isinstance(time, str):
        heard.said.append(time)
    if settle(turn, mine[0], turn.sample(mine[0].id), heard, boxed.name):
        heard.moved = [turn.sample(jar.id) for jar in mine]
        receive(turn, heard)
    done = received_text(turn, heard) if heard.moved else ""
    answer(turn, mine, (done, *heard.said))
    return True


def _write(turn: Turn, box: str, jars: list[Sample], item: Item, *, offered: bool) -> None:
    for case, of_case in by_case(jars):
        first = of_case[0]
        offer = first.offer if offered else None
        boxed = first.custody.box if first.custody is not None else None
        on_record = boxed.seal if boxed is not None else ""
        agrees = offer.agrees if offer is not None else None
        if item.reads:
            agrees = None if item.unread else item.seal is not None and same_seal(item.seal, on_record)
        body = SealRead(
            samples=tuple(jar.id for jar in of_case),
            offer=None if offer is None else offer.id,
            number=item.seal,
            tape=item.tape,
            unread=item.unread,
            raw=f"{box} {item.raw.partition(' ')[2]}",
            container=box,
            condition=item.condition,
            agrees=agrees,
            coded=turn.proven or None,
            on_phone_of=turn.phone_of,
        )
        turn.write(case, body)
