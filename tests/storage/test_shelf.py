"""What a process has at hand between its transactions is what it would read anew: the store's own answers."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from bot.model.entries import Draft, SampleConfirmed
from bot.model.fold_sample import fold
from storage.database import open_database
from storage.ledger import seal
from storage.work import Store, WriteSet
from tests.talk import talk_to


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


TEXT_OF_MANY = ", ".join(f"{number:02} spill sheen 09{number:02}" for number in range(1, 16))


async def test_of_the_jars_of_one_text_the_last_named_is_the_last_before_and_after_a_restart(
    database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        await talk.says("R1", TEXT_OF_MANY)
        before = await talk.says("R1", "status")
        await _another_writes(database_url)
        after = await talk.says("R1", "status")
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
