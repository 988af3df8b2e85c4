"""A script gives the same texts and the same record, however often, in how many parts and on what it is played.

Outside sources: RFC 1751 for the six words, RFC 8785 for what they are taken from (library `rfc8785`),
`pytz` for the instants of midnight in the IANA zone.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import shutil
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
import pytz
import rfc8785
from Crypto.Util.RFC1751 import english_to_key
from PIL import Image

from bot.clock import SeededSecrets, VirtualClock
from bot.replay import channels_for, play, read_script
from bot.show import show
from bot.wiring import build
from storage.database import open_database
from storage.six_words import six_words
from storage.verify import verify
from storage.work import Store
from tests.talk import KEY, SETUP, talk_to

R1, R2, STRANGER = "+447700900001", "+447700900002", "+447700900098"
Entries = list[tuple[str, int, str, str]]
Played = tuple[list[str], Entries]


def line(at: str, from_: str = R1, text: str = "", **more: Any) -> dict[str, Any]:
    return {"at": f"2026-10-12T{at}Z", "channel": "sms", "from": from_, "text": text, **more}


SCRIPT = [
    line("08:00:00", text="01 blank 0855 seal 5101"),
    line("08:01:00", R2, "02 spill sheen 0858 47.2830N 19.9510W pad seal 5102 cooler M 4.4C", id="twice"),
    line("08:01:00", text="ok"),
    line("08:02:00", R2, "02 spill sheen 0858 47.2830N 19.9510W pad seal 5102 cooler M 4.4C", id="twice"),
    line("08:03:00", R2, "02 spill sheen 0858 47.2830N 19.9510W pad seal 5102 cooler M 4.4C", id="new id"),
    line("08:04:00", STRANGER, "who is this"),
    line("08:05:00", R1, photo="jar.jpg", caption="01"),
    line("08:06:00", "r1", "03 source tank 2P 0901 seal 5104", channel="web"),
    line("08:07:00", R2, "02 seal is 5107 not 5102, misread", sent_at="2026-10-12T08:06:30Z"),
    line("08:08:00", R2, "02 seal is 5103, wrong line", sent_at="2026-10-12T08:04:30Z"),
    {"at": "2026-10-12T09:00:00Z"},
    line("11:00:00", R2, "06 spill thick 0905", sent_at="2026-10-12T08:10:00Z"),
    line("11:00:00", R2, "05 spill thick 0904", sent_at="2026-10-12T08:09:00Z"),
    line("11:00:00", R1, "jar"),
    line("11:01:00", R1, "mate, cleared"),
    line("11:02:00", R2, "01 spill 0903 seal 5110"),
    line("11:02:00", R2, "ok"),
    line("11:02:00", R2, "ok"),
    {"at": "2026-10-13T12:00:00Z"},
]


def script(*lines: dict[str, Any]) -> str:
    return "".join(f"{json.dumps(one)}\n" for one in lines)


@pytest.fixture
async def copies(migrated_file: Path, tmp_path: Path) -> Callable[[], str]:
    """A fresh copy of a store that is set up, at each call."""
    template = tmp_path / "template.db"
    shutil.copy(migrated_file, template)
    async with talk_to(f"sqlite:///{template}", tmp_path, SETUP, "2026-10-12T07:00:00Z"):
        pass
    Image.new("RGB", (8, 8)).save(tmp_path / "jar.jpg")
    count = itertools.count()

    def copy() -> str:
        path = tmp_path / f"copy{next(count)}.db"
        shutil.copy(template, path)
        return f"sqlite:///{path}"

    return copy


@pytest.fixture
def played(tmp_path: Path) -> Callable[..., Awaitable[Played]]:
    """Plays scripts one after another on a store: the texts that went out, and all entries with their hashes."""

    async def play_all(url: str, *scripts: str) -> Played:
        out: list[str] = []
        for text in scripts:
            lines = read_script(text)
            clock, secrets = VirtualClock(lines[0].at_us), SeededSecrets("any")
            store = Store(await open_database(url), partial(secrets.token, 16))
            house = build(store, tmp_path, channels_for(lines, clock, out.append), clock, "replay", KEY)
            await house.pump.start()
            await play(house, clock, lines, tmp_path)
            async with store.database.read() as tx:
                assert (await verify(tx)).found == ()
                entries = await tx.rows("SELECT chain, seq, hash, text FROM entries ORDER BY chain, seq")
            await store.close()
        return out, entries

    return play_all


async def test_a_script_gives_the_same_texts_and_entries_each_time(
    copies: Callable[[], str], played: Callable[..., Awaitable[Played]]
) -> None:
    first = await played(copies(), script(*SCRIPT))
    assert len(first[0]) > 10
    assert len(first[1]) > 25
    assert await played(copies(), script(*SCRIPT)) == first


async def test_a_script_gives_the_same_on_either_engine(
    copies: Callable[[], str], played: Callable[..., Awaitable[Played]], database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path, SETUP, "2026-10-12T07:00:00Z"):
        pass
    assert await played(database_url, script(*SCRIPT)) == await played(copies(), script(*SCRIPT))


@pytest.mark.parametrize("cut", [6, 8, 10, 11, 14, 15, 18])
async def test_a_script_in_two_parts_gives_the_same(
    cut: int, copies: Callable[[], str], played: Callable[..., Awaitable[Played]]
) -> None:
    """Every cut lies between two instants and after the only sender who is new to the store."""
    whole = await played(copies(), script(*SCRIPT))
    assert await played(copies(), script(*SCRIPT[:cut]), script(*SCRIPT[cut:])) == whole


async def test_a_script_played_again_adds_nothing(
    copies: Callable[[], str], played: Callable[..., Awaitable[Played]]
) -> None:
    texts, entries = await played(copies(), script(*SCRIPT))
    again = await played(copies(), script(*SCRIPT), script(*SCRIPT))
    assert again == (texts, entries)


async def test_a_doubled_text_is_one_message_and_a_repeated_one_adds_no_fact(
    copies: Callable[[], str], played: Callable[..., Awaitable[Played]]
) -> None:
    url = copies()
    await played(url, script(*SCRIPT[:7]))
    database = await open_database(url)
    messages, jars = await show(database, "messages", None), await show(database, "samples", None)
    await database.close()
    assert [one["id"] for one in messages].count("sms:twice") == 1
    assert [one["id"] for one in messages].count("sms:new id") == 1
    assert [jar["number"] for jar in jars] == ["01", "02"]
    assert jars[1]["corrections"] == []
    assert [seal["number"] for seal in jars[1]["seals"]] == ["5102"]


async def test_what_was_said_before_a_correction_and_comes_after_it_stands_beside_it(
    copies: Callable[[], str], played: Callable[..., Awaitable[Played]]
) -> None:
    url = copies()
    await played(url, script(*SCRIPT[:10]))
    database = await open_database(url)
    jar = next(jar for jar in await show(database, "samples", None) if jar["number"] == "02")
    kinds = [entry["kind"] for entry in await show(database, "entries", "CH-014")]
    await database.close()
    assert kinds[-1] == "EarlierStatementKept"
    assert [seal["number"] for seal in jar["seals"]] == ["5107"]


# The days over both clock changes of 2026/27, and an ordinary one.
NIGHTS = [("2026-10-12", 3), ("2026-10-23", 4), ("2027-03-26", 4)]


@pytest.mark.parametrize(("first", "days"), NIGHTS)
async def test_each_midnight_of_the_unit_is_sealed_once(
    first: str, days: int, copies: Callable[[], str], played: Callable[..., Awaitable[Played]]
) -> None:
    lisbon = pytz.timezone("Europe/Lisbon")
    noon = datetime.fromisoformat(f"{first}T12:00:00").replace(tzinfo=UTC)
    at = [{"at": (noon + timedelta(hours=6 * step)).isoformat()} for step in range(4 * days + 1)]
    _, entries = await played(copies(), script(at[0]), script(*at), script(*at))
    sealed = [json.loads(text) for _, _, _, text in entries if json.loads(text)["kind"] == "HeadsSealed"]
    ours = [one for one in sealed if one["body"]["day"] >= first]
    wanted = [noon.date() + timedelta(days=day) for day in range(days)]
    assert [one["body"]["day"] for one in ours] == [day.isoformat() for day in wanted]
    assert len({one["body"]["day"] for one in sealed}) == len(sealed)
    ends = [lisbon.localize(datetime.combine(day + timedelta(days=1), datetime.min.time())) for day in wanted]
    assert [one["said_us"] for one in ours] == [int(end.timestamp()) * 1_000_000 for end in ends]


async def test_midnights_are_sealed_where_the_script_begins_before_the_setup(
    migrated_file: Path, tmp_path: Path, played: Callable[..., Awaitable[Played]]
) -> None:
    shutil.copy(migrated_file, tmp_path / "later.db")
    Image.new("RGB", (8, 8)).save(tmp_path / "jar.jpg")
    url = f"sqlite:///{tmp_path / 'later.db'}"
    async with talk_to(url, tmp_path, SETUP, "2026-11-25T12:00:00Z"):
        pass
    _, entries = await played(url, script(*SCRIPT))
    sealed = [json.loads(text)["body"]["day"] for _, _, _, text in entries if '"kind":"HeadsSealed"' in text]
    assert sealed == ["2026-10-12"]


async def test_the_words_of_a_midnight_are_those_of_the_hash_of_all_heads(
    copies: Callable[[], str], played: Callable[..., Awaitable[Played]]
) -> None:
    _, entries = await played(copies(), script(*SCRIPT))
    sealed = [json.loads(text)["body"] for _, _, _, text in entries if json.loads(text)["kind"] == "HeadsSealed"]
    last_before = {chain: [seq, hash_] for chain, seq, hash_, _ in entries if chain != "unit"}
    assert last_before.items() <= sealed[0]["heads"].items()
    for body in sealed:
        fingerprint = hashlib.sha256(rfc8785.dumps(body["heads"])).digest()
        assert english_to_key(body["words"]) == fingerprint[:8]


@pytest.mark.parametrize(
    ("bits", "words"),
    [  # RFC 1751, appendix B (test data)
        ("EB33F77EE73D4053", "TIDE ITCH SLOW REIN RULE MOT"),
        ("CCAC2AED591056BE", "RASH BUSH MILK LOOK BAD BRIM"),
        ("EFF81F9BFBC65350", "TROD MUTE TAIL WARM CHAR KONG"),
    ],
)
def test_the_six_words_are_those_of_the_standard(bits: str, words: str) -> None:
    assert six_words(bits.lower() + "0" * 48) == words
