"""The table of methods. Practice A (grab) for thick oil, tar balls and debris, practice B (strip) for thin films:
ASTM D4489-95(2024), by its scope. Ahead of the engine: "Guidelines for the collection of oil samples", appendix 5.
The ranking of devices is common practice, no source.
"""

from __future__ import annotations

import pytest

from bot.rules.method import Advice, Situation, parse_method_table
from bot.rules.par import parse_par_table
from bot.trades import catalogue, table_text, tables

TABLE = parse_method_table(table_text("method.toml"))
METHODS = {option.id for option in tables()[0].by_id["method"].choices}


@pytest.mark.parametrize(
    ("situation", "access", "amount", "devices"),
    [
        ("thick", "", "", ("jar", "ring", "twine")),
        ("thick", "beyond", "", ("ring", "twine")),
        ("thick", "gap", "", ("twine",)),
        ("sheen", "", "", ("jar", "pad", "net")),
        ("sheen", "", "little", ("pad", "net")),
        ("sheen", "", "plenty", ("jar",)),
        ("lumps", "", "", ("depressor", "jar")),
        ("pipe", "", "", ("pad", "tube")),
        ("source", "", "", ("tube", "jar")),
        ("swab", "gap", "little", ("pad", "depressor")),
    ],
)
def test_what_is_there_and_how_it_is_reached_decide_the_device(
    situation: str, access: str, amount: str, devices: tuple[str, ...]
) -> None:
    assert TABLE.pick(situation, access, amount).devices == devices


@pytest.mark.parametrize("row", TABLE.advice, ids=lambda row: f"{row.situation}-{row.access}-{row.amount}")
def test_a_net_is_always_the_last_and_every_device_is_a_method_that_jars_are_told_by(row: Advice) -> None:
    devices = row.devices
    assert "net" not in devices[:-1]
    assert set(devices) <= METHODS


def test_every_method_of_a_jar_is_advised_somewhere_and_what_it_uses_of_a_kit_is_known() -> None:
    advised = {device for row in TABLE.advice for device in row.devices}
    assert advised == METHODS
    used = parse_par_table(table_text("par.toml"))
    wrapped = {"ring", "net", "pad", "depressor"}
    assert {device for device in METHODS if device in used.use} == wrapped


@pytest.mark.parametrize("situation", TABLE.situation, ids=lambda situation: situation.id)
def test_every_situation_has_advice_for_every_reach_and_amount(situation: Situation) -> None:
    for access in ("", "beyond", "gap", "reach"):
        for amount in ("", "little", "plenty"):
            row = TABLE.pick(situation.id, access, amount)
            assert catalogue("en").has(f"advice.{row.id}")
            assert catalogue("en").has(f"advice.{row.id}.why")


def test_no_row_stands_behind_one_that_always_comes_first() -> None:
    for place, row in enumerate(TABLE.advice):
        assert TABLE.pick(row.situation, row.access, row.amount) is TABLE.advice[place]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("out of reach", {"access": "beyond"}),
        ("Sheen, too little", {"situation": "sheen", "amount": "little"}),
        ("tar over the rail", {"situation": "lumps", "access": "gap"}),
        ("thick oil and out of reach.", {"situation": "thick", "access": "beyond"}),
        ("shut 1002 pad", None),
        ("pipework", None),
        ("", None),
    ],
)
def test_only_words_that_wholly_speak_of_it_are_read(text: str, told: dict[str, str] | None) -> None:
    assert TABLE.read(text) == told
