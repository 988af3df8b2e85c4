"""An errand that was asked for already is neither written nor rung for again, unless its asking was undone."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.model.errand import Errand
from storage.work import Store
from tests.talk import talk_to

ERRANDS = [Errand(kind="forecast", subject="M", due_us=us) for us in (1, 1, 2)]


async def _ask_and_break(store: Store) -> None:
    async with store.work() as work:
        await work.ask(ERRANDS)
        raise RuntimeError


async def test_what_was_asked_for_is_not_asked_for_again(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        store = talk.house.store
        with pytest.raises(RuntimeError):
            await _ask_and_break(store)
        rung = []
        for _ in range(2):
            store.asked.clear()
            async with store.work() as work:
                await work.ask(ERRANDS)
            rung.append(store.asked.is_set())
        assert rung == [True, False]
        async with store.database.read() as tx:
            rows = await tx.rows("SELECT subject, due_us FROM due WHERE kind = 'forecast' ORDER BY due_us")
        assert rows == [("M", 1), ("M", 2)]
