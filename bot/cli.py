"""The command line. Output to stdout, logs to stderr; an error is one sentence with the way out."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Annotated

import typer

from storage.database import open_database
from storage.rebuild import contents, rebuild
from storage.verify import verify as verify_store

from .check import check
from .clock import SeededSecrets, SystemClock, SystemSecrets, VirtualClock
from .install import apply_setup
from .keeping import Kept, backup, restore, upgrade
from .logs import begin_log
from .model.errors import AskedWrongly, ColdjarError
from .replay import channels_for, play, read_script
from .serve import run_demo, run_serve
from .settings import Settings, database_url, read_settings
from .setup import read_setup
from .show import LISTS, show
from .wiring import build, open_store, store_key

app = typer.Typer(add_completion=False, no_args_is_help=True, pretty_exceptions_enable=False)

StoreOption = Annotated[Path, typer.Option("--store", help="The store's folder.")]
FileArgument = Annotated[Path, typer.Argument(help="The file to read.")]
JsonOption = Annotated[bool, typer.Option("--json", help="One JSON array, for programs.")]
CaseOption = Annotated[str | None, typer.Option("--case", help="Only what concerns this case.")]


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


def _settings(store: Path) -> Settings:
    settings = read_settings(store)
    begin_log(settings.log_level)
    return settings


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        why = problem.strerror if isinstance(problem, OSError) else "it is not UTF-8"
        raise AskedWrongly(f"{file} cannot be read: {why}; name another file.") from problem


@app.command()
def setup(file: FileArgument, store: StoreOption) -> None:
    """Bring the unit to what FILE says; each change is an entry. Prints sign-in links for web addresses."""
    settings = _settings(store)
    text = _text(file)
    read_setup(text)

    async def work() -> None:
        opened = await open_store(store, settings, SystemSecrets(), make=True)
        try:
            key = store_key(store, SystemSecrets(), make=True)
            result = await apply_setup(opened, text, SystemClock(), SystemSecrets(), key)
        finally:
            await opened.close()
        base = settings.public_url or f"http://{settings.host}:{settings.port}"
        typer.echo(f"{result.changes} changes on record.")
        for person, token in result.links:
            typer.echo(f"{person}: {base}/in/{token}")

    asyncio.run(work())


@app.command()
def replay(file: FileArgument, store: StoreOption) -> None:
    """Play messages from FILE (JSON Lines) through the real line on a clock of its own."""
    settings = _settings(store)
    text = _text(file)
    lines = read_script(text)

    async def work() -> None:
        clock = VirtualClock(lines[0].at_us if lines else 0)
        opened = await open_store(store, settings, SeededSecrets(text))
        try:
            channels = channels_for(lines, clock, typer.echo)
            house = build(opened, store, channels, clock, "replay", store_key(store, SystemSecrets()))
            await house.pump.start()
            await play(house, clock, lines, file.parent)
        finally:
            await opened.close()

    asyncio.run(work())


@app.command(name="show")
def show_command(
    what: Annotated[str, typer.Argument(help=f"One of: {', '.join(sorted(LISTS))}.")],
    store: StoreOption,
    case: CaseOption = None,
    as_json: JsonOption = False,
) -> None:
    """Print what the store holds."""
    settings = _settings(store)

    async def work() -> None:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            lines = await show(opened.database, what, case)
        finally:
            await opened.close()
        if as_json:
            typer.echo(json.dumps(lines, ensure_ascii=False))
        for line in () if as_json else lines:
            typer.echo(
                "  ".join(f"{key}={value}" for key, value in line.items() if value not in (None, [], {}))
            )

    asyncio.run(work())


@app.command()
def verify(store: StoreOption, as_json: JsonOption = False) -> None:
    """Say whether anything was altered, and exactly what."""
    settings = _settings(store)

    async def work() -> int:
        opened = await open_store(store, settings, SystemSecrets())
        try:
            async with opened.database.read() as tx:
                verdict = await verify_store(tx)
            altered = await _originals_altered(store)
        finally:
            await opened.close()
        found = [*verdict.found, *altered]
        if as_json:
            held = {"entries": verdict.entries, "chains": verdict.chains, "messages": verdict.messages}
            typer.echo(json.dumps({**held, "found": found}))
        else:
            typer.echo(f"{verdict.entries} entries in {verdict.chains} chains, {verdict.messages} messages.")
            for sentence in found:
                typer.echo(sentence)
            typer.echo("Nothing was altered." if not found else f"{len(found)} findings.")
        return 1 if found else 0

    raise typer.Exit(asyncio.run(work()))


async def _originals_altered(store: Path) -> list[str]:
    from storage.originals import FolderOriginals

    names = await FolderOriginals(store / "originals").check()
    return [f"original {name}: its bytes do not give its name" for name in names]


@app.command(name="rebuild")
def rebuild_command(store: StoreOption) -> None:
    """Make the tables that people read again from the entries; says whether anything differed."""
    settings = _settings(store)

    async def work() -> int:
        database = await open_database(database_url(store, settings), busy_s=settings.busy_s)
        try:
            async with database.write() as tx:
                before = await contents(tx)
                counts = await rebuild(tx)
                after = await contents(tx)
                await tx.run("UPDATE store_state SET writes = writes + 1 WHERE id = 1")
        finally:
            await database.close()
        changed = [table for table in before if before[table] != after[table]]
        typer.echo(", ".join(f"{table} {count}" for table, count in counts.items()))
        typer.echo(
            f"Different from before: {', '.join(changed)}." if changed else "Same as before, bit for bit."
        )
        return 1 if changed else 0

    raise typer.Exit(asyncio.run(work()))


@app.command()
def serve(store: StoreOption) -> None:
    """Run the whole line in one process, until it is stopped."""
    settings = _settings(store)
    run_serve(store, settings)


@app.command()
def demo(
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Where the page listens here; 0 takes a free one.")
    ] = 8765,
    store: Annotated[
        Path | None, typer.Option("--store", help="Keep it here instead of a new folder.")
    ] = None,
) -> None:
    """An invented harbour as an exercise, the web chat open on this machine only; no account needed."""
    run_demo(port, store)


BackupFolder = Annotated[Path, typer.Argument(help="The folder of backups, best on another disk.")]


@app.command(name="backup")
def backup_command(folder: BackupFolder, store: StoreOption) -> None:
    """Copy a store, running or not, into FOLDER and verify the copy; originals there already are kept."""
    kept = backup(store, folder, _settings(store), SystemClock())
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
    kept = upgrade(store, folder, _settings(store), SystemClock())
    if kept is None:
        typer.echo("The store is of this release already; nothing was done.")
        return
    raise typer.Exit(_tell_kept("Upgraded; as it was before it stands in", kept))


def _tell_kept(what: str, kept: Kept) -> int:
    """One line of what was done, one a finding; the exit code."""
    copied = f"{kept.originals} originals, {kept.copied} of them copied now"
    typer.echo(f"{what} {kept.folder}: {kept.entries} entries, {copied}.")
    for sentence in kept.found:
        typer.echo(sentence)
    typer.echo(f"{len(kept.found)} findings." if kept.found else "Verified: nothing was altered.")
    return 1 if kept.found else 0


@app.command(name="check")
def check_command(store: StoreOption) -> None:
    """Say in plain words what is wrong with settings, store, disk or clock."""
    found = check(store, _settings(store), SystemClock())
    for sentence in found:
        typer.echo(sentence)
    typer.echo(f"{len(found)} findings." if found else "Nothing is wrong.")
    raise typer.Exit(1 if found else 0)
