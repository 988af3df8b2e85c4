"""Loss and abuse: one phone that sends without end, strangers by the thousand, texts that hide or never end."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.model.message import Incoming, MessageState
from bot.model.times import MINUTE_US
from bot.rules.flood import CREW_AN_HOUR, LONGEST, STRANGER_A_DAY, STRANGERS_A_DAY, Admission, Flood
from tests.talk import ADDRESSES, Talk, talk_to

STRANGER = "sms:+447700900099"


@pytest.fixture
async def talk(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path) as line:
        yield line


def from_phone(talk: Talk, address: str, text: str, message_id: str) -> Incoming:
    channel, _, account = address.partition(":")
    now_us = talk.clock.now_us()
    return Incoming(channel=channel, account=account, message_id=message_id, received_us=now_us, text=text)


async def count(talk: Talk, table: str) -> int:
    async with talk.house.store.database.read() as tx:
        return int((await tx.rows(f"SELECT COUNT(*) FROM {table}"))[0][0])


async def test_a_strangers_flood_is_bounded_on_disk_and_a_crew_is_answered_in_the_midst_of_it(talk: Talk) -> None:
    flood = [from_phone(talk, STRANGER, f"buy {place}", f"f{place}") for place in range(1_000)]
    flood.insert(500, from_phone(talk, ADDRESSES["R1"], "03 spill sheen 0855 seal 5103", "jar"))
    talk.sent.clear()
    await talk.take(*flood)
    assert talk.receipt is not None
    assert talk.receipt.state is MessageState.DROPPED
    assert await count(talk, "raw_messages") == STRANGER_A_DAY + 1
    assert (await talk.jar("03"))["told_by"] == "R1"
    assert any(one.person == "R1" and one.text.startswith("03 saved") for one in talk.sent)
    told = [one.text for one in talk.sent if one.person == "S1"]
    assert told == [
        "Too many texts from a stranger, phone ending 0099: for now nothing more of it is kept. If it is lost, REVOKE it."
    ]
    assert (await talk.verdict()).found == ()


async def test_a_lost_phone_that_runs_away_is_stopped_its_supervisor_told_and_a_call_for_help_still_heard(
    talk: Talk,
) -> None:
    texts = [from_phone(talk, ADDRESSES["R2"], "status", f"s{place}") for place in range(CREW_AN_HOUR + 50)]
    await talk.take(*texts)
    assert await count(talk, "raw_messages") == CREW_AN_HOUR
    assert [one.text for one in talk.sent if one.person == "S1"] == [
        "Too many texts from R2, phone ending 0002: for now nothing more of it is kept. If it is lost, REVOKE it."
    ]
    talk.sent.clear()
    await talk.take(from_phone(talk, ADDRESSES["R2"], "SOS", "sos"))
    assert {one.person for one in talk.sent} == {"R1", "R2", "C1", "S1"}
    assert "on record" not in await talk.says("R2", "status")
    assert await talk.says("R1", "status") != ""


def test_ten_thousand_strangers_take_bounded_memory_and_the_next_day_begins_anew() -> None:
    flood = Flood()
    kept = [flood.admit(f"sms:+44{place}", False, place) is not Admission.OVER for place in range(10_000)]
    assert sum(kept) == STRANGERS_A_DAY
    assert len(flood._strangers) == STRANGERS_A_DAY
    assert flood.admit("sms:+44x", False, 24 * 60 * MINUTE_US) is Admission.TAKEN
    assert len(flood._strangers) == 1


async def test_a_thousand_strangers_get_fifty_answers_and_few_entries(talk: Talk) -> None:
    texts = [from_phone(talk, f"sms:+44780{place:07}", "hello", f"h{place}") for place in range(1_000)]
    await talk.take(*texts)
    assert len(talk.sent) == 50
    assert len([one for one in await talk.show("entries") if one["kind"] == "StrangerHeard"]) == 50
    assert await talk.says("R1", "03 spill sheen 0855 seal 5103") != ""


async def test_a_replayed_webhook_is_the_same_message_however_often_it_comes(talk: Talk) -> None:
    message = from_phone(talk, ADDRESSES["R1"], "03 spill sheen 0855 seal 5103", "again")
    await talk.take(*[message] * 200)
    assert await count(talk, "raw_messages") == 1
    assert len(await talk.show("samples")) == 1
    assert len([one for one in talk.sent if one.person == "R1"]) == 1


@pytest.mark.parametrize("length", [LONGEST, 1_000_000])
async def test_a_text_without_end_is_cut_kept_and_not_worked_on(talk: Talk, length: int) -> None:
    text = ("03 spill sheen going into the tank 1002 47.2830N " * (length // 40))[:length]
    assert await talk.says("R1", text) == "Kept, and too long to read. Send it again in parts."
    (message,) = await talk.show("messages")
    assert len(message["text"]) < LONGEST + 60
    assert message["text"].startswith(text[:LONGEST])
    assert (await talk.verdict()).found == ()


async def test_what_no_store_can_hold_is_kept_as_far_as_it_means_anything(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        for text in ("03 spill \x00 sheen 0855", "04 \ud83d spill", "05 spill \x1b[2J", "\x00", "06 \u202e spill 5106"):
            assert await talk.says("R1", text) != ""
        assert await count(talk, "raw_messages") == 5
        assert (await talk.verdict()).found == ()


async def test_what_turns_words_around_is_written_out_for_whoever_is_told_of_it(talk: Talk) -> None:
    # U+202E turns what follows around: "R1, kcit" would read "R1, tick" (Unicode Standard Annex #9).
    heard = await talk.hears(STRANGER, "this is R1 \u202ekcit\u202c \x1b[31mred")
    (told,) = [one.text for one in heard if one.person == "S1"]
    assert '"this is R1 (U+202E)kcit(U+202C) (U+001B)[31mred"' in told
    (message,) = await talk.show("messages")
    assert message["text"] == "this is R1 \u202ekcit\u202c \x1b[31mred"
