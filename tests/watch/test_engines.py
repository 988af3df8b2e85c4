"""A day on either engine: alerts, rows that are due and the digest are the same."""

from __future__ import annotations

from pathlib import Path

from tests.talk import SETUP, talk_to
from tests.watch.conftest import LADDER
from tests.watch.test_digest import day_of, quiet_day


async def test_a_day_is_the_same_on_either_engine(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path, SETUP + LADDER) as talk:
        await quiet_day(talk)
        await talk.says("R2", "06 spill sheen 1400 seal 5106", at="2026-10-12T13:02:00Z")
        await talk.says("R2", "cooler M 11C", at="2026-10-12T16:30:00Z")
        await talk.says("R2", "cooler M 4.1 not 11, misread", at="2026-10-12T16:31:00Z")
        await talk.says("R2", "cooler M 4.2C", at="2026-10-12T16:31:30Z")  # is all well: by what stands
        assert [(one["kind"], one["closed_at"]) for one in await talk.show("alerts") if one["kind"] == "cooler_warm"] == [
            ("cooler_warm", "2026-10-12T16:31:00Z")
        ]
        await talk.says("S1", "digest", at="2026-10-12T16:32:00Z")
        await talk.waits("2026-10-13T00:00:00Z")
        day = await day_of(talk, "2026-10-12T17:00:00Z")
        past = await day_of(talk, "2026-10-12T17:00:00Z", past=True)
        assert [case["taken"] for case in day["cases"]] == [case["taken"] for case in past["cases"]] == [6]
        assert (await talk.verdict()).found == ()
        assert await talk.rebuilds_the_same()
