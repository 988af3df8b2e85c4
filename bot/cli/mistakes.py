"""A command line that cannot be read: one sentence, in the words of the README, with the way out."""

from __future__ import annotations

import re
from typing import Any

from typer.exceptions import TyperException

PROGRAM = "coldjar"
_NEAREST = re.compile(r"Did you mean '([^']+)'")
_QUOTED = re.compile(r"'([^']+)'")
_TOO_MUCH = re.compile(r"\(([^()]*)\)$")


def sentence_of(problem: TyperException) -> str:
    """What is wrong with what was typed, and what to type instead."""
    context = getattr(problem, "ctx", None)
    command = PROGRAM if context is None else str(context.command_path)
    say = _SAYS.get(type(problem).__name__, _other)
    return say(problem, command)


def _missing(problem: Any, command: str) -> str:
    name, help_ = _named(problem.param), str(getattr(problem.param, "help", "") or "")
    what = f" ({help_[:1].lower()}{help_[1:].rstrip('.')})" if help_ else ""
    return f"{command} lacks {name}{what}; add it."


def _no_option(problem: Any, command: str) -> str:
    near = [one for one in problem.possibilities or () if one != problem.option_name]
    way = f"did you mean {near[0]}?" if near else f"{command} --help lists what it has."
    return f"{command} has no option {problem.option_name}; {way}"


def _bad_value(problem: Any, command: str) -> str:
    wanted = "a whole number" if "integer" in problem.message else "a number"
    return f"{_named(problem.param)} of {command} takes {wanted}; write one behind it."


def _bad_use(problem: Any, command: str) -> str:
    if "requires" in problem.message:
        return f"{problem.option_name} wants a value; write it behind."
    return f"{problem.option_name} takes no value; write it alone."


def _other(problem: Any, command: str) -> str:
    """Too many words, or a command that there is not."""
    said = str(problem.message)
    too_much = _TOO_MUCH.search(said)
    if too_much:
        return f"{command} cannot read {too_much[1]} there; leave it out, or put words with spaces in quotes."
    typed, near = _QUOTED.search(said), _NEAREST.search(said)
    if typed is None:
        return f"{command} cannot be read as it was typed; {command} --help shows how."
    way = f"did you mean {near[1]}?" if near else f"{command} --help lists them."
    return f"{PROGRAM} has no command {typed[1]}; {way}"


def _named(param: Any) -> str:
    """An option as it is typed, an argument as the README has it."""
    options = [one for one in getattr(param, "opts", ()) if one.startswith("--")]
    return str(options[0] if options else param.name.upper())


_SAYS = {
    "MissingParameter": _missing,
    "NoSuchOption": _no_option,
    "BadParameter": _bad_value,
    "BadOptionUsage": _bad_use,
}
