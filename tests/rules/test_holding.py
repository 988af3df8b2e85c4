"""Holding times against printed examples and printed totals.

First Environmental Laboratories: collected Tue 15 Oct 2024 08:30, 7 d, good until Tue 22 Oct 2024 08:30. EPA, holding
times of method 1311: volatiles 28, semivolatiles 61, mercury 56, metals 360 days in all. EPA waste FAQ: SVOC 7 d water,
14 d soil, 40 d extract. EPA safe-water FAQ, contrary: from the arrival at the laboratory.
"""

from __future__ import annotations

from typing import Any

import pytest

from bot.model.sample import Fact, Sample
from bot.model.times import DAY_US, HOUR_US, us_of_iso
from bot.rules.holding import HoldingTable, holding, next_warning, parse_holding_table, warnings_of
from bot.rules.limits import Limits, limits_in_force
from bot.trades import table_text

LIMITS = Limits()
TAKEN = "2024-10-15T08:30:00-05:00"


def table() -> HoldingTable:
    return parse_holding_table(table_text("holding.toml"))


def fact(value: Any) -> Fact:
    return Fact(value=value, raw="", by="R1", said_us=0, received_us=0)


def time(iso: str) -> Fact:
    return fact({"at": iso, "at_us": us_of_iso(iso), "offset_minutes": 0})


def jar(matrix: str | None, **facts: Fact) -> Sample:
    told = {"time": time(TAKEN), **facts} | ({"matrix": fact(matrix)} if matrix else {})
    return Sample(id="a", case="C", number="1", number_key="1", declared_by="R1", said_us=0, received_us=0, facts=told)


def states(sample: Sample, now: str, limits: Limits = LIMITS) -> list[str]:
    return [one.state for one in holding(sample, table(), limits, us_of_iso(now))]


def test_seven_days_are_counted_to_the_minute_and_not_to_midnight() -> None:
    water = jar("water")
    first, second = holding(water, table(), LIMITS, us_of_iso(TAKEN))
    assert first.due_us == us_of_iso("2024-10-22T08:30:00-05:00")
    assert (second.start_us, second.state) == (None, "waiting")
    assert states(water, "2024-10-22T08:30:00-05:00")[0] == "running"
    assert states(water, "2024-10-22T08:31:00-05:00")[0] == "past"


def test_the_clock_is_the_same_over_a_clock_change() -> None:
    # 168 hours, though the wall clock went back on 3 Nov 2024 in that zone.
    late = jar("water").model_copy(update={"facts": {"matrix": fact("water"), "time": time("2024-10-30T08:30:00-05:00")}})
    first = holding(late, table(), LIMITS, 0)[0]
    assert first.due_us == us_of_iso("2024-11-06T07:30:00-06:00")


def test_several_legs_follow_each_other() -> None:
    done = jar("water", extracted_at=time("2024-10-20T12:00:00Z"))
    first, second = holding(done, table(), LIMITS, us_of_iso("2024-10-21T00:00:00Z"))
    assert (first.state, second.state) == ("met", "running")
    assert second.due_us == us_of_iso("2024-11-29T12:00:00Z")
    late = jar("water", extracted_at=time("2024-10-23T12:00:00Z"))
    assert states(late, "2024-10-24T00:00:00Z") == ["past", "running"]


@pytest.mark.parametrize(
    ("id_", "total"),
    [("leachate_volatiles", 28), ("leachate_semivolatiles", 61), ("leachate_mercury", 56), ("leachate_metals", 360),
     ("semivolatiles_water", 47), ("semivolatiles_soil", 54)],
)  # fmt: skip
def test_the_legs_of_a_clock_add_up_to_the_printed_total(id_: str, total: float) -> None:
    (clock,) = [one for one in table().clock if one.id == id_]
    assert clock.total_days == total


def test_what_starts_a_clock_is_a_setting() -> None:
    by_arrival = limits_in_force({"holding_starts": "receipt"})
    assert states(jar("water"), "2024-12-01T00:00:00Z", by_arrival)[0] == "waiting"
    arrived = jar("water", arrived_at=time("2024-10-17T10:00:00Z"))
    first = holding(arrived, table(), by_arrival, us_of_iso("2024-10-18T00:00:00Z"))[0]
    assert (first.start_event, first.due_us) == ("receipt", us_of_iso("2024-10-24T10:00:00Z"))


@pytest.mark.parametrize("matrix", ["thick", "sheen", "lumps", "emulsion", "swab", "unused", None])
def test_no_clock_runs_on_oil_pads_or_tar_unless_the_laboratory_set_one(matrix: str | None) -> None:
    assert holding(jar(matrix), table(), LIMITS, 0) == ()
    set_ = table().named("neat oil", matrix)
    assert set_ is not None
    kept = jar(matrix, holding=fact({"clocks": [set_.model_dump(mode="json")]}))
    assert len(holding(kept, table(), LIMITS, 0)) == 2


def test_a_figure_from_memory_says_so() -> None:
    assert {one.id for one in table().clock if one.seen == "from memory"} == {"concentrated_waste"}
    assert all(one.source for one in table().clock)
    assert [one.id for one in table().clock if one.seen == "from memory" and one.runs] == []


def test_warnings_come_at_half_a_day_and_hours_before_earlier_by_the_way_to_the_laboratory() -> None:
    start, due = us_of_iso(TAKEN), us_of_iso(TAKEN) + 7 * DAY_US
    water = jar("water")
    found = [(one.sort, one.at_us) for one in warnings_of(water, holding(water, table(), LIMITS, start), LIMITS)]
    lead = 24 * HOUR_US
    assert found == [
        ("half", start + (due - start) // 2 - lead), ("day", due - DAY_US - lead), ("hours", due - 6 * HOUR_US - lead),
        ("past", due),
    ]  # fmt: skip
    there = jar("water", arrived_at=time("2024-10-16T10:00:00Z"))
    assert next_warning(there, table(), LIMITS, start).at_us == start + (due - start) // 2
    assert next_warning(water, table(), LIMITS, due) is None
