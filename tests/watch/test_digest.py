"""The digest: one screen, problems first, and numbers that add up to their lists.

Zones and their changes: the IANA data. What belongs into it, in which order: common practice, no source.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytz

from bot.day import gather
from bot.model.times import us_of, us_of_iso, utc
from bot.rules.alerts import LEVELS
from bot.rules.numbers import ranges
from bot.trades import Trades, catalogue
from bot.watch.due import each_day
from tests.talk import Talk
from tests.watch.test_night import jars


async def day_of(talk: Talk, at: str, *, past: bool = False, to: str = "S1") -> dict[str, Any]:
    async with talk.house.store.database.read() as tx:
        return await gather(tx, Trades().of, to, us_of_iso(at), past=past)


async def quiet_day(talk: Talk) -> None:
    await talk.says("R1", "out till 1300", at="2026-10-12T07:30:00Z")
    await talk.says("R1", "cooler M 3.9C ice plenty", at="2026-10-12T07:40:00Z")
    for number in range(1, 6):
        line = f"0{number} spill sheen 09{number}0 47.2830N 19.9510W pad gloves changed seal 510{number} cooler M 4.0C"
        await talk.says("R1", line, at=f"2026-10-12T08:{number}2:00Z")
        await talk.says("R1", f"0{number} is shut and wiped", at=f"2026-10-12T08:{number}3:00Z")
    await talk.says("R1", "back", at="2026-10-12T11:20:00Z")
    await talk.says("R1", "offer 01-05 to C1 place evidence fridge", at="2026-10-12T12:00:00Z")
    await talk.says("C1", " ".join(f"0{n} 510{n} whole" for n in range(1, 6)), at="2026-10-12T12:05:00Z")


async def test_a_quiet_day_says_in_its_first_line_that_nothing_needs_them(night: Talk) -> None:
    await quiet_day(night)
    await night.waits("2026-10-12T16:59:00Z")
    (text,) = [one.text for one in await night.waits("2026-10-12T17:00:00Z") if one.person == "S1"]
    lines = text.splitlines()
    assert lines[0] == "Corrowby Haven, Mon 12 Oct. Nothing needs you."
    assert lines[1] == "People: R1 back 12:20."
    assert lines[2].startswith("CH-014: 5 jars taken, 5 stored.")
    assert lines[3] == "With: 01-05 C1, evidence fridge."
    assert len(text) <= 900


async def test_it_comes_once_a_day_at_its_hour_also_when_nothing_happened(night: Talk) -> None:
    await night.says("R1", "hello", at="2026-10-12T09:00:00Z")
    sent = [one for one in await night.waits("2026-10-14T18:00:00Z") if one.person == "S1"]
    assert [utc(one.queued_us).strftime("%d %H:%M") for one in sent] == ["12 17:00", "13 17:00", "14 17:00"]
    assert all(one.text.splitlines()[0].endswith("Nothing needs you.") for one in sent)
    assert re.search(r"^Words of Sun 11 Oct: ([A-Z]+ ){5}[A-Z]+$", sent[0].text, re.MULTILINE) is None
    assert re.search(r"^Words of Mon 12 Oct: ([A-Z]+ ){5}[A-Z]+$", sent[1].text, re.MULTILINE)


async def test_problems_come_first_with_their_jars_and_their_owner(night: Talk) -> None:
    await quiet_day(night)
    await night.says("R2", "06 spill sheen 1400 seal 5106 cooler M 4.1C", at="2026-10-12T13:02:00Z")
    await night.says("R2", "cooler M 8.4C", at="2026-10-12T16:30:00Z")
    day = await day_of(night, "2026-10-12T16:35:00Z")
    assert day["text"].splitlines()[0] == (
        "Corrowby Haven, Mon 12 Oct. Needs you now: cooler M warm, jar 06, nobody has it, since 17:30."
    )
    assert [one["what"] for one in day["needs_you"]] == ["cooler_warm"]
    await night.says("S2", "mine M", at="2026-10-12T16:36:00Z")
    day = await day_of(night, "2026-10-12T16:40:00Z")
    assert day["needs_you"] == []
    assert "S2 has cooler M warm" in day["text"]


async def test_with_follows_hand_overs_and_struck_jars_count_nowhere(night: Talk) -> None:
    await quiet_day(night)
    await night.says("R2", "06 spill sheen 1400 seal 5106 cooler M 4.1C", at="2026-10-12T13:02:00Z")
    await night.says("R2", "07 spill sheen 1410 seal 5107 cooler M 4.1C", at="2026-10-12T13:12:00Z")
    await night.says("R2", "strike 07 jar broke", at="2026-10-12T13:14:00Z")
    day = await day_of(night, "2026-10-12T14:05:00Z")
    assert {(one["with"], one["place"], ranges(one["samples"])) for one in day["with"]} == {
        ("C1", "evidence fridge", "01-05"),
        ("R2", None, "06"),
    }
    (case,) = day["cases"]
    assert (case["taken"], case["stored"], case["struck"]) == (6, 5, 1)
    assert "1 struck (07)" in day["text"]
    held = sorted(number for one in day["with"] for number in one["samples"])
    assert held == sorted(case["numbers"]["taken"])


async def test_every_count_in_the_text_is_the_length_of_its_list(night: Talk) -> None:
    await quiet_day(night)
    await night.says("R1", "03 seal is 5117 not 5103, misread", at="2026-10-12T13:00:00Z")
    day = await day_of(night, "2026-10-12T14:05:00Z")
    (case,) = day["cases"]
    for name in ("taken", "taken_today", "stored", "sent", "struck"):
        assert case[name] == len(case["numbers"][name])
    assert f"CH-014: {len(case['numbers']['taken'])} jars taken, {len(case['numbers']['stored'])} stored." in day["text"]
    assert day["corrections"]["count"] == len(day["corrections"]["all"]) == 1
    assert "Corrections: 1 (03 seal)." in day["text"]


async def test_a_day_with_much_in_it_stays_one_screen_and_the_rest_is_behind_more(night: Talk) -> None:
    for number in range(1, 16):
        await night.says("R1", f"{number:02} source tank {number}P 1000 seal 51{number:02}", at=f"2026-10-12T09:{number:02}:00Z")
    for number in range(1, 16):
        await night.says("R1", f"offer {number:02} to C1", at=f"2026-10-12T10:{number:02}:00Z")
    await night.waits("2026-10-12T16:00:00Z")
    night.sent.clear()
    await night.hears("S1", "digest", at="2026-10-12T16:01:00Z")
    (screen,) = [one.text for one in night.sent if one.person == "S1"]
    assert len(screen) <= 900
    assert screen.splitlines()[0].startswith("Corrowby Haven, Mon 12 Oct. Needs you now: ")
    assert screen.splitlines()[-1] == "More: text DIGEST MORE"
    (rest,) = [one.text for one in await night.hears("S1", "digest more") if one.person == "S1"]
    assert rest.splitlines()[-1].startswith("Tomorrow:") or "Words of" in rest


async def test_an_exercise_stands_in_the_last_line_and_in_no_list(drill: Talk) -> None:
    await drill.says("R1", "CH-900 01 spill sheen 0901 seal E101", at="2026-10-12T09:02:00Z")
    await drill.says("R1", "CH-014 02 spill sheen 0911 seal 5102 cooler M 4.0C", at="2026-10-12T09:12:00Z")
    day = await day_of(drill, "2026-10-12T10:00:00Z")
    assert day["text"].splitlines()[-1] == "EXERCISE CH-900: taken 1"
    assert [case["case"] for case in day["cases"]] == ["CH-014"]
    assert {number for one in day["with"] for number in one["samples"]} == {"02"}


async def test_a_day_that_is_past_is_told_as_it_stood(night: Talk) -> None:
    await quiet_day(night)
    before = await day_of(night, "2026-10-12T17:00:00Z")
    await night.says("R2", "06 spill sheen 0800 seal 5106 cooler M 4.1C", at="2026-10-13T07:02:00Z")
    await night.says("R1", "03 seal is 5117 not 5103, misread", at="2026-10-13T08:00:00Z")
    past = await day_of(night, "2026-10-12T17:00:00Z", past=True)
    assert {**past, "people": before["people"]} == before


def test_every_kind_of_alert_has_its_words_in_the_digest() -> None:
    assert [kind for kind in LEVELS if not catalogue("en").has(f"digest.alert.{kind}")] == []


def test_a_digest_is_due_once_a_day_in_every_zone_and_never_at_an_hour_that_is_none() -> None:
    """Every zone; the days around each of its changes from 2005 to 2030, and two of each year beside."""
    checked = 0
    for name in sorted(pytz.common_timezones):
        zone = ZoneInfo(name)
        days = {date(year, month, 15) for year in range(2005, 2031) for month in (1, 7)}
        changes = [at for at in getattr(pytz.timezone(name), "_utc_transition_times", []) if 2005 <= at.year <= 2030]
        days |= {(at + timedelta(days=n)).date() for at in changes for n in (-1, 0, 1)}
        for on in sorted(days):
            for at in (time(2, 30), time(18)):
                after = us_of(datetime.combine(on, time(), tzinfo=zone).astimezone(pytz.utc)) - 1
                found = [us for _, us in each_day(at, after, after + 36 * 3_600_000_000, name)]
                shown = [utc(us).astimezone(zone) for us in found]
                here = [one for one in shown if one.date() == on]
                assert found == sorted(set(found))
                assert len(here) == (0 if _no_such_day(on, zone) else 1), (name, on, at)
                skipped = not any(_shows(on, at, zone, fold) for fold in (0, 1))
                assert skipped or (here[0].time(), here[0].fold) == (at, 0), (name, on, at)
                checked += 1
    assert checked > 30_000


def _shows(on: date, at: time, zone: ZoneInfo, fold: int) -> bool:
    wall = datetime.combine(on, at.replace(fold=fold), tzinfo=zone)
    return wall.astimezone(pytz.utc).astimezone(zone).replace(tzinfo=None) == wall.replace(tzinfo=None)


def _no_such_day(on: date, zone: ZoneInfo) -> bool:
    return not _shows(on, time(12), zone, 0) and not _shows(on, time(18), zone, 0) and not _shows(on, time(2, 30), zone, 0)


async def test_an_excursion_of_the_day_stands_with_its_bounds_and_its_jars(night: Talk) -> None:
    await jars(night, "2026-10-11", "+01:00")
    for at, text in (("09:00", "4.4C"), ("10:00", "8.4C"), ("10:30", "7.0C"), ("11:05", "5.0C")):
        await night.says("R2", f"cooler M {text}", at=f"2026-10-12T{at}:00+01:00")
    day = await day_of(night, "2026-10-12T10:10:00Z")
    (run,) = [one for one in day["at_risk"] if one["what"] == "excursion"]
    assert (run["at_least_minutes"], run["at_most_minutes"], run["peak_celsius"]) == (30, 125, 8.4)
    assert "cooler M out of range at least 30 min, at most 2 h 05, peak 8.4 C, jars 01-09" in day["text"]
    (need,) = day["needs_you"]
    assert (need["what"], need["by_when"]) == ("cooler_warm", "2026-10-12T10:35:00Z")


async def test_the_first_line_does_not_say_that_nothing_needs_them_above_a_jar_at_risk(night: Talk) -> None:
    await night.says("R2", "06 spill sheen 0900 seal 5106", at="2026-10-12T08:02:00Z")
    await night.says("R2", "offer 06 to C1", at="2026-10-12T08:04:00Z")
    day = await day_of(night, "2026-10-12T08:10:00Z")
    assert (day["needs_you"], [one["what"] for one in day["at_risk"]]) == ([], ["custody_pending", "not_in_cold"])
    assert day["text"].splitlines()[0].endswith("No alert is yours; some jars are at risk.")


async def test_two_jars_told_under_one_number_are_at_risk_until_somebody_says_which(night: Talk) -> None:
    await night.says("R1", "07 spill sheen 0900 seal 5107 cooler M 4.0C", at="2026-10-12T08:02:00Z")
    await night.says("R2", "07 spill thick 0915 seal 5117 cooler M 4.0C", at="2026-10-12T08:16:00Z")
    day = await day_of(night, "2026-10-12T08:20:00Z")
    assert [(one["what"], one["samples"]) for one in day["at_risk"]] == [("number_query", ["07", "07"])]
    assert "At risk: 07 told of two jars" in day["text"]
    await night.says("R2", "08", at="2026-10-12T08:21:00Z")
    assert (await day_of(night, "2026-10-12T08:22:00Z"))["at_risk"] == []


async def test_a_wrong_number_stands_in_one_day_and_puts_no_jar_at_risk(night: Talk) -> None:
    await night.hears("sms:+447700900098", "wrong number, good day", at="2026-10-12T09:00:00Z")
    day = await day_of(night, "2026-10-12T09:10:00Z")
    assert day["text"].splitlines()[0].endswith("Nothing needs you.")
    assert "At risk: a stranger wrote" in day["text"]
    await night.waits("2026-10-13T09:30:00Z")
    assert (await day_of(night, "2026-10-13T09:40:00Z"))["at_risk"] == []


async def test_what_another_has_is_said_once_as_theirs(night: Talk) -> None:
    await night.hears("R1", "going down the pump room for it", at="2026-10-12T09:00:00Z")
    await night.hears("S2", "have it", at="2026-10-12T09:02:00Z")
    assert "At risk: S2 has R1 texted of going in.\n" in (await day_of(night, "2026-10-12T09:10:00Z"))["text"]
