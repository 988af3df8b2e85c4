"""The samples a plan offers, and how jars stand against it.

The figures are common practice, no source, and are held here as a table. That several points of a spill and the
source itself are taken, an unused one of the same lot beside them: "Guidelines for the collection of oil samples",
appendix 5, and ASTM D4489-95(2024).
"""

from __future__ import annotations

import pytest

from bot.model.entries import (
    Draft,
    FactTold,
    PlanTold,
    SampleImpossible,
    SampleRefused,
    SuspectMoved,
    SuspectNamed,
)
from bot.model.entries.base import Body
from bot.model.plan import Plan, fold_plan
from bot.model.sample import Fact, Sample
from bot.rules.limits import COMMON, Limits
from bot.rules.plan import Line, matrix_of, out_of_order, parse_plan_table, source_line
from bot.trades import table_text

TABLE = parse_plan_table(table_text("plan.toml"))
FIGURES = {
    "plan_blanks": 1, "plan_backgrounds": 1, "plan_spill_points": 3, "plan_sheen_points": 2, "plan_jars_per_duplicate": 10,
    "plan_minutes_per_jar": 15,
}  # fmt: skip


def plan(*bodies: Body) -> Plan:
    made = Plan()
    for body in bodies:
        made = fold_plan(made, Draft(chain="CH-014", body=body, author="R1", channel="sms", said_us=0, received_us=0))
    return made


def told(**values: str) -> PlanTold:
    return PlanTold(facts=tuple(FactTold(field=name, value=value, raw=value) for name, value in values.items()))


def ship(name: str, *tanks: str) -> SuspectNamed:
    return SuspectNamed(name=name, tanks=tanks, words=name)


def jar(number: str, at: int = 0, struck: str | None = None, **values: str) -> Sample:
    facts = {name: Fact(value=value, raw=value, by="R1", said_us=at, received_us=at) for name, value in values.items()}
    return Sample(
        id=f"CH-014#{number}", case="CH-014", number=number, number_key=number, declared_by="R1", said_us=at,
        received_us=at, facts=facts, struck=struck,
    )  # fmt: skip


def counts(made: Plan, *jars: Sample) -> dict[str, int]:
    return {line.what: line.count for line in matrix_of(made, jars, TABLE, Limits()).lines}


def lines(made: Plan, *jars: Sample) -> dict[str, Line]:
    return {line.what: line for line in matrix_of(made, jars, TABLE, Limits()).lines}


@pytest.mark.parametrize(("limit", "value"), FIGURES.items())
def test_every_figure_of_the_plan_is_a_limit_that_names_its_source(limit: str, value: int) -> None:
    field = Limits.model_fields[limit]
    assert field.default == value
    assert COMMON in (field.description or "")


def test_every_row_says_where_its_practice_was_seen() -> None:
    assert all(row.source for row in TABLE.row)


def test_the_least_set_is_offered_where_nothing_is_known() -> None:
    assert counts(Plan()) == {"material_blank": 1, "background": 1, "spill": 3, "duplicate": 1}


def test_a_small_sheen_is_offered_two_points_and_a_large_one_three() -> None:
    assert counts(plan(told(oil="sheen", extent="small")))["spill"] == 2
    assert counts(plan(told(oil="sheen", extent="large")))["spill"] == 3
    assert counts(plan(told(oil="thick", extent="small")))["spill"] == 3


def test_every_suspect_is_offered_a_jar_for_each_of_its_tanks_in_the_order_named() -> None:
    made = plan(ship("Tolva"), ship("Marbel", "2P", "bilge"), ship("quay pipe"))
    sources = [line.what for line in matrix_of(made, (), TABLE, Limits()).lines if line.kind == "source"]
    assert sources == ["Tolva", "Marbel 2P", "Marbel bilge", "quay pipe"]


@pytest.mark.parametrize(("suspects", "duplicates"), [(0, 1), (7, 1), (8, 2), (90, 10)])
def test_one_duplicate_is_offered_in_ten_jars_of_oil(suspects: int, duplicates: int) -> None:
    made = plan(*(ship(f"ship {n}") for n in range(suspects)))
    assert counts(made)["duplicate"] == duplicates


def test_an_oiled_shore_is_offered_an_unoiled_one_beside_it() -> None:
    made = plan(told(shore="sand plants"))
    assert {"reference sand": 1, "oiled sand": 1, "reference plants": 1, "oiled plants": 1}.items() <= counts(made).items()
    taken = lines(made, jar("01", kind="spill", matrix="soil"), jar("02", kind="unoiled_reference", matrix="vegetation"))
    assert taken["oiled sand"].taken == ("01",)
    assert taken["reference plants"].taken == ("02",)
    assert taken["spill"].taken == ()


def test_each_lot_of_nets_or_pads_has_a_blank_of_its_own() -> None:
    nets = jar("01", kind="spill", device_lot="L1"), jar("02", kind="spill", device_lot="L2")
    assert counts(Plan(), *nets)["material_blank"] == 2
    blanks = jar("03", kind="material_blank", device_lot="L1"), jar("04", kind="material_blank", device_lot="l1")
    line = lines(Plan(), *nets, *blanks)["material_blank"]
    assert (line.taken, line.missing) == (("03",), 1)


def test_a_struck_jar_fills_nothing() -> None:
    assert lines(Plan(), jar("01", kind="background", struck="lid leaks"))["background"].missing == 1


def test_what_was_refused_or_cannot_be_had_is_not_wanted_and_not_taken() -> None:
    refused = SampleRefused(what="Marbel", words="no")
    impossible = SampleImpossible(what="Tolva bilge", why="dry")
    made = plan(ship("Marbel", "2P", "2S"), ship("Tolva", "bilge", "1P"), refused, impossible)
    found = lines(made)
    assert all(found[what].refused for what in ("Marbel 2P", "Marbel 2S"))
    assert [found[what].missing for what in ("Marbel 2P", "Marbel 2S")] == [0, 0]
    assert (found["Tolva bilge"].impossible, found["Tolva bilge"].missing, found["Tolva bilge"].taken) == (True, 0, ())
    assert found["Tolva 1P"].missing == 1


def test_a_suspect_that_left_is_not_to_be_had_until_it_is_back() -> None:
    gone = SuspectMoved(name="Marbel", how="left", words="0845")
    back = SuspectMoved(name="Marbel", how="back", words="")
    assert lines(plan(ship("Marbel", "2P"), gone))["Marbel 2P"].impossible
    for again in (back, ship("Marbel"), SuspectMoved(name="Marbel", how="sails", words="1500", at="x", at_us=0)):
        assert lines(plan(ship("Marbel", "2P"), gone, again))["Marbel 2P"].missing == 1


@pytest.mark.parametrize(
    ("facts", "line"),
    [
        ({"vessel": "Marbel", "tank": "2P"}, "Marbel 2P"),
        ({"tank": "Marbel tank 2p"}, "Marbel 2P"),
        ({"tank": "1S"}, "Tolva 1S"),  # no other suspect has one
        ({"tank": "2P"}, ""),  # two have one
        ({"vessel": "tolva", "tank": "2P"}, "Tolva 2P"),
        ({"vessel": "Marbel", "tank": "9C"}, ""),  # a tank that nobody named
        ({"vessel": "Marbel Two"}, "Marbel Two"),
        ({"place": "quay pipe by the steps"}, "quay pipe"),
        ({}, ""),
    ],
)  # fmt: skip
def test_a_source_jar_is_its_own_suspects_and_never_guessed(facts: dict[str, str], line: str) -> None:
    made = plan(ship("Marbel", "2P"), ship("Tolva", "2P", "1S"), ship("Marbel Two"), ship("quay pipe"))
    assert source_line(jar("01", kind="source", **facts), made) == line


def test_a_source_jar_that_names_none_for_certain_stands_beside_the_plan() -> None:
    made = plan(ship("Marbel", "2P"), ship("Tolva", "2P"))
    assert matrix_of(made, [jar("01", kind="source", tank="2P")], TABLE, Limits()).beside == ("01",)


ORDER = [
    {"kind": "material_blank"}, {"kind": "background"}, {"kind": "spill", "matrix": "sheen"},
    {"kind": "spill", "matrix": "thick"}, {"kind": "source"},
]  # fmt: skip


@pytest.mark.parametrize("first", range(5))
@pytest.mark.parametrize("second", range(5))
def test_a_cleaner_jar_after_a_dirtier_one_is_out_of_order_and_nothing_else(first: int, second: int) -> None:
    before, after = jar("01", **ORDER[first]), jar("02", **ORDER[second])
    assert out_of_order(after, before, TABLE) == (second < first)


def test_nothing_is_said_of_the_order_where_the_oil_is_not_told() -> None:
    assert not out_of_order(jar("02", kind="spill"), jar("01", kind="source"), TABLE)
    assert not out_of_order(jar("02", kind="background"), None, TABLE)
