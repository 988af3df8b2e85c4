"""A day of 500 jars and 40 coolers is a page or two; what is summed there is named behind the sum."""

from __future__ import annotations

import re
from io import BytesIO
from zoneinfo import ZoneInfo

from pypdf import PdfReader

from bot.model.case import Case
from bot.model.people import Unit
from bot.model.sample import Fact, Sample
from bot.model.times import HOUR_US, us_of_iso
from bot.papers import render
from bot.reports.digest import CaseDay, CoolerDay, Day, digest
from bot.reports.digest_paper import digest_paper
from bot.reports.digest_text import digest_text
from bot.rules.area import Area
from bot.rules.limits import Limits
from bot.trades import catalogue

AREA = Area.parse({"south": 47.20, "north": 47.40, "west": -20.10, "east": -19.80})
NOW_US = us_of_iso("2026-10-12T17:00:00Z")


def jar(number: int) -> Sample:
    told = {"cooler": f"K{number % 40}", "position": {"lat": 47.2 + number % 97 / 500, "lon": -20 + number % 89 / 500}}
    facts = {
        name: Fact(value=value, raw="as told", by="R1", said_us=NOW_US - HOUR_US, received_us=NOW_US - HOUR_US)
        for name, value in told.items()
    }
    made = {"declared_by": f"R{number % 9}", "said_us": NOW_US - HOUR_US, "received_us": NOW_US - HOUR_US}
    return Sample(id=f"CH-014#{number}", case="CH-014", number=f"{number:03}", number_key=str(number), facts=facts, **made)


def full_day() -> dict[str, object]:
    jars = tuple(jar(number) for number in range(1, 501))
    read = tuple((NOW_US - n * HOUR_US, 4.0 + n / 10) for n in (9, 6, 3, 1))
    coolers = tuple(
        CoolerDay(f"K{n}", 4.1, NOW_US - HOUR_US, "ok", NOW_US + HOUR_US, readings=read) for n in range(40)
    )
    case = Case(name="CH-014", exercise=False, people=(), kits=(), opened="2026-10-12T08:00:00+01:00", opened_us=NOW_US)
    found = digest(
        Day(
            date="2026-10-12",
            to="S1",
            now_us=NOW_US,
            since_us=NOW_US - 24 * HOUR_US,
            unit=Unit(name="Corrowby Haven", zone="Europe/Lisbon"),
            cases=(CaseDay(case, jars, ("clean water",)),),
            alerts=(),
            coolers=coolers,
        )
    )
    text, more = digest_text(found, catalogue("en").say, ZoneInfo("Europe/Lisbon"))
    return {**found, "text": text, "more": more}


async def test_500_jars_in_40_coolers_are_a_page_or_two_and_none_is_left_out() -> None:
    found = full_day()
    pdf = await render("digest", digest_paper(found, AREA, ZoneInfo("Europe/Lisbon"), Limits()))
    pages = [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]
    whole = re.sub(r"\s+", " ", " ".join(pages))
    assert len(str(found["text"])) <= 900
    assert len(pages) <= 2
    listed = dict(re.findall(r"(taken|taken today) 500 (001-500)", whole))
    assert listed == {"taken": "001-500", "taken today": "001-500"}
    held = re.findall(r"CH-014 R\d 40 places (\d+) ([\d -]+?)(?= CH-014| Places| Corrowby)", whole)
    assert sum(int(count) for count, _ in held) == 500
    numbers = [int(one) for _, jars in held for one in jars.split()]
    assert sorted(numbers) == list(range(1, 501))
    charts = set(re.findall(r"Cooler (K\d+), C", whole)) | set(re.findall(r"K\d+", whole.partition("not drawn here:")[2]))
    assert charts == {f"K{n}" for n in range(40)}
