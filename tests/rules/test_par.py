"""The par list and its arithmetic: common practice of this trade, no source, held as a table."""

from __future__ import annotations

import pytest

from bot.model.entries import Addition, ItemTold, KitInspected, KitRestocked, KitUsed
from bot.model.entries.base import Body, Draft
from bot.model.kit import Stock, fold_stock
from bot.model.people import Kit, Person
from bot.model.times import DAY_US
from bot.rules.kit import due_again, readiness, seal_gaps
from bot.rules.limits import Limits
from bot.rules.par import ParTable
from bot.trades import par_table

# Common practice, no source: figures for 16 and for 24 jars as instructors give them.
PAR = {
    "jar": (16, 24), "ring": (16, 16), "net": (5, 5), "pad": (10, 10), "twine": (1, 1), "depressor": (8, 8),
    "pole": (1, 1), "cutter": (1, 1), "half": (16, 24), "spare_half": (4, 4), "leak_tape": (1, 1),
    "seal": (21, 32), "tamper_tape": (1, 1), "label": (16, 24), "marker": (2, 2), "gloves": (1, 1),
    "bag": (2, 2), "tube": (8, 12), "carrier": (1, 1), "cooler": (1, 1), "ice": (5, 5), "ice_bag": (2, 2),
    "check_bottle": (1, 1), "thermometer": (1, 1), "sheet": (4, 5), "card": (4, 6), "notebook": (1, 1),
    "scale": (1, 1), "meter": (0, 0),
}  # fmt: skip
KIT = Kit(name="A", numbers=(1, 19), seals=("5101", "5121"))
CREW = (Person(name="R1", roles=("responder",), gloves="L"), Person(name="R2", roles=("responder",), gloves="xl"))


def told(body: Body, by: str = "R1", at_us: int = 1) -> Draft:
    return Draft(chain="unit", body=body, author=by, channel="sms", said_us=at_us, received_us=at_us)


def counted(by: str = "R1", at_us: int = 1, fresh: bool = False, **counts: int) -> Draft:
    items = tuple(ItemTold(item=item, count=count) for item, count in counts.items())
    return told(KitInspected(kit="A", fresh=fresh, told=items), by, at_us)


def full(table: ParTable, jars: int = 16) -> Stock:
    """A kit in which everything was counted and nothing is short."""
    items = [ItemTold(item=item.id, count=item.par(jars)) for item in table.item if item.id != "gloves"]
    gloves = ItemTold(item="gloves", count=2, sizes=("L", "XL"))
    body = KitInspected(kit="A", fresh=True, told=(*items, gloves))
    return fold_stock(Stock(kit="A", jars=jars), told(body))


def test_the_par_list_holds_these_figures_for_16_and_for_24_jars() -> None:
    assert {item.id: (item.par(16), item.par(24)) for item in par_table().item} == PAR


def test_every_figure_says_that_it_is_common_practice_without_a_source() -> None:
    assert {item.source for item in par_table().item} == {"common practice, no source"}


def test_everything_has_its_own_place_in_the_buying_order_and_its_own_words() -> None:
    table = par_table()
    assert len({item.buy for item in table.item}) == len(table.item)
    assert len(table.by_word) == sum(len(item.words) for item in table.item)


@pytest.mark.parametrize("jars", [1, 16, 17, 24, 30, 200])
def test_a_kit_that_holds_its_par_is_ready_for_its_jars_and_short_of_nothing(jars: int) -> None:
    ready = readiness(par_table(), KIT, full(par_table(), jars), CREW)
    assert (ready.jars, ready.limits, ready.short, ready.uncounted) == (jars, (), (), ())


@pytest.mark.parametrize(
    ("item", "count", "jars"),
    [("jar", 14, 14), ("tube", 6, 12), ("seal", 20, 15), ("label", 3, 3), ("half", 9, 9), ("marker", 0, 0), ("leak_tape", 0, 0)],
)
def test_what_is_short_limits_the_jars_and_is_named(item: str, count: int, jars: int) -> None:
    ready = readiness(par_table(), KIT, fold_stock(full(par_table()), counted(**{item: count})), CREW)
    assert (ready.jars, [one.id for one in ready.limits]) == (jars, [item])


def test_shortfalls_come_in_buying_order() -> None:
    stock = fold_stock(full(par_table()), counted(net=1, scale=0, jar=3, tube=1))
    short = readiness(par_table(), KIT, stock, CREW).short
    assert [(one.item.id, one.short) for one in short] == [("jar", 13), ("tube", 7), ("net", 4), ("scale", 1)]


def test_what_nobody_counted_in_this_inspection_is_not_taken_as_there() -> None:
    stock = fold_stock(full(par_table()), counted(at_us=2, fresh=True, jar=16))
    ready = readiness(par_table(), KIT, stock, CREW)
    assert ready.jars is None
    assert "tube" in {item.id for item in ready.uncounted}
    assert ready.short == ()


def test_a_size_that_the_crew_wears_and_no_box_has_is_short_for_those_who_wear_it() -> None:
    gloves = KitInspected(kit="A", told=(ItemTold(item="gloves", count=1, sizes=("L",), latex=("XL",)),))
    ready = readiness(par_table(), KIT, fold_stock(full(par_table()), told(gloves)), CREW)
    assert ready.without == {"XL": ("R2",)}
    assert [(one.item.id, one.sizes) for one in ready.short] == [("gloves", ("XL",))]


def test_of_two_peoples_counts_the_lower_holds_and_the_item_is_disputed() -> None:
    stock = fold_stock(full(par_table()), counted(by="R2", jar=12))
    assert (stock.count("jar"), stock.disputed("jar")) == (12, True)
    agreed = fold_stock(stock, counted(jar=12))
    assert (agreed.count("jar"), agreed.disputed("jar")) == (12, False)


def test_what_was_used_and_put_back_counts_until_the_item_is_counted_again() -> None:
    stock = fold_stock(full(par_table()), told(KitUsed(kit="A", counts={"jar": 7, "net": 9}), at_us=5))
    assert (stock.count("jar"), stock.count("net")) == (9, 0)
    stock = fold_stock(stock, told(KitRestocked(kit="A", counts={"jar": 5})))
    assert stock.count("jar") == 14
    assert fold_stock(stock, counted(jar=15)).count("jar") == 15


def test_a_kit_is_due_by_cadence_and_after_each_use() -> None:
    stock, limits = full(par_table()), Limits()
    due = due_again(stock, limits)
    assert (due.look_us, due.count_us) == (1 + 31 * DAY_US, 1 + 92 * DAY_US)
    assert due_again(fold_stock(stock, told(KitUsed(kit="A", counts={"jar": 1}), at_us=9)), limits).after_use
    assert due_again(Stock(kit="A"), limits).look_us is None


def test_the_units_own_additions_join_the_list_and_change_its_figures() -> None:
    more = (Addition(item="meter", least=1), Addition(item="torch", least=2, vital=True), Addition(item="net", least=9))
    table = par_table().with_more(more)
    assert (table.by_id["meter"].par(16), table.by_id["torch"].par(16), table.by_id["net"].par(16)) == (1, 2, 9)
    assert table.by_word[("torch",)].vital
    assert par_table().by_id["net"].par(16) == 5


def test_seals_between_the_first_and_the_last_that_nobody_named_are_gaps() -> None:
    assert seal_gaps([("5101", "5110"), ("5113", "5121")]) == ("5111", "5112")
    assert seal_gaps([("E098", "E099"), ("E101", "E101")]) == ("E100",)
    assert seal_gaps([("5101", "5121")]) == ()


def test_a_misspelt_item_is_answered_with_the_nearest_names() -> None:
    assert par_table().near("tubez") == ["tubes"]
    assert par_table().near("glovs") == ["gloves"]
    assert par_table().near("quux") == []
