"""The command line, a module for each kind of command. Output to stdout, logs to stderr.

An error is one sentence with the way out.
"""

from __future__ import annotations

import typer
from typer.exceptions import TyperException
from typer.main import get_command

from ..model.errors import ColdjarError
from . import day, drill, evidence, keep, kit, line, papers, people, record
from .base import app
from .mistakes import PROGRAM, sentence_of

__all__ = ["app", "day", "drill", "evidence", "keep", "kit", "line", "papers", "people", "record", "run"]


def run() -> int:
    """The exit code: 0 done, 1 found something wrong, 2 asked wrongly."""
    try:
        ended = get_command(app).main(prog_name=PROGRAM, standalone_mode=False)
    except ColdjarError as problem:
        return _asked_wrongly(str(problem))
    except TyperException as problem:
        return _asked_wrongly(sentence_of(problem)) if problem.message or hasattr(problem, "param") else 2
    except SystemExit as stopped:
        ended = stopped.code
    return ended if isinstance(ended, int) else 0


def _asked_wrongly(sentence: str) -> int:
    typer.echo(sentence, err=True)
    return 2
