"""What a process has at hand between its transactions is what it would read anew: the store's own answers."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from bot.model.entries import Draft, SampleConfirmed
from bot.model.fold_sample import fold
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
