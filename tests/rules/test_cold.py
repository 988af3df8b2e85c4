"""The cold record: bands by inequality, grace, excursions as bounds, what is due.

Arrival test of Wis. Adm. Code NR 149.442(2)(c): preserved "at a temperature greater than its freezing point to
6 C". That rounding down may not pass a sample (40 CFR 136 table II) is from memory.
"""

from __future__ import annotations

from typing import Any

import pytest

from bot.model.cold import Life, Reading, Stay, life_of
from bot.model.entries import CoolerTold
from bot.model.sample import Fact, Sample
from bot.model.times import HOUR_US, MINUTE_US
from bot.rules.cold import (
    band,
    bands,
    carried,
    excursions,
    holds_water,
    next_reading_due_us,
    water_in,
)
from bot.rules.limits import Limits, limits_in_force

LIMITS = Limits()


def at(minutes: float) -> int:
    return int(minutes * MINUTE_US)


def read(minutes: float, celsius: float, **more: Any) -> Reading:
    us = at(minutes)
    return Reading(us, celsius, f"{celsius}C", "R1", us, "", **more)


def life(*readings: Reading, stays: tuple[Stay, ...] = (), ice_at: float | None = None) -> Life:
    told = ()
    if ice_at is not None:
        told = (CoolerTold(cooler="M", at="", at_us=at(ice_at), words="", ice_kg=5),)
    return Life("M", readings, told, stays)


@pytest.mark.parametrize(
    ("celsius", "judged"),
    [(-1.9, "freezing"), (0.0, "freezing"), (0.01, "ok"), (6.0, "ok"), (6.01, "at_risk"), (6.4, "at_risk"),
     (10.0, "at_risk"), (10.01, "over"), (5.999, "ok")],
)  # fmt: skip
def test_a_band_is_an_inequality_and_nothing_is_rounded_into_it(celsius: float, judged: str) -> None:
    assert band(celsius, LIMITS) == judged


def test_the_limits_are_the_unit_s_own() -> None:
    strict = limits_in_force({"cold_limit_c": 4.0})
    assert (band(4.4, strict), band(4.4, LIMITS)) == ("at_risk", "ok")


def test_only_jars_that_hold_water_freeze() -> None:
    kept = Sample(id="a", case="C", number="1", number_key="1", declared_by="R1", said_us=0, received_us=0)
    swab = kept.model_copy(update={"id": "b", "facts": {"matrix": Fact(**fact("swab"))}})
    assert holds_water(kept)
    assert not holds_water(swab)
    dry = life(read(0, 4), read(60, -0.5), stays=(Stay("b", 0),))
    assert bands(dry, LIMITS, water_in(dry, {"b": swab})) == ("ok", "ok")
    wet = life(read(0, 4), read(60, -0.5), stays=(Stay("b", 0), Stay("a", 0)))
    assert bands(wet, LIMITS, water_in(wet, {"a": kept, "b": swab})) == ("ok", "freezing")


def fact(value: str) -> dict[str, Any]:
    return {"value": value, "raw": value, "by": "R1", "said_us": 0, "received_us": 0}


def test_a_warm_reading_in_grace_is_cooling_while_it_falls() -> None:
    jar = (Stay("a", at(0)),)
    assert bands(life(read(5, 12), read(35, 9), read(65, 7), stays=jar, ice_at=0), LIMITS) == ("cooling",) * 3
    assert bands(life(read(5, 12), read(35, 12), stays=jar, ice_at=0), LIMITS) == ("cooling", "over")
    assert bands(life(read(125, 8), stays=jar, ice_at=0), LIMITS) == ("at_risk",), "the grace is over"
    assert bands(life(read(5, 12), stays=jar), LIMITS) == ("over",), "no ice was told"
    none = life(read(5, 12, ice_left="none"), stays=jar, ice_at=0)
    assert bands(none, LIMITS) == ("over",), "the ice is gone"


def test_an_excursion_is_bounds_and_the_peak_that_was_observed() -> None:
    (one,) = excursions(life(read(0, 4.4), read(60, 7.2), read(90, 8.4), read(120, 6.5), read(150, 5.8)), LIMITS)
    assert (one.at_least_us, one.at_most_us) == (HOUR_US, 150 * MINUTE_US)
    assert (one.peak_celsius, one.open, one.sort) == (8.4, False, "warm")


def test_an_excursion_that_nothing_bounds_says_so() -> None:
    (one,) = excursions(life(read(0, 7.2), read(30, 7.5)), LIMITS)
    assert (one.at_least_us, one.at_most_us, one.open) == (30 * MINUTE_US, None, True)
    (single,) = excursions(life(read(0, 4), read(30, 7.5), read(60, 5)), LIMITS)
    assert (single.at_least_us, single.at_most_us) == (0, HOUR_US)


def test_freezing_and_warm_are_two_excursions() -> None:
    found = excursions(life(read(0, -0.5), read(30, -1.5), read(60, 7), read(90, 5)), LIMITS)
    assert [(one.sort, one.peak_celsius) for one in found] == [("freezing", -1.5), ("warm", 7)]


def test_readings_told_out_of_order_stand_in_their_own() -> None:
    rows = [
        (f"unit#{n}", "M", at(n), {"at_us": at(n), "celsius": c, "raw": "", "by": "R1", "received_us": 0, "at": ""})
        for n, c in [(60, 8.0), (0, 4.0), (90, 5.0), (30, 7.0)]
    ]
    (one,) = excursions(life_of("M", rows), LIMITS)
    assert (one.at_least_us, one.at_most_us) == (30 * MINUTE_US, 90 * MINUTE_US)


def test_a_jar_carries_the_excursion_that_it_was_in_for_with_the_peak_of_its_own_stay() -> None:
    stays = (Stay("whole", 0), Stay("left", 0, at(75)), Stay("late", at(140)), Stay("gone", 0, at(0)))
    warm = life(read(0, 4), read(60, 7.2), read(90, 9.9), read(150, 5), stays=stays)
    found = excursions(warm, LIMITS)
    peaks = {s.sample: [c.peak_celsius for c in carried(warm, found, s.sample)] for s in stays}
    assert peaks == {"whole": [9.9], "left": [7.2], "late": [None], "gone": []}


def test_a_second_thermometer_confirms_only_when_it_is_out_of_range_too() -> None:
    (one,) = excursions(life(read(0, 8.4, thermometer="T1"), read(2, 8.1, thermometer="T2")), LIMITS)
    assert one.confirmed
    (alone,) = excursions(life(read(0, 8.4), read(30, 8.5)), LIMITS)
    assert not alone.confirmed
    found = excursions(life(read(0, 8.4), read(2, 4.1, second=True)), LIMITS)
    assert [(one.confirmed, one.open) for one in found] == [(False, False)]


def test_the_next_reading_is_due_sooner_until_two_are_in_range() -> None:
    def due(*readings: Reading) -> float | None:
        us = next_reading_due_us(life(*readings), LIMITS)
        return None if us is None else us / MINUTE_US

    assert due() is None
    assert due(read(0, 4)) == 240
    assert due(read(0, 4), read(60, 7)) == 90
    assert due(read(60, 7), read(90, 5)) == 120
    assert due(read(60, 7), read(90, 5), read(120, 5)) == 120 + 240
    calm = life(read(0, 4), read(60, 4))
    assert next_reading_due_us(calm, LIMITS, fridge=True) == at(60) + 12 * HOUR_US, "morning and evening"
    warm = life(read(0, 4), read(60, 7))
    assert next_reading_due_us(warm, LIMITS, fridge=True) == at(90)
