"""Originals in a bucket that two machines share; the bucket goes away and comes back.

The server is moto's, in a process of its own; it is looked into with boto3, past the library that the line uses.
Each file stands under its SHA-256 (FIPS 180-4, as Python's hashlib has it).
"""

from __future__ import annotations

import hashlib
import json
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from pathlib import Path

import boto3
import pytest

from bot.model.errors import AskedWrongly, FileTooLarge, StoreUnavailable
from bot.model.message import Incoming
from bot.settings import Settings
from bot.wiring import originals_of
from storage.s3 import BucketOriginals
from tests.channels.gateway import free_ports
from tests.channels.test_sms_gateway import BY_WEB
from tests.running import running, until, until_rows

PHOTO = b"\xff\xd8 as it came, marked as exercise " * 100
HASH = hashlib.sha256(PHOTO).hexdigest()
NOTICES = "SELECT doc FROM outbox WHERE address = 'web:s1'"


class Bucket:
    """A bucket on a server of the test's own, which can be frozen: it then answers nothing and forgets nothing."""

    def __init__(self) -> None:
        [port] = free_ports(1)
        self.url = f"http://127.0.0.1:{port}/originals"
        command = [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        while not _listens(port):
            assert self.process.poll() is None
        self.looked_into = boto3.client(
            "s3", "us-east-1", endpoint_url=f"http://127.0.0.1:{port}", aws_access_key_id="x", aws_secret_access_key="x"
        )
        self.looked_into.create_bucket(Bucket="originals")

    def holds(self, sha256: str) -> bytes | None:
        try:
            answer = self.looked_into.get_object(Bucket="originals", Key=f"{sha256[:2]}/{sha256}")
        except self.looked_into.exceptions.NoSuchKey:
            return None
        return bytes(answer["Body"].read())

    def put(self, sha256: str, data: bytes) -> None:
        self.looked_into.put_object(Bucket="originals", Key=f"{sha256[:2]}/{sha256}", Body=data)

    def of(self, folder: Path) -> BucketOriginals:
        return BucketOriginals(folder / "originals", self.url, "us-east-1", "exercise", "exercise-key", limit_s=1.0)


def _listens(port: int) -> bool:
    try:
        socket.create_connection(("127.0.0.1", port), timeout=1).close()
    except OSError:
        return False
    return True


@contextmanager
def a_bucket() -> Iterator[Bucket]:
    """A bucket whose server ends with the block."""
    made = Bucket()
    try:
        yield made
    finally:
        made.process.kill()
        made.process.wait()


@pytest.fixture(scope="module")
def server() -> Iterator[Bucket]:
    with a_bucket() as made:
        yield made


@pytest.fixture
def bucket(server: Bucket) -> Bucket:
    server.looked_into.delete_object(Bucket="originals", Key=f"{HASH[:2]}/{HASH}")
    return server


async def once(data: bytes) -> AsyncIterator[bytes]:
    yield data


async def test_what_one_machine_keeps_another_has(bucket: Bucket, tmp_path: Path) -> None:
    assert await bucket.of(tmp_path / "one").keep(once(PHOTO), len(PHOTO)) == (HASH, len(PHOTO))
    assert bucket.holds(HASH) == PHOTO
    other = bucket.of(tmp_path / "other")
    assert await other.read(HASH) == PHOTO
    assert await other.sizes() == {HASH: len(PHOTO)}
    for missing in ("0" * 64, "../key"):
        with pytest.raises(KeyError):
            await other.read(missing)


async def test_a_bucket_that_is_not_there_is_not_reached(bucket: Bucket, tmp_path: Path) -> None:
    await bucket.of(tmp_path).reached()
    bucket.url += "-missing"
    try:
        with pytest.raises(StoreUnavailable):
            await bucket.of(tmp_path).reached()
    finally:
        bucket.url = bucket.url.removesuffix("-missing")


async def test_what_is_too_large_is_in_neither_place(bucket: Bucket, tmp_path: Path) -> None:
    with pytest.raises(FileTooLarge):
        await bucket.of(tmp_path).keep(once(PHOTO), len(PHOTO) - 1)
    assert bucket.holds(HASH) is None


async def test_both_places_are_filled_with_what_the_record_names_and_nothing_else(
    bucket: Bucket, tmp_path: Path
) -> None:
    here, there = bucket.of(tmp_path / "here"), bucket.of(tmp_path / "there")
    await super(BucketOriginals, here).keep(once(PHOTO), len(PHOTO))  # kept before there was a bucket
    unnamed, _ = await super(BucketOriginals, here).keep(once(b"unnamed"), 100)
    await here.fill({HASH})
    assert bucket.holds(HASH) == PHOTO
    assert bucket.holds(unnamed) is None
    await there.fill({HASH, "1" * 64})
    assert await there.sizes() == {HASH: len(PHOTO)}


async def test_other_bytes_under_a_name_are_not_taken_for_the_file(bucket: Bucket, tmp_path: Path) -> None:
    bucket.put(HASH, b"forged")
    with pytest.raises(KeyError):
        await bucket.of(tmp_path).read(HASH)


async def test_a_bucket_that_is_away_refuses_files_and_not_texts_and_is_told_once(
    bucket: Bucket, migrated_file: Path, tmp_path: Path
) -> None:
    url = f"sqlite:///{shutil.copy(migrated_file, tmp_path / 'coldjar.db')}"
    kept = bucket.of(tmp_path)
    async with running(url, tmp_path, {}, setup=BY_WEB, told_after_s=0, originals=kept) as house:
        bucket.process.send_signal(signal.SIGSTOP)
        try:
            with pytest.raises(StoreUnavailable, match="Files cannot be kept just now: text instead"):
                await house.originals.keep(once(PHOTO), len(PHOTO))
            text = Incoming(channel="web", account="r1", message_id="m1", received_us=1, text="01 spill thick")
            await house.desk.take(text)
            [(doc,)] = await until_rows(house, NOTICES, len)
            assert "no photo or file is kept" in json.loads(doc)["text"]
        finally:
            bucket.process.send_signal(signal.SIGCONT)
        await until(lambda: kept.trouble is None)
        await house.originals.keep(once(PHOTO), len(PHOTO))
        assert bucket.holds(HASH) == PHOTO
        assert len(await until_rows(house, NOTICES, len)) == 1


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"originals_url": "https://s3.example/b"}, "originals_key_id and originals_secret: set"),
        ({"originals_url": "http://s3.example/b", "originals_key_id": "k", "originals_secret": "s"}, "must be like https"),
        ({"originals_url": "https://s3.example/", "originals_key_id": "k", "originals_secret": "s"}, "must be like https"),
    ],
)
def test_a_bucket_that_cannot_be_used_is_refused_in_one_sentence(
    told: dict[str, str], says: str, tmp_path: Path
) -> None:
    with pytest.raises(AskedWrongly, match=says):
        originals_of(tmp_path, Settings(**told))
