"""SMS through the real bearerbox (Debian's kannel 1.4.5) and its simulated phone network, both directions."""

from __future__ import annotations

import asyncio
import json
import signal
from pathlib import Path

import pytest
import smsutil

from bot.model.message import Outgoing
from bot.wiring import House
from tests.channels.gateway import NUMBER, Gateway, gateway
from tests.running import running, until_rows
from tests.talk import SETUP

R1, R2, S1 = "+447700900001", "+447700900002", "+447700900004"
BY_WEB = SETUP.replace('addresses = ["sms:+447700900004"]', 'addresses = ["web:s1"]')
RAWS = "SELECT text FROM raw_messages ORDER BY row"


def settings(made: Gateway) -> dict[str, str]:
    return {"sms_gateway": f"127.0.0.1:{made.boxes}", "sms_number": NUMBER}


async def texts(house: House, count: int) -> list[str]:
    rows = await until_rows(house, RAWS, lambda rows: len(rows) >= count)
    assert len(rows) == count
    return [json.loads(text)["text"] for (text,) in rows]


async def test_a_phone_is_heard_and_answered(url: str, tmp_path: Path) -> None:
    async with gateway(tmp_path / "gw") as (made, phones), running(url, tmp_path, settings(made)) as house:
        phones.say(R1, "04 spill thick now seal 5104")
        assert (await phones.hears(R1)).startswith("04 saved, not confirmed: spill, thick oil")
        reports = await until_rows(
            house, "SELECT report FROM outbox", lambda rows: rows and rows[0][0] == "delivered"
        )
        assert reports == [("delivered",)]  # "accepted" by the network came before or after, and does not cover it
        rows = await until_rows(house, "SELECT address FROM raw_messages", len)
        assert rows == [(f"sms:{R1}",)]


@pytest.mark.parametrize("told", ["07700 900001", "07700900001", "00447700900001", "+447700900001"])
async def test_a_number_in_any_form_is_the_same_phone(url: str, tmp_path: Path, told: str) -> None:
    # E.164 and the trunk and international prefixes of the region are `phonenumbers`' own.
    async with gateway(tmp_path / "gw") as (made, phones), running(url, tmp_path, settings(made)):
        phones.say(told.replace(" ", ""), "?")
        assert (await phones.hears(R1)).startswith("JAR")


async def test_every_sort_of_text_comes_in_as_it_was_written(url: str, tmp_path: Path) -> None:
    extension = "place [quay] {2} ~3 ^ \\ | at"
    other = "place Ølbrygga μ ≤ 4°, “here” \U0001f6f6"
    async with gateway(tmp_path / "gw") as (made, phones), running(url, tmp_path, settings(made)) as house:
        phones.say(R1, extension)
        await texts(house, 1)
        phones.say(R1, other)
        await texts(house, 2)
        phones.line(f"{R1} {NUMBER} udh %05%00%03%07%03%01 one+")
        phones.line(f"{R1} {NUMBER} udh %05%00%03%07%03%03 three")
        phones.line(f"{R1} {NUMBER} udh %05%00%03%07%03%02 two+")
        assert await texts(house, 3) == [extension, other, "one two three"]


async def test_texts_go_out_in_as_few_parts_as_can_be(url: str, tmp_path: Path) -> None:
    async with gateway(tmp_path / "gw") as (made, phones), running(url, tmp_path, settings(made)) as house:
        phones.say(R1, "04 spill now seal 5104 place " + "at the third ladder from the lamp " * 3)
        answer = await phones.hears(R1)
        assert answer.startswith("04 saved")
        assert len(answer) > 160
        assert len(phones.lines) == len(smsutil.split(answer).parts)
        assert smsutil.split(answer).encoding == "gsm0338"
        phones.say(R1, "04 place is Корнилий, moved")
        heard = await phones.hears(R1)
        assert "Корнилий" in heard
        assert await until_rows(house, "SELECT report FROM outbox", lambda rows: all(r == ("delivered",) for r in rows))


async def test_a_killed_gateway_loses_nothing_and_one_supervisor_notice_goes_out(url: str, tmp_path: Path) -> None:
    async with (
        gateway(tmp_path / "gw") as (made, phones),
        running(url, tmp_path, settings(made), setup=BY_WEB, told_after_s=0.2) as house,
    ):
        phones.say(R1, "04 spill thick now seal 5104")
        await phones.hears(R1)
        await made.stop(signal.SIGKILL)
        notice = await until_rows(house, "SELECT address, doc FROM outbox WHERE address = 'web:s1'", len)
        text = json.loads(notice[0][1])["text"]
        assert "the SMS gateway" in text
        assert text.endswith("Texts wait and go by themselves when it is back.")
        again = await made.start()
        again.say(R1, "fill 3/4")
        await again.hears_that(R1, "fill 3/4")  # what it sent and did not strike off its store may come again
        notices = await until_rows(house, "SELECT address FROM outbox WHERE address = 'web:s1'", len)
        assert len(notices) == 1
        assert await texts(house, 2) == ["04 spill thick now seal 5104", "fill 3/4"]


async def test_what_waits_while_the_gateway_is_away_goes_when_it_is_back_and_counts_no_try(
    url: str, tmp_path: Path
) -> None:
    async with (
        gateway(tmp_path / "gw") as (made, phones),
        running(url, tmp_path, settings(made), setup=BY_WEB) as house,
    ):
        phones.say(R1, "04 spill thick now seal 5104")
        await phones.hears(R1)
        await made.stop(signal.SIGKILL)
        async with house.store.work() as work, asyncio.timeout(5):
            await work.queue([_text("Read cooler M.")], "run", house.clock.now_us(), {f"sms:{R2}"})
        house.pump.ring()
        rows = await until_rows(
            house, "SELECT state, attempts, problem FROM outbox WHERE row = 2", lambda rows: rows and rows[0][2]
        )
        assert rows[0][:2] == ("waiting", 0)
        again = await made.start()
        assert await again.hears(R2) == "Read cooler M."


def _text(words: str) -> Outgoing:
    return Outgoing(channel="sms", account=R2, person="R2", text=words, queued_us=1)


async def test_a_text_that_came_in_while_the_line_was_away_is_there_when_it_is_back(url: str, tmp_path: Path) -> None:
    async with gateway(tmp_path / "gw") as (made, phones):
        async with running(url, tmp_path, settings(made)):
            phones.say(R1, "04 spill thick now seal 5104")
            await phones.hears(R1)
        phones.say(R1, "fill 3/4")
        async with running(url, tmp_path, settings(made)) as house:
            await phones.hears_that(R1, "fill 3/4")
            assert await texts(house, 2) == ["04 spill thick now seal 5104", "fill 3/4"]
