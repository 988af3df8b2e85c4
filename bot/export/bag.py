"""A BagIt bag (RFC 8493) written straight into a stored zip: each byte is read once, hashed and put down."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import TracebackType
from typing import IO, BinaryIO, Self

PIECE = 1 << 20
DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


class Bag:
    """A bag being written; it is whole once `close` returned.

    Two threads share the work: one hashes a piece while the other sums and writes it.
    """

    def __init__(self, to: BinaryIO, name: str, at: tuple[int, int, int, int, int, int]) -> None:
        self._zip = zipfile.ZipFile(to, "w", zipfile.ZIP_STORED)
        self._name = name
        self._at = at
        self._pool = ThreadPoolExecutor(1)
        self._payload: dict[str, str] = {}
        self._tags: dict[str, str] = {}
        self._bytes = 0
        self._open: IO[bytes] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._pool.shutdown()
        if self._open is not None:
            self._open.close()  # only where something failed between two lines
        self._zip.close()

    def add(self, path: str, text: str) -> str:
        """A file holds this text; its SHA-256."""
        return self.add_pieces(path, (text.encode(),))

    def add_pieces(self, path: str, pieces: Iterable[bytes]) -> str:
        """A file holds these pieces, one after the other; its SHA-256. `data/…` is the bag's payload."""
        digest = hashlib.sha256()
        size = 0
        with self._zip.open(self._info(path), "w", force_zip64=True) as target:
            for piece in pieces:
                hashed = self._pool.submit(digest.update, piece)
                target.write(piece)
                size += len(piece)
                hashed.result()
        return self._note(path, digest.hexdigest(), size)

    def add_file(self, path: str, source: Path) -> str:
        """A file holds what the source holds; its SHA-256. Raises OSError where it cannot be read."""
        with source.open("rb") as stream:
            return self.add_pieces(path, iter(lambda: stream.read(PIECE), b""))

    def open_lines(self, path: str) -> Lines:
        """A file that is written line by line; nothing else may be added until it is closed."""
        self._open = self._zip.open(self._info(path), "w", force_zip64=True)
        return Lines(self, path, self._open)

    def close(self, info: dict[str, str]) -> str:
        """The bag's own files stand too; the SHA-256 of the tag manifest, which stands for all of it."""
        self.add("bagit.txt", DECLARATION)
        oxum = f"{self._bytes}.{len(self._payload)}"
        self.add("bag-info.txt", "".join(f"{k}: {v}\n" for k, v in {**info, "Payload-Oxum": oxum}.items()))
        self.add("manifest-sha256.txt", _manifest(self._payload))
        return self.add("tagmanifest-sha256.txt", _manifest(self._tags))

    def _info(self, path: str) -> zipfile.ZipInfo:
        info = zipfile.ZipInfo(f"{self._name}/{path}", self._at)
        info.external_attr = 0o644 << 16
        return info

    def _note(self, path: str, sha256: str, size: int) -> str:
        if path.startswith("data/"):
            self._payload[path] = sha256
            self._bytes += size
        else:
            self._tags[path] = sha256
        return sha256


class Lines:
    """One file of a bag, a line at a time."""

    def __init__(self, bag: Bag, path: str, target: IO[bytes]) -> None:
        self._bag, self._path, self._target = bag, path, target
        self._digest = hashlib.sha256()
        self._size = 0

    def put(self, line: str) -> None:
        """One line more."""
        piece = line.encode() + b"\n"
        self._digest.update(piece)
        self._size += len(piece)
        self._target.write(piece)

    def close(self) -> None:
        """The file is whole."""
        self._target.close()
        self._bag._note(self._path, self._digest.hexdigest(), self._size)


def _manifest(files: dict[str, str]) -> str:
    return "".join(f"{sha256}  {path}\n" for path, sha256 in sorted(files.items()))
