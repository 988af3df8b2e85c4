"""Files as they arrived, on this machine's disk, each under its SHA-256.

A file is written aside, forced to disk and only then renamed, so that what stands under a hash is whole. A
kill at any instant leaves at most something aside, or a file that no record names; `sweep` removes both.
"""

from __future__ import annotations

import asyncio
import hashlib
import os
import re
import tempfile
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import ExitStack, suppress
from pathlib import Path
from threading import Lock
from typing import ParamSpec, TypeVar

from bot.model.errors import FileTooLarge, StoreUnavailable

P = ParamSpec("P")
T = TypeVar("T")

HASH = re.compile(r"[0-9a-f]{64}")


class FolderOriginals:
    """A folder: ab/abcdef… holds what was kept, aside/ what is still being written."""

    def __init__(self, folder: Path) -> None:
        self.trouble: str | None = None  # a folder's disk is the store's own
        self.folder = folder
        self._naming = Lock()  # so that no file takes its name while an older copy of it is being removed

    async def keep(self, chunks: AsyncIterator[bytes], limit_bytes: int) -> tuple[str, int]:
        """Return (sha256 hex, size) once the bytes are on disk under that name; the same bytes are one file.

        Raises FileTooLarge past the limit, StoreUnavailable when the disk does not take them, and what
        `chunks` raises; none of these leaves a part behind.
        """
        part = _Part(self.folder)
        try:
            await _on_disk(part.open)
            async for chunk in chunks:
                if part.size + len(chunk) > limit_bytes:
                    raise FileTooLarge(limit_bytes)
                await _on_disk(part.write, chunk)
            return await _on_disk(self._name, part)
        finally:
            await asyncio.shield(asyncio.to_thread(part.discard))

    async def read(self, sha256: str) -> bytes:
        """Return the bytes. Raises KeyError where none stand under that name, StoreUnavailable else."""
        return await _on_disk(self._read, sha256)

    async def reached(self) -> None:
        """A folder is always there: what its disk refuses is told when it does."""

    async def sizes(self) -> dict[str, int]:
        """Every file kept, by hash, in bytes. Raises StoreUnavailable."""
        return await _on_disk(lambda: dict(self._each(lambda file: file.stat().st_size)))

    async def check(self) -> list[str]:
        """Every hash whose bytes no longer match it, in order. Raises StoreUnavailable."""
        return await _on_disk(lambda: [name for name, found in self._each(_sha256) if found != name])

    async def sweep(self, named: set[str], older_than_s: float, now_s: float) -> list[str]:
        """Remove what was left aside and what no record names, where older; return the names of the removed.

        `now_s` is in seconds since 1970-01-01 UTC. The age must be longer than any upload and commit take:
        a file stands under its hash before the record that names it is committed. Only the process that
        keeps files may sweep. Raises StoreUnavailable.
        """
        return await _on_disk(self._sweep, named, now_s - older_than_s)

    def _place(self, sha256: str) -> Path:
        if not HASH.fullmatch(sha256):
            raise KeyError(sha256)
        return self.folder / sha256[:2] / sha256

    def _name(self, part: _Part) -> tuple[str, int]:
        sha256 = part.finish()
        place = self._place(sha256)
        _make_folder(place.parent)
        with self._naming:
            part.path.replace(place)
        _sync_folder(place.parent)
        _sync_folder(self.folder)
        return sha256, part.size

    def _read(self, sha256: str) -> bytes:
        try:
            return self._place(sha256).read_bytes()
        except FileNotFoundError:
            raise KeyError(sha256) from None

    def _kept(self) -> Iterator[Path]:
        for path in _inside(self.folder):
            for file in _inside(path) if len(path.name) == 2 else ():
                if HASH.fullmatch(file.name) and file.name.startswith(path.name):
                    yield file

    def _each(self, look: Callable[[Path], T]) -> Iterator[tuple[str, T]]:
        for file in self._kept():
            with suppress(FileNotFoundError):  # the sweep may take one while this looks
                yield file.name, look(file)

    def _sweep(self, named: set[str], before_s: float) -> list[str]:
        removed = []
        for file in (*_inside(self.folder / "aside"), *self._kept()):
            with self._naming, suppress(FileNotFoundError):  # a part may be named or given up meanwhile
                if file.name not in named and file.stat().st_mtime < before_s:
                    file.unlink()
                    removed.append(file.name)
        return removed


class _Part:
    """A file being written aside; its hash is known when its last byte is.

    Whoever waits for a thread may be cancelled while the thread goes on: what is opened after the part was
    discarded is not opened at all.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.size = 0
        self._hash = hashlib.sha256()
        self._open = ExitStack()
        self._opening = Lock()
        self._over = False

    def open(self) -> None:
        with self._opening:
            if self._over:
                return
            _make_folder(self._folder)
            _make_folder(self._folder / "aside")
            handle, name = tempfile.mkstemp(dir=self._folder / "aside")  # mode 0600
            self._file = self._open.enter_context(os.fdopen(handle, "wb"))
            self.path = Path(name)
            self._open.callback(self.path.unlink, missing_ok=True)

    def write(self, chunk: bytes) -> None:
        self._file.write(chunk)
        self._hash.update(chunk)
        self.size += len(chunk)

    def finish(self) -> str:
        self._file.flush()
        os.fsync(self._file.fileno())
        return self._hash.hexdigest()

    def discard(self) -> None:
        """Nothing is open or aside any more; once named there is nothing to remove.

        What the disk does not let go is left to the sweep: the first error is the one to tell.
        """
        with self._opening:
            self._over = True
        with suppress(OSError):
            self._open.close()


async def _on_disk(work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """Do the work in a thread. Raises StoreUnavailable for what the system refuses."""
    try:
        return await asyncio.to_thread(work, *args, **kwargs)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        sentence = f"The folder of originals failed ({reason}): see to its disk, then send again."
        raise StoreUnavailable(sentence) from error


def _make_folder(folder: Path) -> None:
    if not folder.is_dir():
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        _sync_folder(folder.parent)


def _sync_folder(folder: Path) -> None:
    """Return once the names in it are on disk."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _inside(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []


def _sha256(file: Path) -> str:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
