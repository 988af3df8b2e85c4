"""Send today or keep till Monday, and that the laboratory was told."""

from __future__ import annotations

from tests.dialogue.test_custody import jars
from tests.talk import Talk
from tests.watch.test_window import forecast


async def test_the_week_end_is_seen_before_the_box_goes(sending: Talk) -> None:
    await jars(sending, "01")
    # 16 Oct 2026 is a Friday (ISO 8601); the laboratory of these tests is closed at week-ends and on Wednesdays.
    assert await sending.says("C1", "send today?", at="2026-10-16T09:00:00Z") == (
        "Collected Fri 16 Oct 15:00 it arrives Sat 17 Oct 11:00, laboratory closed: it waits at the door till "
        "Mon 19 Oct 08:00. Kept cold here and collected Mon 19 Oct 15:00 it arrives Tue 20 Oct 11:00, open. "
        "You decide. Laboratory not told yet: LABORATORY TOLD when it is."
    )


async def test_an_open_laboratory_that_was_told_is_said_in_one_breath(sending: Talk) -> None:
    await jars(sending, "01")
    assert await sending.says("C1", "laboratory told, spoke to the night desk") == "CH-014: laboratory told, on record."
    assert await sending.says("C1", "send today?") == (
        "Collected Mon 12 Oct 15:00 it arrives Tue 13 Oct 11:00, laboratory open. Laboratory told."
    )
    (case,) = await sending.show("cases")
    assert case["laboratory_told"][:2] == ["C1", "spoke to the night desk"]
    assert await sending.rebuilds_the_same()


async def test_without_hours_the_way_out_is_said(talk: Talk) -> None:
    assert "No laboratory hours are set up" in await talk.says("C1", "send today?")


async def test_a_cooler_that_may_be_warm_before_the_laboratory_takes_it_in_is_named(sending: Talk) -> None:
    await jars(sending, "01")
    await sending.says("R1", "01 cooler M 4.0C", at="2026-10-12T09:00:00Z")
    await forecast(sending, "2026-10-12T09:10:00Z", "2026-10-13T02:00:00Z")
    said = await sending.says("C1", "send today?", at="2026-10-12T09:20:00Z")
    assert said == (
        "Collected Mon 12 Oct 15:00 it arrives Tue 13 Oct 11:00, laboratory open. By its forecast cooler M may pass "
        "6.0 by Tue 13 Oct 03:00, before it is there: renew the ice first. "
        "Laboratory not told yet: LABORATORY TOLD when it is."
    )
    await forecast(sending, "2026-10-12T09:30:00Z", "2026-10-13T14:00:00Z")
    assert "forecast" not in await sending.says("C1", "send today?", at="2026-10-12T09:40:00Z")
    await sending.says("R1", "cooler M 8.4C", at="2026-10-12T09:50:00Z")
    assert "Cooler M last read 8.4 C, over 6.0." in await sending.says("C1", "send today?")
