"""What a process has at hand between its transactions is what it would read anew: the store's own answers."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from bot.model.entries import Draft, SampleConfirmed
from bot.model.fold_sample import fold
from bot.model.keys import Key
from bot.model.message import Incoming
from bot.model.shelf import Shelf
from storage import lookups, views
from storage.database import open_database
from storage.ledger import seal
from storage.work import Store, Work, WriteSet
from tests.storage.conftest import Ask
from tests.talk import ADDRESSES, SETUP, Talk, talk_to
from tests.walks.sayings import ANSWERS, COMMANDS, LINES

STEPS = 60
PEOPLE = ("R1", "R1", "R1", "R1", "R1", "R1", "R2", "C1")
NUMBERS = [f"{number:02}" for number in range(1, 50)]
AT = ("47.2830N 19.9510W", "47.2852N 19.9478W")
TAKEN = ("{n} {kind} sheen {time} {at} pad seal {seal} photo cooler M 4.4C gloves changed", "{n} {kind} thick {time} {at}", "{n} {kind}")
SEVERAL = "{n} spill sheen {time} seal {seal}, {m} source tank 2P {time}, {o} clean water {time}"
CHANGED = (
    "{n} struck lid leaks", "{n} kind is {kind}", "{n} time is {time} not 1002, wrong watch", "{n} seal is {seal} not 5101, misread",
    "{n} number is {m}, wrote it wrong", "{n} place is {at}", "ok {n}", "{n} ok", "ok", "{n} E-{seal}", "offer {n} {m} to C1",
    "offer {n} to R2", "{n} {seal} whole", "withdraw {n}", "reseal {n} {seal} witness R2 cut", "box 1 seal {seal} jars {n} {m}",
    "status", "status", "{n} struck", "{n} struck", "{n} {at} {time}", "{n} ok", "{n} ok",
)  # fmt: skip


def words_of(draw: Random) -> str:
    sort = draw.random()
    if sort < 0.08:
        return draw.choice((*ANSWERS, *COMMANDS, *LINES))
    pattern = SEVERAL if sort < 0.25 else draw.choice(TAKEN if sort < 0.55 else CHANGED)
    n, m, o = draw.sample(NUMBERS, 3)
    kind = draw.choice(("spill", "source", "clean water", "blank"))
    seal = str(draw.randint(5101, 5130))
    time = f"{draw.randint(7, 9):02}{draw.randint(0, 59):02}"
    return pattern.format(n=n, m=m, o=o, kind=kind, seal=seal, time=time, at=draw.choice(AT))


def _incoming(talk: Talk, who: str, text: str, message_id: str) -> Incoming:
    channel, _, account = ADDRESSES[who].partition(":")
    now_us = talk.clock.now_us()
    return Incoming(channel=channel, account=account, message_id=message_id, received_us=now_us, text=text)


async def read_anew(work: Work, keys: list[Key]) -> Shelf:
    board = work.snapshot.board(Shelf())
    await lookups.supply(work.tx, board, keys, {})
    return board.shelf


async def differences(work: Work) -> list[str]:
    """What the jars, the conversations and the unit at hand say otherwise than the store."""
    shelf, found = work.board().shelf, []
    some = {key for key in shelf.read if key[0] in ("by", "open", "kind")}  # of these the store shows the latest
    others = sorted(shelf.read - some)
    stored = {key: await read_anew(work, [key]) for key in sorted(some)}
    stored |= dict.fromkeys(others, await read_anew(work, others))
    for key, anew in stored.items():
        here, there = [[jar.id for jar in one.find(key)] for one in (shelf, anew)]
        if bool(here) != bool(there) if key[0] == "kind" else here != there:
            found.append(f"{key}: {here} at hand, {there} stored")
    jars = await read_anew(work, [("id", id_) for id_ in shelf.samples])
    found.extend(id_ for id_, jar in shelf.samples.items() if repr(jar) != repr(jars.samples.get(id_)))
    at_hand, anew = work.board(), work.board()
    await work.supply_conversations(at_hand, ADDRESSES.values())
    await views.supply_conversations(work.tx, anew, ADDRESSES.values())
    found.extend(name for name, one in anew.conversations.items() if repr(one) != repr(at_hand.conversations.get(name)))
    if work.snapshot != replace(await views.read_snapshot(work.tx), writes=work.snapshot.writes):
        found.append("the unit, its cases, heads, addresses or texts")
    return found


@pytest.mark.parametrize("seed", [0, 3, 4])
async def test_what_is_at_hand_is_what_the_store_holds_whatever_was_said(
    database_url: str, tmp_path: Path, outside: Ask, seed: int
) -> None:
    draw, most, said = Random(seed), 0, ""
    async with talk_to(database_url, tmp_path, SETUP) as talk:
        for step in range(STEPS):
            if draw.random() < 0.3:  # as another process does that writes
                await outside("UPDATE store_state SET writes = writes + 1")
            gulp = []
            for place in range(draw.randint(1, 12)):
                if draw.random() < 0.5:  # else in the same microsecond as the one before
                    talk.clock.move_to(talk.clock.now_us() + 20_000_000)
                gulp.append(_incoming(talk, draw.choice(PEOPLE), words_of(draw), f"{step}/{place}"))
            await talk.take(*gulp)
            said += "\n" + " | ".join(f"{one.account[-1]}: {one.text}" for one in gulp)
            async with talk.house.store.work() as work:
                assert await differences(work) == [], said
                most = max(most, len(work.board().shelf.samples))
    assert most > 20  # the walk told enough jars for the store to show only some of them


async def test_a_block_given_up_while_it_waited_leaves_at_hand_what_the_one_at_work_needs(
    database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        store = talk.house.store
        await talk.says("R1", "01 spill sheen 0901")
        async with store.work() as work:
            board = work.board()
            await work.supply(board, [("number", "CH-014", "1")])
            (jar,) = board.find(("number", "CH-014", "1"))
            await _wait_and_be_cancelled(store)
            now_us = talk.clock.now_us()
            draft = Draft("CH-014", SampleConfirmed(sample=jar.id), "R1", "sms", now_us, now_us)
            confirmed = fold(jar, draft)
            board.put(confirmed)
            entries = seal([draft], board.heads)
            await work.keep(board, WriteSet(entries=entries, samples={jar.id: confirmed}))
        assert (await talk.jar("01"))["confirmed"] is True


async def _wait_and_be_cancelled(store: Store) -> None:
    async def waits() -> None:
        async with store.work():
            pytest.fail("its turn came while another was at work")

    waiting = asyncio.ensure_future(waits())
    await asyncio.sleep(0)
    waiting.cancel()
    with pytest.raises(asyncio.CancelledError):
        await waiting


async def test_of_the_jars_of_one_text_the_last_named_is_the_last_before_and_after_a_restart(
    database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        await talk.says("R1", ", ".join(f"{number:02} spill sheen 08{number:02}" for number in range(1, 16)))
        before = await talk.says("R1", "status")
        await _another_writes(database_url)
        after = await talk.says("R1", "status")
        assert [jar["number"] for jar in await talk.show("samples")] == [f"{number:02}" for number in range(1, 16)]
    assert before == after
    assert "your last jar is 15." in before


async def _another_writes(url: str) -> None:
    """As a restart does, another process's write leaves nothing at hand."""
    database = await open_database(url)
    try:
        async with Store(database, lambda: "").work():
            pass
    finally:
        await database.close()


async def test_where_the_latest_open_jars_are_struck_in_one_gulp_older_ones_take_their_place(
    database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        for number in range(1, 31):
            await talk.says("R1", f"{number:02} spill sheen 0801")
        await _another_writes(database_url)
        texts = (*(f"{number} struck lid leaks" for number in range(26, 31)), "status")
        await talk.take(*(_incoming(talk, "R1", text, f"s{place}") for place, text in enumerate(texts)))
        at_once = talk.sent[-1].text
        await _another_writes(database_url)
        assert await talk.says("R1", "status") == at_once
        assert "Also open: 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25." in at_once


async def test_a_jar_told_to_be_taken_earlier_leaves_another_as_the_last_one_taken(
    database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        for number, time in (("01", "0801"), ("02", "0805"), ("03", "0810")):
            await talk.says("R1", f"{number} spill sheen {time} {AT[0]}")
        await talk.says("R1", "04 spill sheen 0812")
        await talk.says("R1", "05 spill sheen 0813")
        await _another_writes(database_url)
        for number, time in (("02", "0731 not 0805"), ("03", "0732 not 0810")):
            await talk.says("R1", f"{number} time is {time}, wrong watch")
        async with talk.house.store.work() as work:
            assert await differences(work) == []


async def test_of_a_store_that_went_back_no_salt_is_taken_for_stored(
    database_url: str, tmp_path: Path, outside: Ask
) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        await talk.says("sms:+447700900077", "hello")
        # As where a standby takes over that has not heard of the last transactions.
        await outside("DELETE FROM salts WHERE value = 'sms:+447700900077'")
        await outside("UPDATE store_state SET writes = writes - 2")
        await talk.says("sms:+447700900077", "hello again")
        ((commitment,),) = await outside("SELECT commitment FROM salts WHERE value = 'sms:+447700900077'")
        texts = await outside("SELECT text FROM raw_messages WHERE address = 'sms:+447700900077' ORDER BY row")
    assert commitment in texts[-1][0]
