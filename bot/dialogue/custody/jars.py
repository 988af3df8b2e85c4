"""Which jars a custody line is about: by number in the case named, else in every open case."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby

from ...model.entries import NoteMade
from ...model.people import Person
from ...model.sample import Sample
from ..readers.words import NumberTold, read_numbers
from ..turn import Turn

MOST_NAMED = 40  # characters of somebody's words that are repeated in a reply


@dataclass
class Found:
    """`jars` are what the line is about; `said` are the sentences on the other numbers."""

    jars: list[Sample] = field(default_factory=list)
    said: list[str] = field(default_factory=list)


def leading_numbers(text: str) -> tuple[tuple[NumberTold, ...], str]:
    """The numbers and ranges that the text begins with, and the words after them."""
    words = text.split()
    for count in range(len(words), 0, -1):
        numbers = read_numbers(" ".join(words[:count]))
        if isinstance(numbers, tuple):
            return numbers, " ".join(words[count:])
    return (), " ".join(words)


def without_case(turn: Turn, text: str) -> str:
    """The text after the name of an open case, which then is the turn's; couriers work on no case."""
    first, _, rest = text.partition(" ")
    for case in turn.every_case():
        if case.name.upper() == first.rstrip(":,").upper():
            turn.case = case
            return rest.strip()
    return text


def numbered(turn: Turn, number: NumberTold) -> list[Sample]:
    """Every jar of this number in any open case that is not struck."""
    found = [s for case in turn.every_case() for s in turn.find(("number", case.name, number.key))]
    return [sample for sample in found if sample.struck is None] or found


def look_up(turn: Turn, numbers: Iterable[NumberTold]) -> None:
    """All jars of these numbers are on the board, read in one go."""
    turn.need(("number", case.name, number.key) for number in numbers for case in turn.every_case())


def find_jars(
    turn: Turn,
    numbers: tuple[NumberTold, ...],
    fits: Callable[[Sample], bool],
    why_not: Callable[[NumberTold, list[Sample]], str],
) -> Found:
    """The one fitting jar of each number, and a sentence for each number that has none or several."""
    look_up(turn, numbers)
    found = Found()
    for number in numbers:
        here = numbered(turn, number)
        fitting = [sample for sample in here if fits(sample)]
        if len(fitting) > 1 and turn.case is not None:
            own = [sample for sample in fitting if sample.case == turn.case.name]
            fitting = own or fitting
        if len(fitting) == 1:
            found.jars.append(fitting[0])
        elif fitting:
            found.said.append(several(turn, number, fitting))
        else:
            found.said.append(why_not(number, here))
    return found


def several(turn: Turn, number: NumberTold, jars: list[Sample]) -> str:
    """What to say where a number is more than one jar's."""
    cases = sorted({jar.case for jar in jars})
    if len(cases) == 1:
        return turn.word("custody.two_jars", number=number.number)
    return turn.word("custody.which_case", number=number.number, names=" ".join(cases), first=cases[0])


def unknown(turn: Turn, number: str) -> str:
    """No jar of this number is on record."""
    return turn.word("custody.unknown", number=number)


def by_case(jars: Iterable[Sample]) -> Iterator[tuple[str, list[Sample]]]:
    """The jars of each case."""
    for case, of_case in groupby(sorted(jars, key=lambda jar: jar.case), key=lambda jar: jar.case):
        yield case, list(of_case)


def listed(turn: Turn, jars: Iterable[Sample]) -> str:
    """The jars' numbers, each case named before its own where more than one is open."""
    many = len(turn.every_case()) > 1
    parts = []
    for case, of_case in by_case(jars):
        numbers = " ".join(jar.number for jar in of_case)
        parts.append(f"{case} {numbers}" if many else numbers)
    return ", ".join(parts)


def tell_one(turn: Turn, name: str, case: str, text: str) -> None:
    """This person hears it, where the line can reach them; an exercise's word comes first."""
    person = turn.board.unit.people.get(name)
    before, turn.case = turn.case, turn.case_named(case)
    if person is not None and name != turn.person.name:
        turn.tell(person, text)
    turn.case = before


def answer(turn: Turn, jars: list[Sample], sentences: Iterable[str]) -> None:
    """One reply; what could not be done is kept with its words in the case it was about."""
    said = [sentence for sentence in dict.fromkeys(sentences) if sentence]
    if jars:
        turn.case = turn.case_named(jars[0].case)
    turn.say(" ".join(said))


def keep_words(turn: Turn, jars: list[Sample], text: str) -> None:
    """The words stand in the case, though nothing followed from them."""
    case = jars[0].case if jars else turn.case.name if turn.case is not None else None
    if case is not None:
        turn.write(case, NoteMade(words=text))


def receiver_of(turn: Turn, word: str) -> Person | str:
    """The person named, or the only one of a role named; else the sentence that says why not."""
    unit = turn.board.unit
    name = word.strip(" ,.:").lower()
    for person in unit.people.values():
        if person.name.lower() == name:
            return person if person.active else turn.word("custody.gone", person=person.name)
    people = [p for p in unit.people.values() if p.active and name in p.roles and p.name != turn.person.name]
    if len(people) == 1:
        return people[0]
    if people:
        return turn.word("custody.which_person", role=name, names=" ".join(sorted(p.name for p in people)))
    return turn.word("custody.nobody", person=word[:MOST_NAMED])
