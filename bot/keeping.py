"""Keeps a store safe: backup, restore, upgrade, each verified before it is said to be done.

A backup folder holds `stores/INSTANT/` (tables, key, settings) and `originals/`, shared by all instants:
what is there already is not copied again.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from storage import reading
from storage.backup import copy_tables, restore_tables
from storage.database import open_database
from storage.migrate import HEAD, ensure_migrated, is_older, version_of
from storage.rebuild import rebuild
from storage.verify import Verdict, verify

from .model.errors import AskedWrongly, StoreUnavailable, StoreUnfit
from .model.times import utc
from .ports import Clock
from .settings import FILE, Settings, database_url, read_settings

KEPT = ("key", FILE)  # besides tables and originals, what a store's folder holds
FACTS = "backup.json"


@dataclass(frozen=True)
class Kept:
    """What a backup, a restore or an upgrade made, and what `verify` found in it.

    A copy of an older release's store is not `verified`: this release reads its tables once it was upgraded.
    """

    folder: Path
    entries: int
    originals: int
    copied: int
    found: tuple[str, ...]
    verified: bool = True


def backup(store: Path, to: Path, settings: Settings, clock: Clock) -> Kept:
    """The store as of now stands in the backup folder, and was verified there. Raises ColdjarError."""
    _refuse_inside(store, to)
    url = database_url(store, settings)
    version = _version_at(store, url)
    stands = to / "stores" / f"{utc(clock.now_us()):%Y-%m-%dT%H%M%S.%fZ}"
    aside = stands.with_name(f"{stands.name}.part")
    try:
        aside.mkdir(mode=0o700, parents=True)
        asyncio.run(copy_tables(url, aside))
        for name in KEPT:
            if (store / name).is_file():
                shutil.copy2(store / name, aside / name)
        copied = _copy_originals(store / "originals", to / "originals")
        verdict, named = _look_at_copy(aside, settings)
        missing = _missing(to, named)
        facts = {
            "tables": version,
            "entries": verdict.entries,
            "originals": len(named),
            "found": verdict.found,
        }
        (aside / FACTS).write_text(json.dumps(facts), encoding="utf-8")
        _sync_folder(aside)
        aside.rename(stands)
        _sync_folder(stands.parent)
    except OSError as problem:
        raise StoreUnavailable(
            f"The backup failed ({problem.strerror}); see to the disk of {to}."
        ) from problem
    found = (*verdict.found, *missing)
    return Kept(stands, verdict.entries, len(named), copied, found, verified=version == HEAD)


def restore(source: Path, store: Path, at: str | None) -> Kept:
    """The store of a backup stands in a new folder, and was verified there. Raises ColdjarError."""
    stands = _pick(source, at)
    if store.exists() and any(store.iterdir()):
        raise AskedWrongly(f"{store} is not empty; name a new folder.")
    try:
        store.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name in KEPT:
            if (stands / name).is_file():
                shutil.copy2(stands / name, store / name)
        copied = _copy_originals(source / "originals", store / "originals")
        settings = read_settings(store)
        asyncio.run(_fill(stands, database_url(store, settings)))
    except OSError as problem:
        raise StoreUnavailable(
            f"The restore failed ({problem.strerror}); see to the disk of {store}."
        ) from problem
    verdict, named = asyncio.run(_look_at(database_url(store, settings)))
    missing = _missing(store, named)
    return Kept(store, verdict.entries, len(named), copied, (*verdict.found, *missing))


def upgrade(store: Path, to: Path, settings: Settings, clock: Clock) -> Kept | None:
    """The store has this release's tables, after a backup and before a verification; None: it had them.

    Raises ColdjarError; the backup then says how the store was.
    """
    url = database_url(store, settings)
    if _version_at(store, url) == HEAD:
        return None
    kept = backup(store, to, settings, clock)
    asyncio.run(_bring_up(url))
    verdict, named = asyncio.run(_look_at(url))
    found = (*verdict.found, *_missing(store, named))
    return Kept(kept.folder, verdict.entries, len(named), kept.copied, found)


def _version_at(store: Path, url: str) -> str:
    version = asyncio.run(version_of(url)) if store.is_dir() else None
    if version is None:
        raise StoreUnfit(f"There is no store in {store}; make one with: coldjar setup FILE --store {store}")
    return version


async def _fill(stands: Path, url: str) -> None:
    """The tables of the backup stand at the address, brought up to this release where they are older."""
    await restore_tables(stands, url)
    if await is_older(url):
        await _bring_up(url)


async def _bring_up(url: str) -> None:
    await ensure_migrated(url)
    database = await open_database(url)
    try:
        async with database.write() as tx:
            await rebuild(tx)  # what people read may have grown columns
    finally:
        await database.close()


def _look_at_copy(folder: Path, settings: Settings) -> tuple[Verdict, set[str]]:
    """What a copy says. A PostgreSQL dump cannot be opened: the store it was just made from is looked at."""
    file = folder / "coldjar.db"
    url = f"sqlite:///{file.resolve()}" if file.exists() else database_url(folder, settings)
    return asyncio.run(_look_at(url))


async def _look_at(url: str) -> tuple[Verdict, set[str]]:
    if await version_of(url) != HEAD:
        return Verdict(0, 0, 0, ()), set()  # an older release's: it is verified once it was upgraded
    database = await open_database(url)
    try:
        async with database.read() as tx:
            return await verify(tx), await reading.named_files(tx)
    finally:
        await database.close()


def _pick(source: Path, at: str | None) -> Path:
    """The newest backup, or the one of an instant as its folder is named."""
    found = sorted(one for one in (source / "stores").glob("*") if (one / FACTS).is_file())
    if not found:
        raise AskedWrongly(f"There is no whole backup in {source}; name the folder that backup wrote to.")
    if at is None:
        return found[-1]
    named = [one for one in found if one.name == at]
    if not named:
        raise AskedWrongly(f"There is no backup {at}; there are: {', '.join(one.name for one in found)}.")
    return named[0]


def _refuse_inside(store: Path, to: Path) -> None:
    if to.resolve().is_relative_to(store.resolve()):
        raise AskedWrongly("A backup inside the store's own folder is lost with it; name another disk.")


def _place(folder: Path, sha256: str) -> Path:
    return folder / "originals" / sha256[:2] / sha256


def _missing(folder: Path, named: set[str]) -> list[str]:
    return [f"original {name}: it is missing" for name in sorted(named) if not _place(folder, name).is_file()]


def _originals(folder: Path) -> Iterator[Path]:
    for group in sorted(folder.glob("[0-9a-f][0-9a-f]")):
        yield from sorted(group.glob("?" * 64))


def _copy_originals(source: Path, to: Path) -> int:
    """What is not there yet is copied, and its bytes give its name; how many that were."""
    copied = 0
    for file in _originals(source):
        place = to / file.parent.name / file.name
        if place.exists():
            continue
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        part = place.with_name(f"{file.name}.part")
        if _copy_hashed(file, part) != file.name:
            part.unlink()
            continue  # altered at its source: `verify` names it there, and a good copy is not covered
        part.rename(place)
        copied += 1
    return copied


def _copy_hashed(file: Path, to: Path) -> str:
    digest = hashlib.sha256()
    with file.open("rb") as source, to.open("wb") as target:
        to.chmod(0o600)
        while piece := source.read(1 << 20):
            digest.update(piece)
            target.write(piece)
        target.flush()
        os.fsync(target.fileno())
    return digest.hexdigest()


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
