"""The cold window: told while the jars are still cold. What it says is the forecast's, never a reading.

That a forecast's early bound before the next look is told is common practice, no source.
"""

from __future__ import annotations

import re

from bot.model.due import COLD_WINDOW, Due
from bot.model.entries import UNIT_CHAIN, Draft, ForecastMade
from bot.model.message import Outgoing
from bot.model.times import us_of_iso
from storage import due
from tests.talk import Talk
from tests.watch.test_night import SUMMER, jars


async def forecast(talk: Talk, at: str, p10: str) -> None:
    """A forecast with this early bound is on record, as the forecaster leaves it."""
    now_us = us_of_iso(at)
    made = ForecastMade(cooler="M", made_us=now_us, limit_c=6.0, p10_us=us_of_iso(p10), p50_us=us_of_iso(p10) + 1)
    draft = Draft(chain=UNIT_CHAIN, body=made, author="", channel="errand", said_us=now_us, received_us=now_us)
    async with talk.house.store.work() as work:
        await work.record([draft])
        await due.wait(work.tx, [Due(now_us, COLD_WINDOW, "M")])


def of_window(sent: list[Outgoing]) -> list[tuple[str, str, str]]:
    return [(one.person or "", one.alert.level, one.text) for one in sent if one.alert and one.alert.kind == COLD_WINDOW]


async def test_an_early_bound_before_the_next_reading_is_told_to_the_holder_and_the_ladder(night: Talk) -> None:
    await jars(night, "2026-10-11", SUMMER[0])
    await night.hears("R2", "cooler M 4.4C", at="2026-10-12T14:00:00+01:00")
    await forecast(night, "2026-10-12T14:01:00+01:00", "2026-10-12T16:10:00+01:00")
    said = "Cooler M may pass 6.0 by 16:10; next reading is due 18:00. Ice by 16:00, or read earlier."
    assert of_window(await night.waits("2026-10-12T14:01:00+01:00")) == [
        ("R2", "reminder", said),
        ("S1", "critical", f"{said} Jars 01-09. Reply MINE M to take this."),
    ]
    assert await night.says("S1", "mine M", at="2026-10-12T14:05:00+01:00") == (
        "Yours. Nobody else is woken for cooler M. Next reading 18:00."
    )


async def test_a_bound_past_the_next_reading_is_told_to_nobody_and_ends_what_was_told(night: Talk) -> None:
    await jars(night, "2026-10-11", SUMMER[0])
    await night.hears("R2", "cooler M 4.4C", at="2026-10-12T14:00:00+01:00")
    await forecast(night, "2026-10-12T14:01:00+01:00", "2026-10-12T18:10:00+01:00")
    assert of_window(await night.waits("2026-10-12T14:02:00+01:00")) == []
    await forecast(night, "2026-10-12T14:03:00+01:00", "2026-10-12T16:10:00+01:00")
    assert len(of_window(await night.waits("2026-10-12T14:03:00+01:00"))) == 2
    await forecast(night, "2026-10-12T14:20:00+01:00", "2026-10-12T19:10:00+01:00")
    over = "Cooler M stays cold past its next reading, by the forecast."
    assert ("S1", "reminder", over) in of_window(await night.waits("2026-10-12T14:20:00+01:00"))


async def test_the_first_reading_out_of_range_closes_it_and_calls_for_a_warm_cooler(night: Talk) -> None:
    await jars(night, "2026-10-11", SUMMER[0])
    await night.hears("R2", "cooler M 4.4C", at="2026-10-12T14:00:00+01:00")
    await forecast(night, "2026-10-12T14:01:00+01:00", "2026-10-12T16:10:00+01:00")
    await night.waits("2026-10-12T14:01:00+01:00")
    sent = await night.hears("R2", "cooler M 7.0C", at="2026-10-12T14:30:00+01:00")
    assert [one.alert.kind for one in sent if one.alert] == ["cooler_warm"]
    states = {one["kind"]: one["closed_at"] for one in await night.show("alerts")}
    assert states == {"cold_window": "2026-10-12T13:30:00Z", "cooler_warm": None}


async def test_a_night_without_a_watch_counts_till_the_morning(night: Talk) -> None:
    await jars(night, "2026-10-11", SUMMER[0])
    await night.hears("R2", "cooler M 4.4C", at="2026-10-12T21:50:00+01:00")
    await forecast(night, "2026-10-12T21:51:00+01:00", "2026-10-13T04:00:00+01:00")
    (_, (who, level, text)) = of_window(await night.waits("2026-10-12T21:51:00+01:00"))
    assert (who, level) == ("S1", "critical")
    assert "next reading is due 13 Oct 06:00" in text


async def test_a_watch_is_asked_for_readings_by_night(night: Talk) -> None:
    await jars(night, "2026-10-11", SUMMER[0])
    said = await night.says("R2", "watch", at="2026-10-11T21:40:00+01:00")
    assert re.fullmatch(r"On watch till (12 Oct )?06:00: coolers are asked for every 4 h, and yours to answer\.", said)
    await night.hears("R2", "cooler M 4.4C", at="2026-10-11T22:00:00+01:00")
    sent = [one for one in await night.waits("2026-10-12T02:30:00+01:00") if one.alert]
    assert [(one.person, one.text) for one in sent] == [
        ("R2", "Cooler M: reading is due. Jars 01-09."),
        ("R2", "Cooler M: no reading since 11 Oct 22:00, 9 jars inside. Reading?"),
    ]
    assert [one.person for one in await night.waits("2026-10-12T03:30:00+01:00") if one.alert] == []
    sent = await night.waits("2026-10-12T06:00:00+01:00")
    assert [one.alert.kind for one in sent if one.alert and one.person == "S1"] == ["reading_overdue"]
    sent = await night.hears("R2", "cooler M 4.5C", at="2026-10-12T06:05:00+01:00")
    assert [one.text for one in sent if one.person == "S1"] == ["Cooler M read: 4.5 C at 06:05."]


async def test_a_cooler_that_is_called_for_already_is_one_alert(night: Talk) -> None:
    await jars(night, "2026-10-11", SUMMER[0])
    await night.hears("R2", "cooler M 8.4C", at="2026-10-12T13:00:00+01:00")
    await night.hears("R2", "cooler M 5.4C", at="2026-10-12T14:00:00+01:00")
    await forecast(night, "2026-10-12T14:01:00+01:00", "2026-10-12T14:10:00+01:00")
    assert of_window(await night.waits("2026-10-12T14:02:00+01:00")) == []
