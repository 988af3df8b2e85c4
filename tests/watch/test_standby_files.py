"""Two machines on one PostgreSQL and one bucket: the writer is killed while texts and photos come in.

The bucket is on moto's server, looked into with boto3; a file's name is its SHA-256 (FIPS 180-4) by hashlib.
Texts come through the real gateway, which gives again what it was not acknowledged; photos from a browser that
sends a message again, under its own id, until it is told that it is on record.
"""

from __future__ import annotations

import asyncio
import json
import re
import shutil
import time
from collections.abc import Iterator
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from random import Random

import httpx
import pytest
from PIL import Image

from tests.channels.gateway import NUMBER, gateway
from tests.channels.test_sms_gateway import R2
from tests.storage.test_bucket import Bucket, a_bucket
from tests.talk import SETUP
from tests.watch.test_standby import TAKEN_OVER_S, command, rows_of, says, service, set_up
from tests.web.conftest import token_in

PHOTOS, TEXTS = range(1, 13), range(13, 19)
KILLED_AFTER = 3  # photos that are on record
WHAT = ("spill thick", "fill 3/4", "gloves changed")
RAWS = "SELECT key, text FROM raw_messages"


@pytest.fixture
def bucket() -> Iterator[Bucket]:
    with a_bucket() as made:
        yield made


def photo_of(number: int) -> bytes:
    """A photo of some size, another for each jar."""
    out = BytesIO()
    Image.frombytes("L", (320, 240), Random(number).randbytes(320 * 240)).save(out, "JPEG")
    return out.getvalue()


class Browser:
    """R1's: signed in, it sends again whatever it was not told is on record, to whichever machine serves."""

    def __init__(self, place: Path, listening: str) -> None:
        [self._link] = re.findall(r"^R1: \S+(/in/\S+)$", (place / "said").read_text(), re.MULTILINE)
        self.acknowledged: dict[str, str] = {}  # the SHA-256 of each photo that is on record, by its message's id
        self.refused = 0
        self._at_once = asyncio.Semaphore(3)
        self._session = ""
        self.moved(listening)

    def moved(self, listening: str) -> None:
        """The name of the line leads to another machine now."""
        self._at = listening.split("listening at ")[1].split()[0]

    async def sign_in(self) -> None:
        async with httpx.AsyncClient(base_url=self._at, headers={"origin": self._at}) as client:
            token = token_in((await client.get(self._link)).text)
            answer = await client.post(self._link, data={"token": token})
            self._session = answer.cookies["session"]

    async def insist(self, number: int) -> None:
        """Return once this jar's message is acknowledged with its photo."""
        id_, photo = f"standby-{number:02d}", photo_of(number)
        told = {"id": id_, "text": f"{number:02d} spill thick"}
        async with self._at_once:
            while not await self._sent(told, photo):  # noqa: ASYNC110 - a machine that is gone rings no bell
                await asyncio.sleep(0)
            self.acknowledged[id_] = sha256(photo).hexdigest()

    async def _sent(self, told: dict[str, str], photo: bytes) -> bool:
        """Whether it was acknowledged."""
        headers = {"origin": self._at, "cookie": f"session={self._session}"}
        try:
            async with httpx.AsyncClient(base_url=self._at, headers=headers, timeout=20) as client:
                answer = await client.post("/chat/messages", data=told, files={"photo": ("jar.jpg", photo)})
        except httpx.TransportError:
            self.refused += 1
            return False
        assert answer.status_code in (200, 503), answer.text
        return answer.status_code == 200


async def until_kept(url: str, count: int) -> dict[str, str]:
    async with asyncio.timeout(30):
        while len(rows := await rows_of(url, RAWS)) < count:  # noqa: ASYNC110 - another process rings no bell
            await asyncio.sleep(0)
    return dict(rows)


@pytest.mark.parametrize("database_url", ["postgres"], indirect=True)
async def test_a_writer_killed_while_photos_come_in_leaves_all_of_them_to_the_other_machine(
    database_url: str, bucket: Bucket, tmp_path: Path
) -> None:
    here = await set_up(tmp_path, database_url, SETUP)
    there = tmp_path / "other"
    there.mkdir()
    shutil.copy(here / "key", there / "key")  # the other machine has the same key, and a folder of its own
    async with gateway(tmp_path / "gw") as (made, phones):
        shared = {
            "COLDJAR_SMS_GATEWAY": f"127.0.0.1:{made.boxes}",
            "COLDJAR_SMS_NUMBER": NUMBER,
            "COLDJAR_ORIGINALS_URL": bucket.url,
            "COLDJAR_ORIGINALS_KEY_ID": "exercise",
            "COLDJAR_ORIGINALS_SECRET": "exercise-key",
        }
        async with service(here, database_url, **shared) as writer:
            browser = Browser(tmp_path, await says(writer, "listening"))
            await browser.sign_in()
            await says(writer, "is connected")
            async with service(there, database_url, **shared) as standby:
                await says(standby, "standing by")
                for number in TEXTS:
                    for what in WHAT:
                        phones.say(R2, f"{number} {what}")
                sending = [asyncio.create_task(browser.insist(number)) for number in PHOTOS]
                while len(browser.acknowledged) < KILLED_AFTER:  # noqa: ASYNC110 - a look between two turns
                    await asyncio.sleep(0)
                writer.kill()
                killed, before = time.monotonic(), dict(browser.acknowledged)
                assert len(before) < len(PHOTOS), "it came too late to be under load"
                browser.moved(await says(standby, "listening"))
                assert time.monotonic() - killed < TAKEN_OVER_S
                await asyncio.wait_for(asyncio.gather(*sending), 60)
                assert browser.refused, "nothing was in flight"
                kept = await until_kept(database_url, len(PHOTOS) + len(TEXTS) * len(WHAT))
                await phones.hears_that(R2, "18 ")
        web = {key.rpartition(":")[2]: json.loads(text) for key, text in kept.items() if key.startswith("web:")}
        assert {id_: doc["attachments"][0]["sha256"] for id_, doc in web.items()} == browser.acknowledged
        assert before.items() <= browser.acknowledged.items()
        texts = sorted(json.loads(text)["text"] for key, text in kept.items() if key.startswith("sms:"))
        assert texts == sorted(f"{number} {what}" for number in TEXTS for what in WHAT)
        for number in PHOTOS:
            assert bucket.holds(sha256(photo_of(number)).hexdigest()) == photo_of(number)
    for kind in ("SampleDeclared", "PhotoKept"):
        told = await rows_of(database_url, f"SELECT text FROM entries WHERE kind = '{kind}'")
        assert len(told) == {"SampleDeclared": 18, "PhotoKept": len(PHOTOS)}[kind], kind
    assert (await command(database_url, "verify", "--silent", "--store", str(there)))[0] == 0
