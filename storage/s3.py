"""Originals in a bucket that machines share, each under its SHA-256, with a copy in this machine's folder.

A file is in the bucket before the record that names it is committed, so that whichever machine writes next
has it. The folder is what papers, bundles and backups read; what it lacks is fetched. Protocol: the S3 API,
version 2006-03-01.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Awaitable, Callable
from datetime import timedelta
from pathlib import Path
from typing import TypeVar
from urllib.parse import urlsplit

import obstore
from obstore.exceptions import BaseError
from obstore.store import S3Store

from bot.model.errors import AskedWrongly, StoreUnavailable

from .originals import FolderOriginals

log = logging.getLogger("coldjar.originals")

T = TypeVar("T")

TEND_S = 5.0
LIMIT_S = 10.0  # for one request: a photo over a slow link takes some seconds
LOOPBACK = ("127.0.0.1", "localhost", "::1")


class BucketOriginals(FolderOriginals):
    """The bucket and the folder; `trouble` says why the bucket takes nothing, None while it does."""

    def __init__(
        self, folder: Path, url: str, region: str, key_id: str, secret: str, limit_s: float = LIMIT_S
    ) -> None:
        """`url` is like https://s3.example/bucket. Raises AskedWrongly."""
        super().__init__(folder)
        where = urlsplit(url)
        name = where.path.strip("/")
        safe = where.scheme == "https" or (where.scheme == "http" and where.hostname in LOOPBACK)
        if not safe or not name or "/" in name:
            raise AskedWrongly("originals_url must be like https://s3.example/bucket; correct it.")
        self._bucket = S3Store(
            name,
            endpoint=f"{where.scheme}://{where.netloc}",
            region=region,
            access_key_id=key_id,
            secret_access_key=secret,
            virtual_hosted_style_request=False,
            client_options={"timeout": timedelta(seconds=limit_s), "allow_http": where.scheme == "http"},
            retry_config={"max_retries": 0},  # whoever uploads waits, and can send again
        )

    async def keep(self, chunks: AsyncIterator[bytes], limit_bytes: int) -> tuple[str, int]:
        """As in the folder, and in the bucket too. Raises StoreUnavailable where either takes nothing."""
        sha256, size = await super().keep(chunks, limit_bytes)
        await self._upload(sha256)
        return sha256, size

    async def read(self, sha256: str) -> bytes:
        """Return the bytes. Raises KeyError where neither has them, StoreUnavailable else."""
        try:
            return await super().read(sha256)
        except KeyError:
            await self._fetch(sha256)
            return await super().read(sha256)

    async def fill(self, named: set[str]) -> None:
        """Each file that a record names is in both, where either has it. Raises StoreUnavailable."""
        there = await self._said(self._names())
        here = await self.sizes()
        for sha256 in sorted(named):
            if sha256 in here and sha256 not in there:
                await self._upload(sha256)
            elif sha256 in there and sha256 not in here:
                await self._fetch(sha256)

    async def tend(self, named: Callable[[], Awaitable[set[str]]]) -> None:
        """What machines before this one kept is here too; a bucket that was away is looked for, for ever."""
        filled = False
        while True:
            try:
                if not filled:
                    await self.fill(await named())
                    filled = True
                elif self.trouble is not None:
                    await self.reached()
            except StoreUnavailable as problem:
                log.warning("%s", problem)
            await asyncio.sleep(TEND_S)

    async def reached(self) -> None:
        """The bucket is there and takes the key. Raises StoreUnavailable."""
        try:
            await self._said(self._answers())
        except FileNotFoundError as error:
            raise StoreUnavailable("there is no such bucket") from error

    async def _upload(self, sha256: str) -> None:
        await self._said(obstore.put_async(self._bucket, _key(sha256), self._place(sha256)))

    async def _fetch(self, sha256: str) -> None:
        """It is in the folder. Raises KeyError where the bucket does not have it, or has other bytes."""
        self._place(sha256)  # a name that is no hash is none of ours
        try:
            data = bytes(await self._said(self._bytes(sha256)))
        except FileNotFoundError:
            raise KeyError(sha256) from None
        found, _ = await super().keep(_once(data), len(data))
        if found != sha256:
            log.error("the bucket holds other bytes under %s", sha256)
            raise KeyError(sha256)

    async def _bytes(self, sha256: str) -> obstore.Bytes:
        return await (await obstore.get_async(self._bucket, _key(sha256))).bytes_async()

    async def _names(self) -> set[str]:
        return {one["path"].rpartition("/")[2] async for page in obstore.list(self._bucket) for one in page}

    async def _answers(self) -> None:
        async for _ in obstore.list(self._bucket, chunk_size=1):
            return

    async def _said(self, call: Awaitable[T]) -> T:
        """Return what the bucket answers. Raises StoreUnavailable, and FileNotFoundError as an answer."""
        try:
            answer = await call
        except FileNotFoundError:
            self.trouble = None
            raise
        except (BaseError, OSError) as error:
            self.trouble = "the bucket of originals does not answer"
            log.warning("the bucket of originals: %s", type(error).__name__)
            raise StoreUnavailable(
                "Files cannot be kept just now: text instead, and send the file later."
            ) from error
        self.trouble = None
        return answer


def _key(sha256: str) -> str:
    return f"{sha256[:2]}/{sha256}"


async def _once(data: bytes) -> AsyncIterator[bytes]:
    yield data
