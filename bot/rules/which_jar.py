"""A jar's number as its reader is told it: with its case where they see more than one that is open."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ..model.case import Case
from ..model.people import Person
from .roles import Action, may
from .worded import Worded


def could_mean_either(person: Person, cases: Iterable[Case]) -> bool:
    """True where this person sees more than one open case; who works on none is handed jars of all."""
    opened = [case for case in cases if case.state == "open"]
    mine = [case for case in opened if not case.people or person.name in case.people]
    return len(opened if not mine or may(person, Action.WORK_ON_ALL_CASES) else mine) > 1


def naming_cases(text: str, word: Callable[..., str]) -> str:
    """The text with its case before each jar that it tells of; one that was put together as it is."""
    if not isinstance(text, Worded):
        return text
    if text.key == "jars.said":
        return word("jars.said.case", **text.values)
    values = {
        name: naming_cases(value, word) if isinstance(value, str) else value
        for name, value in text.values.items()
    }
    return word(text.key, **values)
