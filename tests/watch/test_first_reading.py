"""A cooler that jars went into is read, and one without jars wakes nobody.

That it is read at loading and at every transfer is common practice, no source; bands: 40 CFR 136 table II (at or
below 6 C), seen in a state SOP.
"""

from __future__ import annotations

from bot.model.message import Outgoing
from tests.talk import Talk

JAR = "0{n} spill sheen 0905 seal 510{n} cooler M"
FIRST = "Cooler M: not read since its jars went in. Jars 01-03. What does the check bottle read?"


def of_coolers(sent: list[Outgoing]) -> list[tuple[str | None, str, str]]:
    return [(one.person, one.alert.level, one.text) for one in sent if one.alert and one.alert.subject == "cooler M"]


async def two_jars(talk: Talk) -> None:
    for n in (1, 2):
        await talk.hears("R1", JAR.format(n=n), at=f"2026-10-12T09:1{n}:00Z")


async def test_jars_in_a_cooler_that_nobody_read_are_asked_for_and_then_told_on_once(night: Talk) -> None:
    await two_jars(night)
    await night.hears("R1", JAR.format(n=3), at="2026-10-12T09:35:00Z")
    sent = of_coolers(await night.waits("2026-10-12T09:50:00Z"))
    assert sent == [("R1", "reminder", FIRST)]
    sent = of_coolers(await night.waits("2026-10-12T10:51:00Z"))
    told = "Cooler M: nobody has read it since its jars went in. Jars 01-03. With R1. Reply MINE M to take this."
    assert sent == [("S1", "push", told)]
    assert [one["kind"] for one in await night.show("alerts")] == ["reading_overdue"]
    sent = of_coolers(await night.hears("R1", "cooler M 4.2C", at="2026-10-12T10:55:00Z"))
    assert ("S1", "reminder", "Cooler M read: 4.2 C at 11:55.") in sent


async def test_a_cooler_read_since_is_not_asked_for(night: Talk) -> None:
    await two_jars(night)
    await night.hears("R1", "cooler M 4.2C", at="2026-10-12T09:20:00Z")
    assert of_coolers(await night.waits("2026-10-12T12:00:00Z")) == []


async def test_jars_put_into_a_cooler_that_reads_warm_call_for_somebody(night: Talk) -> None:
    await night.hears("R1", "cooler M 12C", at="2026-10-12T09:00:00Z")
    assert [one["level"] for one in await night.show("alerts")] == ["push"]
    await two_jars(night)
    sent = of_coolers(await night.waits("2026-10-12T09:52:00Z"))
    assert [(who, level) for who, level, _ in sent if level == "critical"] == [("S1", "critical")]
    assert next(text for _, level, text in sent if level == "critical").startswith("Cooler M 12 C at 10:00")


async def test_a_warm_cooler_without_a_jar_waits_for_the_day(night: Talk) -> None:
    await night.hears("R1", "cooler M 12C", at="2026-10-11T22:30:00Z")
    assert [one for one in await night.waits("2026-10-12T04:59:00Z") if one.person == "S1"] == []
    sent = of_coolers(await night.waits("2026-10-12T05:01:00Z"))  # the quiet hours end at 06:00 on the wall
    assert [(who, level) for who, level, _ in sent] == [("S1", "push")]


async def test_the_last_jar_that_leaves_a_cooler_ends_what_was_told_of_it_and_carries_it(night: Talk) -> None:
    await two_jars(night)
    await night.hears("R1", "cooler M 8.4C", at="2026-10-12T09:20:00Z")
    sent = of_coolers(await night.hears("R1", "01 into cooler N", at="2026-10-12T09:25:00Z"))
    assert sent == []
    sent = of_coolers(await night.hears("R1", "02 into cooler N", at="2026-10-12T09:26:00Z"))
    assert sent == [("S1", "reminder", "cooler M holds no jar any more: over. Its jars carry what was read.")]
    assert [one["peak_celsius"] for one in (await night.jar("02"))["excursions"]] == [8.4]


async def test_a_jar_taken_out_into_nothing_is_asked_after(night: Talk) -> None:
    await two_jars(night)
    await night.hears("R1", "cooler M 4.2C", at="2026-10-12T09:20:00Z")
    await night.hears("R1", "02 out of M", at="2026-10-12T09:25:00Z")
    sent = [(one.person, one.text) for one in await night.waits("2026-10-12T09:45:00Z")]
    assert sent == [("R1", "02 taken 09:05, not yet in cold.")]
