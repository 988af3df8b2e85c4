"""Reminders before alerts: kits, ice, sending; and the cold window of jars that are on their way.

Cadence, hours and lead times are common practice, no source: settings of the unit.
"""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.model.message import Outgoing
from tests.dialogue.conftest import WITH_COURIER
from tests.talk import Talk, talk_to
from tests.watch.test_window import forecast, of_window

K1 = "sms:+447700900005"


@pytest.fixture
async def sending(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    """A line with a courier and a laboratory on it: collected 15:00 on working days, 20 h on the way."""
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, WITH_COURIER) as line:
        yield line


def of(sent: list[Outgoing], *kinds: str) -> list[tuple[str | None, str]]:
    return [(one.person, one.text) for one in sent if one.alert and one.alert.kind in kinds]


async def settled(talk: Talk, at: str) -> None:
    """The line's own forecast, which knows too little, was made: what a test files now stands."""
    await talk.waits(at)
    await talk.house.drain()


async def two_jars(talk: Talk) -> None:
    for number in ("01", "02"):
        line = f"{number} spill sheen 0905 seal 51{number} cooler M 4.1C 0908"
        await talk.hears("R1", line, at=f"2026-10-12T08:1{number[1]}:00Z")
        await talk.hears("R1", "ok")


async def test_a_counted_kit_is_looked_at_after_a_month_and_counted_after_three(night: Talk) -> None:
    await night.says("R1", "kit A jars 16 tubes 8", at="2026-10-12T23:30:00+01:00")
    sent = of(await night.waits("2026-11-13T23:00:00Z"), "kit_due")
    # Counted in the quiet hours: nobody is woken for a kit. 31 days after 12 Oct is 12 Nov.
    assert sent == [("R1", "Kit A: its look is due. INSPECT A asks item by item.")]
    sent = of(await night.waits("2027-01-14T00:00:00Z"), "kit_due")
    assert sent == [("R1", "Kit A: its count is due. INSPECT A asks item by item.")]


async def test_a_kit_looked_at_since_is_not_asked_for_on_the_old_day(night: Talk) -> None:
    await night.says("R1", "kit A jars 16 tubes 8", at="2026-10-12T09:00:00Z")
    await night.says("R1", "kit A jars 15", at="2026-11-10T09:00:00Z")
    assert of(await night.waits("2026-11-20T09:00:00Z"), "kit_due") == []


async def test_a_closed_response_asks_for_the_restock_by_day_unless_the_kit_was_seen_to(night: Talk) -> None:
    said = "Kit A was out. Restock it before the next shift: RESTOCK A lists what it lacks."
    await night.says("R1", "kit A jars 16 tubes 8", at="2026-10-12T09:00:00Z")
    await night.says("S1", "close CH-014 all done", at="2026-10-12T22:00:00+01:00")
    assert of(await night.waits("2026-10-13T05:59:00+01:00"), "kit_restock") == []
    assert of(await night.waits("2026-10-13T06:01:00+01:00"), "kit_restock") == [("R1", said)]
    await night.says("S1", "reopen CH-014 more oil")
    await night.says("S1", "close CH-014 all done", at="2026-10-13T22:30:00+01:00")
    await night.says("R1", "kit A jars 12 tubes 6", at="2026-10-13T22:40:00+01:00")
    assert of(await night.waits("2026-10-14T08:00:00+01:00"), "kit_restock") == []


async def test_ice_is_asked_for_an_hour_before_by_the_forecast_that_stands(sending: Talk) -> None:
    await two_jars(sending)
    await sending.hears("R1", "cooler M 4.1C", at="2026-10-12T11:00:00Z")
    await settled(sending, "2026-10-12T11:10:00Z")
    await forecast(sending, "2026-10-12T11:10:00Z", "2026-10-12T14:15:00Z")
    assert of(await sending.waits("2026-10-12T14:09:00+01:00"), "ice_due") == []
    said = "Cooler M: renew the ice by 15:10, not against the jars. It may pass 6.0 at 15:15. Jars 01 02."
    assert of(await sending.waits("2026-10-12T14:11:00+01:00"), "ice_due") == [("R1", said)]
    await sending.hears("R1", "cooler M 4.1C", at="2026-10-12T13:20:00Z")
    await settled(sending, "2026-10-12T13:30:00Z")
    await forecast(sending, "2026-10-12T13:30:00Z", "2026-10-12T16:15:00Z")
    await settled(sending, "2026-10-12T13:31:00Z")
    await forecast(sending, "2026-10-12T13:40:00Z", "2026-10-12T17:15:00Z")
    sent = of(await sending.waits("2026-10-12T17:00:00Z"), "ice_due")
    assert [text[:37] for _, text in sent] == ["Cooler M: renew the ice by 18:10, not"]


async def test_a_collection_and_an_arrival_past_the_early_bound_are_told_while_the_jars_are_cold(sending: Talk) -> None:
    await two_jars(sending)
    await sending.hears("R1", "cooler M 4.1C", at="2026-10-12T09:50:00Z")
    await settled(sending, "2026-10-12T09:55:00Z")
    await forecast(sending, "2026-10-12T09:56:00Z", "2026-10-12T13:54:00Z")
    # The next reading is due at 14:50 by the clock, the bound is 14:54, the courier collects at 15:00.
    assert of_window(await sending.waits("2026-10-12T09:57:00Z")) == []
    await sending.hears("R1", "offer 01 02 to K1")
    said = "Cooler M may pass 6.0 by 14:54; K1 collects 15:00. Ice by 14:50, or hand over earlier."
    sent = of_window(await sending.waits("2026-10-12T10:00:00Z"))
    assert ("R1", "reminder", said) in sent
    assert ("S1", "critical", f"{said} Jars 01 02. Reply MINE M to take this.") in sent
    await sending.hears(K1, "01 5101 whole 02 5102 whole")
    await sending.hears("R1", "cooler M 4.2C", at="2026-10-12T10:20:00Z")
    await settled(sending, "2026-10-12T10:25:00Z")
    await sending.says("S1", "solved M ice added")
    await forecast(sending, "2026-10-12T10:30:00Z", "2026-10-12T17:00:00Z")
    sent = of_window(await sending.waits("2026-10-12T10:31:00Z"))
    # Taken at 11:01 it is at the door at 07:01, and the laboratory opens at 8.
    said = "Cooler M may pass 6.0 by 18:00; the laboratory takes it in 13 Oct 08:00. Ice by 17:50: call the courier."
    (told,) = [text for _, level, text in sent if level == "critical"]
    assert told == f"{said} Jars 01 02. Reply MINE M to take this."


async def test_send_by_is_said_a_day_before_the_last_collection_in_time_and_not_of_what_left(sending: Talk) -> None:
    await two_jars(sending)
    for number in ("01", "02"):
        await sending.says("R1", f"clock {number} 10 d, lab letter 12")
    # It ends Thu 22 Oct 09:05. Collected Wed 15:00 it comes Thu 11:00, too late; Tue 15:00 waits over the closed
    # Wednesday till Thu 08:00: in time.
    await sending.says("R1", "offer 02 to K1", at="2026-10-18T10:00:00Z")
    await sending.hears(K1, "02 5102 whole")
    said = "01 of CH-014: to be at the laboratory before the figure of lab letter 12 ends 22 Oct 09:05, send by 20 Oct 15:00."
    sent = of(await sending.waits("2026-10-19T15:01:00+01:00"), "send_by")
    assert [(who, text.partition(" SEND?")[0]) for who, text in sent] == [("R1", said)]
