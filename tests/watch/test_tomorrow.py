"""What the digest says of tomorrow: courier and laboratory by their hours, orders that end, kits. Common practice, no source."""

from __future__ import annotations

from datetime import date

import pytest

from bot.reports.tomorrow import ends_on
from bot.trades import catalogue
from tests.talk import Talk
from tests.watch.test_digest import day_of
from tests.watch.test_reminders import K1, sending, two_jars

__all__ = ["sending"]


async def tomorrow(talk: Talk, at: str) -> str:
    lines = (await day_of(talk, at))["text"].splitlines()
    (line,) = [line for line in lines if line.startswith("Tomorrow: ")]
    return line.removeprefix("Tomorrow: ")


async def test_courier_and_laboratory_are_told_while_a_jar_waits_to_be_sent(sending: Talk) -> None:
    # The laboratory of these tests is closed on Wednesdays and at week-ends; 12 Oct 2026 is a Monday (ISO 8601).
    assert await tomorrow(sending, "2026-10-12T17:00:00Z") == "none."
    await two_jars(sending)
    assert await tomorrow(sending, "2026-10-12T17:00:00Z") == "courier 15:00, laboratory 08:00-17:00."
    assert await tomorrow(sending, "2026-10-13T17:00:00Z") == "courier 15:00, laboratory closed."
    assert await tomorrow(sending, "2026-10-16T17:00:00Z") == "laboratory closed."
    await sending.hears("R1", "offer 01 02 to K1")
    await sending.hears(K1, "01 5101 whole 02 5102 whole")
    assert await tomorrow(sending, "2026-10-12T17:00:00Z") == "none."


async def test_an_order_that_ends_and_a_kit_that_is_due_are_told_the_day_before(night: Talk) -> None:
    await two_jars(night)
    await night.says("S1", "retain 01 02 court letter 7, until 14 Oct 2026", at="2026-10-12T10:00:00Z")
    assert await tomorrow(night, "2026-10-12T17:00:00Z") == "none."
    assert await tomorrow(night, "2026-10-13T17:00:00Z") == "order on 01 02 ends."
    await night.says("R1", "kit A jars 16", at="2026-10-12T10:10:00Z")
    # 31 days after 12 Oct is 12 Nov.
    assert await tomorrow(night, "2026-11-10T17:00:00Z") == "none."
    assert await tomorrow(night, "2026-11-11T17:00:00Z") == "look at kit A."
    await night.says("R1", "used A jars 2", at="2026-10-12T10:20:00Z")
    assert await tomorrow(night, "2026-10-12T17:00:00Z") == "restock kit A."


@pytest.mark.parametrize(
    ("words", "ends"),
    [
        ("court letter 7 until 13 Oct", True),
        ("till 2026-10-13, harbour court", True),
        ("until 13 October 2026", True),
        ("until 13 October 2027", False),
        ("until 14 Oct", False),
        ("letter of 13 Oct", False),
        ("until the end of the appeal", False),
    ],
)
def test_only_an_order_whose_words_name_the_day_as_its_end_ends_then(words: str, ends: bool) -> None:
    assert ends_on(words, date(2026, 10, 13), catalogue("en").say) is ends
