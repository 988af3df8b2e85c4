"""What is told of kits, on each engine: stored with its message, read back, rebuilt and verified the same."""

from __future__ import annotations

from pathlib import Path

from storage.verify import verify
from storage.views import read_unit
from tests.talk import talk_to


async def test_a_kits_stock_is_the_same_on_each_engine(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        await talk.says("R1", "kit A jars 14 pads 10 gloves M")
        await talk.says("R1", "XL")
        await talk.says("R1", "03 spill sheen 0903 47.2830N 19.9510W pad seal 5103")
        assert "drafted from 1 jars: jars 1, seals 1" in await talk.says("R1", "restock A")
        assert "used: jars 1" in await talk.says("R1", "ok")
        async with talk.house.store.database.read() as tx:
            unit = await read_unit(tx)
        stock = unit.stock["A"]
        assert (stock.count("jar"), stock.count("pad"), unit.people["R1"].gloves) == (13, 9, "XL")
        assert talk.house.store.unit == unit, "what is held between messages is what is stored"
        assert (await talk.verdict()).found == ()
        assert await talk.rebuilds_the_same()
        async with talk.house.store.database.write() as tx:
            await tx.run("UPDATE unit_items SET doc = $1 WHERE kind = 'stock'", '{"kit":"A"}')
        async with talk.house.store.database.read() as tx:
            assert (await verify(tx)).found == ("unit: stock A is shown differently from its entries",)


async def test_another_process_that_set_up_the_unit_loses_no_count(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        await talk.says("R1", "kit A jars 14")
        async with talk_to(database_url, tmp_path) as other:
            await other.says("R2", "kit A pads 10", message_id="other")
        await talk.says("R1", "kit A tubes 6")
        items = {one["item"]: one["counted"] for one in (await talk.show("kit"))[0]["items"]}
        assert (items["jar"], items["pad"], items["tube"]) == (14, 10, 6)
