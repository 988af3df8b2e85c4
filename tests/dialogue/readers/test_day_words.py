"""Days and times in each language of the line.

Months and the order of a date's parts are checked against Unicode CLDR as `babel` carries it.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time

import pytest
from babel import Locale
from babel.dates import format_datetime
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.dialogue.readers.clock_forms import whens_in
from bot.dialogue.readers.day_forms import may_hold_day
from bot.rules.fields import plain
from bot.rules.worded import OFFERED
from tests.dialogue.readers.test_clock_time import LISBON, SENT, asked, told
from tests.dialogue.test_languages import every_wording
from tests.talk import Talk

TODAY = date(2026, 10, 13)
NEXT_DAY = "2026-10-13T12:00:00+01:00"


@settings(deadline=None)
@given(
    st.dates(date(2005, 1, 1), date(2026, 10, 11)),
    st.times(time(4)),  # when no clocks change
    st.sampled_from(OFFERED),
    st.sampled_from(("d MMM y HH:mm", "d. MMMM y HHmm", "HH:mm d MMMM y")),
)
def test_a_date_is_read_as_its_language_writes_it(day: date, at: time, language: str, form: str) -> None:
    moment = datetime.combine(day, at.replace(second=0, microsecond=0), LISBON)
    assert told(format_datetime(moment, form, tzinfo=LISBON, locale=language)).iso == moment.isoformat()


@pytest.mark.parametrize("language", OFFERED)
@pytest.mark.parametrize("width", ["abbreviated", "wide"])
def test_every_month_of_the_calendar_is_known_with_its_accents_and_without(language: str, width: str) -> None:
    for number, name in Locale(language).months["format"][width].items():
        for said in (name, plain(name)):
            assert told(f"12 {said} 2025 1002").iso[:10] == f"2025-{number:02}-12"


@pytest.mark.parametrize("language", OFFERED)
def test_every_weekday_of_the_calendar_may_be_a_day_and_today_is_no_other(language: str) -> None:
    for name in Locale(language).days["format"]["wide"].values():
        assert may_hold_day([name], "", TODAY)
        assert may_hold_day([f"{plain(name).upper()},"], "", TODAY)


@pytest.mark.parametrize(
    "word",
    ["12/10", "10/12", "12.10.", "12.10", "12-10", "12oct", "12-OCT-26", "oct-12", "20261012", "2026.10.12", "12th",
     "28/8", "(9th)", "121026", "261012", "101226,", "mon."],
)  # fmt: skip
def test_a_word_of_the_last_two_months_may_be_a_day(word: str) -> None:
    assert may_hold_day([word], "", TODAY)


@pytest.mark.parametrize(
    "word",
    ["today", "13/10", "3/4", "1/2", "2/3", "7/8", "2nd", "1st", "2-3", "12mar", "3-4-5", "5104", "4.4", "1.2.",
     "131026", "005104", "121025", "sun", "sat"],
)  # fmt: skip
def test_a_fraction_a_share_and_today_are_no_day_before(word: str) -> None:
    assert not may_hold_day([word], "", TODAY)


@pytest.mark.parametrize(
    ("words", "holds"),
    [
        ("le 12", True),
        ("0830 on the 12", True),
        ("dia 9 1016", True),
        ("el 12, 10:16", True),
        ("den 13", False),
        ("le 25", False),
        ("le 5 reservoir", False),
    ],
)
def test_two_words_may_be_a_day_together(words: str, holds: bool) -> None:
    assert may_hold_day([], words, TODAY) is holds


@settings(deadline=None)
@given(st.dates(date(2005, 1, 10), date(2030, 1, 1)), st.sampled_from(OFFERED), st.integers(0, 6), st.booleans())
def test_a_weekday_is_the_last_of_its_name_and_never_one_ahead(
    sent: date, language: str, weekday: int, accents: bool
) -> None:
    name = Locale(language).days["format"]["wide"][weekday]
    said = told(f"{name if accents else plain(name)} 0600", f"{sent}T12:00:00+00:00")
    day = datetime.fromisoformat(said.iso).date()
    assert (day.isoweekday(), 0 <= (sent - day).days < 7) == (weekday + 1, True)  # ISO 8601: Monday is 1
    assert said.dated


@pytest.mark.parametrize("said", ["mon 1016", "1016 Mon", "on monday 1016", "Monday at 10:16", "lunes a las 10:16"])
def test_a_weekday_is_read_however_it_is_said(said: str) -> None:
    assert told(said, "2026-10-15T09:00:00+01:00").iso == "2026-10-12T10:16:00+01:00"


def test_a_weekday_s_time_still_ahead_is_asked_about() -> None:
    assert asked("thursday 1016", "2026-10-15T09:00:00+01:00") == "future"


@pytest.mark.parametrize("said", ["now", "AHORA", "maintenant", "agora", "nå"])
def test_now_is_now_in_each_language(said: str) -> None:
    assert told(said).iso == SENT


@pytest.mark.parametrize("language", OFFERED)
def test_the_words_that_a_language_offers_are_read(language: str) -> None:
    wording = every_wording(language)
    assert told(wording["sample.time.ask"].rstrip(".").rpartition(" ")[2]).iso == SENT
    [yesterday] = re.findall(r"((?:I )?\w+ 2310)\.", wording["sample.time.help"])
    assert told(yesterday).iso == "2026-10-11T23:10:00+01:00"


@pytest.mark.parametrize(
    "said", ["yesterday 2316", "ayer 2316", "2316 hier", "ontem às 23:16", "i går kl. 23:16", "hier à 23h16"]
)
def test_yesterday_is_the_day_before_in_each_language(said: str) -> None:
    assert told(said).iso == "2026-10-11T23:16:00+01:00"


@pytest.mark.parametrize(
    "said", ["20 min ago", "hace 20 minutos", "il y a 20 minutes", "há 20 min", "for 20 minutter siden"]
)
def test_some_minutes_back_are_an_estimate_in_each_language(said: str) -> None:
    value = told(said)
    assert (value.iso, value.estimate) == ("2026-10-12T10:00:00+01:00", True)


@pytest.mark.parametrize("said", ["0130 antigua", "0130 hora antigua", "0130, heure ancienne", "0130 gammel tid"])
def test_of_two_equal_hours_one_is_named_in_each_language(said: str) -> None:
    assert told(said, "2026-10-25T08:00:00+00:00").iso == "2026-10-25T01:30:00+01:00"


def test_a_day_in_figures_alone_still_asks_which_is_the_month() -> None:
    assert asked("11/10 2316") == "day_month"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("spill 12 Oct 2026 1016 seal 5104", "12 Oct 2026 1016"),
        ("spill 1016 yesterday seal 5104", "1016 yesterday"),
        ("sheen 12 okt. kl. 10.16 5104", "12 okt. kl. 10.16"),
        ("12 Oct 1016 5104 pad", "12 Oct 1016"),
        ("net 20261012T1016", "20261012T1016"),
        ("10:16 i går, jar", "10:16 i går"),
        ("fill 3/4 1016 jar", None),
        ("seal 5104 12 Oct, jar", None),
        ("1016 jar may be wet", None),
        ("4.4C out 1016", None),
    ],
)
def test_a_time_with_its_day_is_found_among_other_words(text: str, found: str | None) -> None:
    [span] = whens_in(text)[:1] or [None]
    assert (text[slice(*span)] if span else None) == found


@pytest.mark.parametrize("day", ["yesterday 2316", "2316 yesterday", "12 Oct 2316", "2316 12 Oct 2026", "Oct 12 2316"])
async def test_a_jar_of_the_day_before_is_told_in_one_line(talk: Talk, day: str) -> None:
    answer = await talk.says("R1", f"03 spill sheen {day} pad seal 5103", at=NEXT_DAY)
    assert answer.startswith("03 saved, not confirmed: spill, sheen, pad, 12 Oct 23:16, seal 5103.")
    jar = await talk.jar("03")
    assert (jar["event_time"], jar["seals"][0]["number"]) == ("2026-10-12T23:16:00+01:00", "5103")


async def test_the_number_of_a_seal_is_no_time_of_yesterday(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen seal 1204 yesterday")
    jar = await talk.jar("03")
    assert (jar["event_time"], jar["seals"][0]["number"]) == (None, "1204")


async def test_a_cooler_s_reading_of_the_day_before_is_told_with_its_day(talk: Talk) -> None:
    await talk.says("R1", "jar", at=NEXT_DAY)
    for text in ("mate, cleared", "yes", "04", "1", "1", "shut yesterday 2320 pad", "47.2830N 19.9510W", "5104", "SKIP"):
        await talk.says("R1", text)
    await talk.says("R1", "M 4.4C yesterday 2330")
    jar = await talk.jar("04")
    assert (jar["cooler"], jar["cooler_celsius"], jar["in_cold_at"]) == ("M", 4.4, "2026-10-12T23:30:00+01:00")
