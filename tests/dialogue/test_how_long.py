"""Until when a cooler stays cold: asked by text, worked out by an errand, graded against what was read later.

The words are the line's own; how good the figures are is tested in `tests/rules/test_forecast.py`.
"""

from __future__ import annotations

import asyncio
import os
import re
import sys
from datetime import datetime
from pathlib import Path

from bot.chat_log import StoredLog
from bot.model.cold import Life, Reading, Stay
from bot.model.entries import CoolerTold, ForecastMade
from bot.model.message import Outgoing
from bot.model.times import HOUR_US, us_of_iso
from bot.rules.forecast.ensemble import forecast as drawn
from bot.rules.forecast.grade import early_bound_us, grade
from bot.rules.forecast.known import Known, Lacking, known_of
from bot.rules.limits import Limits
from tests.talk import Talk

LIMITS = Limits()


async def forecast(talk: Talk) -> dict:
    (one,) = [cooler for cooler in await talk.show("cooler") if cooler["name"] == "M"]
    return one["forecast"]


async def test_it_says_till_when_and_how_sure_and_what_would_help(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice at 0800 outside 24C", at="2026-10-12T07:30:00Z")
    said = await talk.says("R1", "how long M?")
    told = re.fullmatch(
        r"M stays cold till about (?P<half>\S+ \S+ \S+|\S+); one in ten fails before (?P<early>\S+ \S+ \S+|\S+)\. "
        r"Better known with: a reading, ice left, sun or shade\?",
        said,
    )
    assert told is not None, said
    made = await forecast(talk)
    assert made["off"] is None
    assert us_of_iso(made["p10"]) < us_of_iso(made["p50"]) < us_of_iso(made["p90"])
    half = datetime.fromisoformat(made["p50"]).astimezone(talk.house.trades.of(talk.house.store.unit).zone)
    assert told["half"].endswith(half.strftime("%H:%M")[:-1] + "0")
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_a_reading_and_ice_left_make_it_narrower(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice at 0800 outside 24C shade", at="2026-10-12T07:30:00Z")
    await talk.says("R1", "how long")
    wide = await forecast(talk)
    await talk.says("R1", "cooler M 3.1C ice plenty", at="2026-10-12T19:00:00Z")
    await talk.says("R1", "how long M")
    narrow = await forecast(talk)

    def width(one: dict) -> int:
        return us_of_iso(one["p90"]) - us_of_iso(one["p10"])

    assert width(narrow) < width(wide)


async def test_what_is_told_of_a_cooler_makes_one_forecast_a_minute_that_nobody_is_told_of(talk: Talk) -> None:
    sent = await talk.hears("R1", "cooler M 5 kg ice outside 24C")
    assert [one.address for one in sent] == ["sms:+447700900001"]
    assert await forecast(talk) is None
    await talk.hears("R2", "status", at="2026-10-12T08:05:00Z")
    assert (await forecast(talk))["off"] is None


async def test_a_jar_told_with_its_coolers_reading_makes_another_forecast(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice at 0800 outside 24C shade", at="2026-10-12T07:30:00Z")
    await talk.says("R1", "how long M?")
    before = await forecast(talk)
    sent = await talk.hears("R1", "01 spill sheen 0905 seal 5101 cooler M 4.0C", at="2026-10-12T08:10:00Z")
    assert [one.address for one in sent] == ["sms:+447700900001"]
    assert await forecast(talk) == before
    await talk.hears("R2", "status", at="2026-10-12T08:15:00Z")
    after = await forecast(talk)
    assert (before["better_with"], after["better_with"]) == (["reading", "ice_left"], ["ice_left"])
    assert after["made_at"] > before["made_at"]


async def test_a_jar_that_was_in_another_cooler_makes_a_forecast_of_both(talk: Talk) -> None:
    await talk.says("R1", "01 spill sheen 0905 seal 5101 cooler M", at="2026-10-12T08:10:00Z")
    await talk.says("R1", "01 cooler is N not M, misread", at="2026-10-12T08:20:00Z")
    async with talk.house.store.database.read() as tx:
        asked = await tx.rows("SELECT subject, due_us FROM due WHERE kind = 'forecast' ORDER BY due_us, subject")
    told = [us_of_iso(at) for at in ("2026-10-12T08:11:00Z", "2026-10-12T08:21:00Z")]
    assert asked == [("M", told[0]), ("M", told[1]), ("N", told[1])]


async def test_a_chart_is_drawn_for_a_page_and_figures_alone_for_a_text(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice at 0800 outside 24C", at="2026-10-12T07:30:00Z")
    (text,) = await talk.hears("R1", "chart M")
    (shown,) = await talk.hears("web:r1", "chart M")
    assert (text.channel, text.drawing) == ("sms", None)
    assert shown.text.startswith("M, C half, and one in ten under and over: ")
    assert shown.drawing is not None
    assert shown.drawing.startswith("<svg ")
    async with talk.house.store.database.read() as tx:
        rows = await tx.rows("SELECT address, row, doc FROM outbox ORDER BY row DESC LIMIT 2")
        (web, row, _), (_, _, before) = rows
        assert '"drawing"' not in before
        log = StoredLog(talk.house.store.database, no_link)
    assert [line.drawn for line in await log.sent_after(web, row - 1)] == [True]
    assert await log.drawing(web, row) == shown.drawing
    assert await log.drawing("web:s1", row) is None
    (said,) = await talk.hears("web:r1", "how long M")
    assert said.drawing is None


async def no_link(text: Outgoing) -> str | None:
    return None


async def test_too_little_is_said_to_be_too_little(talk: Talk) -> None:
    said = await talk.says("R1", "how long M")
    assert said == (
        "Too little is known of M to say. Send: ice in kg, C outside. Like: cooler M 50 L 5 kg ice outside 24C"
    )
    assert (await forecast(talk))["p50"] is None


async def test_over_the_limit_there_is_none(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice at 0800 outside 24C", at="2026-10-12T07:30:00Z")
    await talk.says("R1", "cooler M 8.4C")
    said = await talk.says("R1", "how long M")
    assert said == "M read over 6.0 last: no forecast. Ice in, lid shut, shade, and read it again."
    assert (await forecast(talk))["off"] == "over"


async def test_a_chart_is_the_hours_to_come_in_figures(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice at 0800 outside 24C", at="2026-10-12T07:30:00Z")
    said = await talk.says("R1", "chart M")
    assert said.startswith("M, C half, and one in ten under and over: 08:30 "), said
    points = re.findall(r"(\d+\.\d) \((\d+\.\d)-(\d+\.\d)\)", said)
    assert len(points) >= 5
    assert all(float(low) <= float(half) <= float(high) for half, low, high in points)
    assert await talk.says("R1", "chart Z") == await talk.says("R1", "how long Z")


async def test_a_cooler_that_is_not_named_is_asked_for_where_there_are_two(talk: Talk) -> None:
    await talk.says("R1", "cooler M 5 kg ice outside 24C")
    assert (await talk.says("R1", "how long")).startswith("M stays cold")


def life(*readings: Reading, told: tuple[CoolerTold, ...] = (), forecasts: tuple[ForecastMade, ...] = ()) -> Life:
    return Life("M", readings, told, (Stay("a", 0),), forecasts)


def told(hours: float, **more: object) -> CoolerTold:
    return CoolerTold(cooler="M", at="", at_us=int(hours * HOUR_US), words="", **more)


def read(hours: float, celsius: float, **more: object) -> Reading:
    at_us = int(hours * HOUR_US)
    return Reading(at_us, celsius, f"{celsius}C", "R1", at_us, "", **more)


def made(hours: float, p10: float, p50: float, p90: float | None) -> ForecastMade:
    p90_us = None if p90 is None else int(p90 * HOUR_US)
    return ForecastMade(
        cooler="M", made_us=int(hours * HOUR_US), limit_c=6, p10_us=int(p10 * HOUR_US), p50_us=int(p50 * HOUR_US),
        p90_us=p90_us, until_us=120 * HOUR_US,
    )  # fmt: skip


def why(one: Life, kind: str | None = "50 L ordinary", at: float = 6) -> str | None:
    known = known_of(one, kind, LIMITS, int(at * HOUR_US), 1)
    return known.why if isinstance(known, Lacking) else None


def test_each_reason_not_to_forecast_has_its_name() -> None:
    ice = told(0, ice_kg=5, outside_celsius=20)
    assert why(life(told=(ice,))) is None
    assert why(life(told=(ice,)), None) == "too_little"
    assert why(life(told=(told(0, ice_kg=5),))) == "too_little"
    assert why(life(told=(told(0, outside_celsius=20, ice_bags=2),))) == "too_little"
    assert why(life(told=(ice,)), "fridge") == "fridge"
    assert why(life(read(1, 6.1), told=(ice,)), at=4) == "cooling"
    assert why(life(read(3, 6.1), told=(ice,))) == "over"
    assert why(life(read(3, 0.0), told=(ice,))) == "freezing"
    assert why(life(read(3, 4.0, ice_left="none"), told=(ice,))) == "no_ice"
    assert why(life(read(3, 4.0, ice_left="none"), told=(ice, told(4, ice_kg=2)))) is None
    assert why(life(told=(ice,)), at=30) == "stale"


def test_repacking_begins_anew_and_a_top_up_does_not() -> None:
    ice = told(0, ice_kg=5, outside_celsius=20)
    topped = known_of(life(told=(ice, told(3, ice_kg=2))), "50 L thick", LIMITS, 6 * HOUR_US, 1)
    fresh = known_of(life(told=(ice, told(3, ice_kg=2, repacked=True))), "50 L thick", LIMITS, 6 * HOUR_US, 1)
    assert isinstance(topped, Known)
    assert isinstance(fresh, Known)
    assert (topped.start_us, fresh.start_us) == (0, 3 * HOUR_US)
    assert [value for _, what, value in topped.facts["events"] if what == "ice"] == [[5, 1], [2, 0]]
    assert [value for _, what, value in fresh.facts["events"] if what == "ice"] == [[2, 1]]


def test_a_forecast_is_graded_by_what_was_read_and_no_more() -> None:
    held = life(read(9, 5.0), read(11, 7.0), forecasts=(made(0, 8, 10, 14),))
    assert grade(held, LIMITS) == type(grade(held, LIMITS))(1, 1, 0)
    early = life(read(3, 7.0), forecasts=(made(0, 8, 10, 14),))
    assert (grade(early, LIMITS).inside_80, grade(early, LIMITS).median_error_minutes) == (0, 7 * 60)
    lasted = life(read(20, 5.0), forecasts=(made(0, 8, 10, 14),))
    assert (grade(lasted, LIMITS).inside_80, grade(lasted, LIMITS).median_error_minutes) == (0, 10 * 60)
    iced = life(read(20, 5.0), told=(told(5, ice_kg=3),), forecasts=(made(0, 8, 10, 14),))
    assert grade(iced, LIMITS).forecasts == 0
    unread = life(forecasts=(made(0, 8, 10, 14),))
    assert grade(unread, LIMITS).forecasts == 0


def test_the_early_bound_is_the_last_forecast_s_unless_ice_came_since() -> None:
    assert early_bound_us(life(forecasts=(made(0, 8, 10, 14),)), HOUR_US) == 8 * HOUR_US
    assert early_bound_us(life(told=(told(1, ice_kg=2),), forecasts=(made(0, 8, 10, 14),)), 2 * HOUR_US) is None
    assert early_bound_us(life(forecasts=(made(0, 8, 10, 14),)), 25 * HOUR_US) is None
    assert early_bound_us(life(), 0) is None


async def test_the_line_itself_never_loads_numpy() -> None:
    look = "import bot.serve, sys; sys.exit('numpy' in sys.modules)"
    child = await asyncio.create_subprocess_exec(
        sys.executable, "-c", look, cwd=Path(__file__).parents[2], env=dict(os.environ)
    )
    assert await child.wait() == 0


def test_lids_opened_since_the_last_word_are_spread_and_do_not_fail_a_cooler_full_of_ice() -> None:
    ice, opened = told(0, ice_kg=5, outside_celsius=18), told(4, opened=5)
    known = known_of(life(read(1, 4.0), told=(ice, opened)), "50 L ordinary", LIMITS, round(4.1 * HOUR_US), 1)
    assert isinstance(known, Known)
    assert [round(at / 3600, 1) for at, what, _ in known.facts["events"] if what == "opened"] == [1.6, 2.2, 2.8, 3.4, 4.0]
    answer = drawn(known.facts)
    assert answer["warm"][0] > 4.1 * 3600 + 6 * 3600, "one draw in ten lasts six hours more at the least"
