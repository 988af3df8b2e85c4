"""Commands that keep a store: backup, restore, upgrade, check."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ..check import check
from ..clock import SystemClock
from ..keeping import Kept, backup, restore, upgrade
from .base import StoreOption, app, findings_said, settings_of

BackupFolder = Annotated[Path, typer.Argument(help="The folder of backups, best on another disk.")]


@app.command(name="backup")
def backup_command(folder: BackupFolder, store: StoreOption) -> None:
    """Copy a store, running or not, into FOLDER and verify the copy; originals there already are kept."""
    kept = backup(store, folder, settings_of(store), SystemClock())
    raise typer.Exit(_tell_kept("Backed up to", kept))


@app.command(name="restore")
def restore_command(
    folder: BackupFolder,
    store: StoreOption,
    at: Annotated[str | None, typer.Option("--at", help="An older one, as its folder is named.")] = None,
) -> None:
    """Make a store from a backup in a new folder, and verify it."""
    kept = restore(folder, store, at)
    raise typer.Exit(_tell_kept("Restored to", kept))


@app.command(name="upgrade")
def upgrade_command(
    store: StoreOption, folder: Annotated[Path, typer.Option("--backup", help="Where the backup goes first.")]
) -> None:
    """Bring a store of an older release up to this one: backup, tables, verification."""
    kept = upgrade(store, folder, settings_of(store), SystemClock())
    if kept is None:
        typer.echo("The store is of this release already; nothing was done.")
        return
    raise typer.Exit(_tell_kept("Upgraded; as it was before it stands in", kept))


def _tell_kept(what: str, kept: Kept) -> int:
    """One line of what was done, one a finding; the exit code."""
    if not kept.verified:
        typer.echo(f"{what} {kept.folder}, as it is: of an older release, and verified once it is upgraded.")
        return 0
    originals = "1 original" if kept.originals == 1 else f"{kept.originals} originals"
    copied = f"{originals}, {kept.copied} of them copied now"
    typer.echo(f"{what} {kept.folder}: {kept.entries} entries, {copied}.")
    for sentence in kept.found:
        typer.echo(sentence)
    typer.echo(findings_said(len(kept.found)) if kept.found else "Verified: nothing was altered.")
    return 1 if kept.found else 0


@app.command(name="check")
def check_command(store: StoreOption) -> None:
    """Say in plain words what is wrong with settings, store, disk or clock."""
    found = check(store, settings_of(store), SystemClock())
    for sentence in found:
        typer.echo(sentence)
    typer.echo(findings_said(len(found)) if found else "Nothing is wrong.")
    raise typer.Exit(1 if found else 0)
