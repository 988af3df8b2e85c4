"""The command line, a module for each kind of command. Output to stdout, logs to stderr.

An error is one sentence with the way out.
"""

from __future__ import annotations

import typer

from ..model.errors import ColdjarError
from . import day, drill, evidence, keep, kit, line, papers, people, record
from .base import app

__all__ = ["app", "day", "drill", "evidence", "keep", "kit", "line", "papers", "people", "record", "run"]


def run() -> int:
    """The exit code: 0 done, 1 found something wrong, 2 asked wrongly."""
    try:
        app()
    except ColdjarError as problem:
        typer.echo(str(problem), err=True)
        return 2
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else 0
    return 0
