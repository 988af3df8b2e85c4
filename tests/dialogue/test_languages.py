"""Words of other languages are understood from everybody, name one thing each, and stand as typed."""

from __future__ import annotations

import tomllib
from itertools import chain

import pytest

from bot.dialogue.commands import COMMANDS
from bot.dialogue.keywords import COMMANDS_OF_ALL, NO, YES
from bot.dialogue.readers.words import YesNo, read_yes_no
from bot.rules.fields import parse_sample_table, plain
from bot.rules.safety import is_sos
from bot.wiring import table_text, tables
from tests.talk import Talk

SPOKEN = {"es", "fr", "pt", "nb"}  # ISO 639-1: Spanish, French, Portuguese, Norwegian
TOLD = tomllib.loads(table_text("languages.toml"))


@pytest.mark.parametrize(
    ("line", "kind", "matrix"),
    [
        ("03 derrame irisación 0855 sello 5103", "spill", "sheen"),
        ("03 derrame irisacion 0855 precinto 5103 guantes", "spill", "sheen"),
        ("03 déversement pellicule 0855 scellé 5103", "spill", "sheen"),
        ("03 deversement epais 0855 scelle 5103", "spill", "thick"),
        ("03 derramamento iridescencia 0855 lacre 5103", "spill", "sheen"),
        ("03 utslipp tykk 0855 segl 5103", "spill", "thick"),
        ("03 oljesol oljefilm 0855 forsegling 5103", "spill", "sheen"),
    ],
)
async def test_a_whole_jar_is_read_in_each_language(talk: Talk, line: str, kind: str, matrix: str) -> None:
    await talk.hears("R1", line)
    jar = await talk.jar("03")
    assert (jar["kind"], jar["matrix"], jar["seals"][0]["number"]) == (kind, matrix, "5103")


async def test_what_was_said_stands_as_it_was_typed(talk: Talk) -> None:
    await talk.hears("R1", "03 derrame irisación 0855")
    told = [entry for entry in await talk.show("entries", "CH-014") if entry["kind"] == "SampleTold"]
    assert {fact["field"]: fact["raw"] for fact in told[0]["body"]["facts"]} == {
        "kind": "derrame", "matrix": "irisación", "time": "0855",
    }  # fmt: skip


@pytest.mark.parametrize("words", [("muestra", "oui", "sí"), ("prøve", "ja", "ja"), ("amostra", "sim", "sim")])
async def test_a_jar_is_led_by_the_hand_from_words_of_any_language(talk: Talk, words: tuple[str, ...]) -> None:
    assert "charge of safety" in await talk.says("R1", words[0])
    await talk.says("R1", "mate, cleared")
    assert "lid" in await talk.says("R1", words[1])


def test_every_language_has_words_for_what_every_jar_needs() -> None:
    assert set(TOLD) == SPOKEN
    for language, parts in TOLD.items():
        assert {"spill", "source", "background"} <= parts["kind"].keys(), language
        assert {"sheen", "thick", "lumps"} <= parts["matrix"].keys(), language
        assert {"seal", "cooler", "gloves", "witness"} <= parts["field"].keys(), language


def test_no_word_names_two_things() -> None:
    table, _ = tables()
    named: dict[str, set[str]] = {}
    for field in table.field:
        for word in field.words:
            named.setdefault(word, set()).add(field.id)
        for option in field.choices:
            for phrase in option.words:
                named.setdefault(phrase, set()).add(f"{field.id}.{option.id}")
    english = parse_sample_table(table_text("sample.toml"))
    known = set(chain.from_iterable(field.words for field in english.field))
    twice = {word: ids for word, ids in named.items() if len(ids) > 1}
    assert {word for word in twice if word not in known} == set()


def test_a_command_of_another_language_is_one_and_hides_no_command_of_ours() -> None:
    assert set(COMMANDS_OF_ALL.values()) <= set(COMMANDS)
    assert not set(COMMANDS_OF_ALL) & set(COMMANDS)


def test_no_word_is_a_call_for_help_or_the_other_answer() -> None:
    words = chain(COMMANDS_OF_ALL, YES, NO, *(w for parts in TOLD.values() for p in parts.values() for w in p.values()))
    assert [word for word in words if is_sos(word)] == []
    assert {read_yes_no(word) for word in YES} == {YesNo.YES}
    assert {read_yes_no(word) for word in NO} == {YesNo.NO}


def test_accents_are_left_out_by_one_rule() -> None:
    assert [plain(word) for word in ("épaisse", "kjøleboks", "água", "emulsão", "blåskimmer")] == [
        "epaisse", "kjoleboks", "agua", "emulsao", "blaskimmer",
    ]  # fmt: skip
