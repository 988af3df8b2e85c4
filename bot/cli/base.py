"""What every command shares: the application, its options, its settings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ..logs import begin_log
from ..model.errors import AskedWrongly
from ..settings import Settings, read_settings, secrets_of

app = typer.Typer(add_completion=False, no_args_is_help=True, pretty_exceptions_enable=False)

StoreOption = Annotated[Path, typer.Option("--store", help="The store's folder.")]
FileArgument = Annotated[Path, typer.Argument(help="The file to read.")]
JsonOption = Annotated[bool, typer.Option("--json", help="One JSON array, for programs.")]
CaseOption = Annotated[str | None, typer.Option("--case", help="Only what concerns this case.")]


def settings_of(store: Path) -> Settings:
    """The settings of a store's folder and the environment; the log has begun."""
    settings = read_settings(store)
    begin_log(settings.log_level, secrets_of(settings))
    return settings


def findings_said(count: int) -> str:
    """How many findings, as the last line of a command."""
    return "1 finding." if count == 1 else f"{count} findings."


def text_of(file: Path) -> str:
    """What the file holds. Raises AskedWrongly where it cannot be read."""
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        why = problem.strerror if isinstance(problem, OSError) else "it is not UTF-8"
        raise AskedWrongly(f"{file} cannot be read: {why}; name another file.") from problem
