"""Words of other languages are understood from everybody, name one thing each, and stand as typed."""

from __future__ import annotations

import re
import shutil
import tomllib
from dataclasses import replace
from itertools import chain
from pathlib import Path

import pytest
import smsutil
from babel.messages.pofile import read_po

from bot.dialogue.commands import COMMANDS
from bot.dialogue.keywords import COMMANDS_OF_ALL, NO, YES
from bot.dialogue.readers.words import YesNo, read_yes_no
from bot.dialogue.readings import Source, read_field
from bot.dialogue.turn import Trade
from bot.dialogue.wording import Words
from bot.model.entries import Draft, PersonSet
from bot.model.errors import AskedWrongly
from bot.model.message import Incoming
from bot.model.people import Unit
from bot.rules.fields import parse_sample_table, plain
from bot.rules.gsm import is_gsm
from bot.rules.safety import is_sos, speaks_of_entry
from bot.rules.sms_words import for_sms
from bot.rules.worded import OFFERED, Worded
from bot.setup import read_setup
from bot.trades import catalogue, table_text, tables
from tests.talk import DRILL, SETUP, Talk, talk_to

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


@pytest.mark.parametrize(
    "words", [("muestra", "oui", "sí"), ("prøve", "ja", "ja"), ("amostra", "sim", "sim")]
)
async def test_a_jar_is_led_by_the_hand_from_words_of_any_language(
    talk: Talk, words: tuple[str, ...]
) -> None:
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
    words = chain(
        COMMANDS_OF_ALL, YES, NO, *(w for parts in TOLD.values() for p in parts.values() for w in p.values())
    )
    assert [word for word in words if is_sos(word)] == []
    assert {read_yes_no(word) for word in YES} == {YesNo.YES}
    assert {read_yes_no(word) for word in NO} == {YesNo.NO}


def test_accents_are_left_out_by_one_rule() -> None:
    assert [plain(word) for word in ("épaisse", "kjøleboks", "água", "emulsão", "blåskimmer")] == [
        "epaisse", "kjoleboks", "agua", "emulsao", "blaskimmer",
    ]  # fmt: skip


# --- a person's own language ------------------------------------------------------------------

ENGLISH = catalogue("en")


class Marked(Words):
    """A catalogue that is whole: each English sentence behind a mark of its language."""

    def __init__(self, language: str) -> None:
        super().__init__({}, language)

    def say(self, key: str, **values: object) -> str:
        return Worded.of(f"[{self.language}] {ENGLISH.say(key, **values)}", key, values, self.language)

    def has(self, key: str) -> bool:
        return ENGLISH.has(key)


async def speaking(talk: Talk, name: str, language: str) -> None:
    """This person's prompts are in that language from now on, whole catalogue or not."""
    trades, house = talk.house.trades, talk.house
    known = trades.of
    async with house.store.work() as work:
        person = work.snapshot.unit.people[name]
        commitments = await work.commitments(person.addresses)
        body = PersonSet(
            name=name, roles=person.roles, addresses=tuple(commitments.values()), language=language
        )
        now_us = talk.clock.now_us()
        draft = Draft(chain="unit", body=body, author="", channel="setup", said_us=now_us, received_us=now_us)
        await work.change_unit([draft])

    def of(unit: Unit) -> Trade:
        return replace(known(unit), languages={"en": ENGLISH, language: Marked(language)}, _spoken={})

    house.desk._trade_of = of


async def test_each_person_is_answered_in_their_own_language_and_told_in_it_of_others(talk: Talk) -> None:
    await speaking(talk, "S1", "nb")
    heard = await talk.hears("R1", "going down the pump room for it")
    texts = {one.person: one.text for one in heard}
    assert texts["R1"].startswith("STOP.")
    assert texts["S1"].startswith("[nb] ")
    assert "[nb]" not in texts["S1"].removeprefix("[nb] ")
    assert (await talk.says("S1", "status")).startswith("[nb] ")
    assert "[nb]" not in await talk.says("R1", "status")


async def test_one_text_after_a_dead_zone_is_in_its_readers_language(talk: Talk) -> None:
    await speaking(talk, "R2", "es")
    late = {"at": "2026-10-12T12:00:00Z", "sent_at": "2026-10-12T08:05:00Z"}
    assert (await talk.says("R2", "05 spill sheen 0855 seal 5105", **late)).startswith("[es] Came late")


def test_a_text_that_was_put_together_is_told_as_it_stands_rather_than_not_at_all_or_half_in_another() -> (
    None
):
    said = ENGLISH.say("stranger")
    assert Marked("nb").said_again(said, "en") == f"[nb] {said}"
    assert Marked("nb").said_again(f"{said} and more", "en") == f"{said} and more"
    with pytest.raises(KeyError):
        Words({}, "nb").said_again(said, "en")


def test_what_was_said_inside_a_sentence_is_said_again_too() -> None:
    inner = ENGLISH.say("a_stranger")
    outer = ENGLISH.say("safety.sos.others", person=inner, words="SOS")
    assert Marked("fr").said_again(outer, "en").count("[fr]") == 2


def in_their_languages(**spoken: str) -> str:
    """The setup with these people's languages, an exercise open as well."""
    setup = SETUP + DRILL
    for name, language in spoken.items():
        setup = setup.replace(f'name = "{name}"\n', f'name = "{name}"\nlanguage = "{language}"\n')
    return setup


async def test_an_alert_is_told_and_told_again_in_its_readers_language(
    migrated_file: Path, tmp_path: Path
) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    setup = in_their_languages(R1="fr", S1="nb")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, setup) as line:
        await line.says("R1", "CH-900 refused Marbel: non")
        heard = [one.text for one in line.sent if one.person == "S1"]
        assert heard == ['ØVELSE R1 ble nektet en prøve av Marbel: "non". Ring dem.']
        again = [one.text for one in await line.waits("2026-10-12T09:00:00Z") if one.person == "S1"]
        assert again[0] == 'ØVELSE Igjen: R1 ble nektet en prøve av Marbel: "non". Ring dem.'
        await line.says("R1", "CH-900 07 spill sheen 0955 cooler M 4.4C")
        await line.hears("R1", "cooler M 9.1C")
        warm = [one.text for one in line.sent if one.person == "S1"]
        assert warm[0].startswith("ØVELSE Kjøleboks M 9.1 C kl. 10:0")
        alerts = await line.show("alerts")
        assert [one["text"] for one in alerts if one["kind"] == "refusal"] == [
            'R1 was refused a sample of Marbel: "non". Call them.'
        ]
        assert await line.rebuilds_the_same()


async def test_a_digest_and_a_forecast_are_in_the_language_of_who_reads_them(
    migrated_file: Path, tmp_path: Path
) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, in_their_languages(S1="fr")) as line:
        assert "Rien ne vous demande." in await line.says("S1", "digest")
        await line.says("R1", "CH-014 07 spill sheen 0955 cooler M 4.4C")
        assert (await line.says("S1", "how long M")).startswith("On en sait trop peu de M.")


async def test_a_hand_over_is_told_to_each_side_in_its_own_language(
    migrated_file: Path, tmp_path: Path
) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    setup = in_their_languages(R1="es", C1="pt")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, setup) as line:
        saved = await line.says("R1", "CH-014 01 derrame irisacion almohadilla 0805 sello 5101")
        assert saved.startswith("CH-014 01 guardado, sin confirmar: derrame, irisación, almohadilla, 08:05")
        offered = {one.person: one.text for one in await line.hears("R1", "offer CH-014 01 to C1")}
        assert offered["C1"].startswith("R1 oferece-lhe CH-014 01. Leia cada selo no frasco")
        taken = {one.person: one.text for one in await line.hears("C1", "CH-014 01 5101 whole")}
        assert taken["C1"].startswith("CH-014 01 recebido")
        assert taken["R1"].startswith("C1 leyó y tomó CH-014 01")


@pytest.mark.parametrize("skip", ["saltar", "passer", "pular", "hopp", "SKIP"])
async def test_skip_in_any_language_leaves_out_what_the_plan_asks(talk: Talk, skip: str) -> None:
    await talk.says("R1", "plan suspects Tolva")
    await talk.says("R1", "plan")
    for _ in range(8):
        await talk.says("R1", skip)
    assert "Tolva" in await talk.says("R1", "plan")
    assert skip.lower() not in (await talk.says("R1", "plan")).lower()


@pytest.mark.parametrize("language", OFFERED)
async def test_a_choice_is_answered_by_its_words_as_they_are_shown(talk: Talk, language: str) -> None:
    async with talk.house.store.work() as work:
        trade = talk.house.trades.of(work.snapshot.unit).spoken(language)
    heard = Incoming(channel="sms", account="+447700900001", message_id="m", received_us=1, text="")
    for field in (*trade.table.field, *trade.case_table.field):
        for id_ in field.asked:
            shown = trade.words.say(f"choice.{field.id}.{id_}")
            for typed in (shown, plain(shown)):
                read = read_field(field, typed, Source(trade, heard))
                assert isinstance(read, tuple), (field.id, typed)
                assert (read[0].value, read[0].raw) == (id_, typed)


@pytest.mark.parametrize(
    ("line", "kind", "matrix", "gloves"),
    [
        ("07 eau propre 0855 gants changés", "background", "water", "yes"),
        ("07 rent vann 0855 hansker ikke byttet", "background", "water", "no"),
        ("07 agua limpia 0855 guantes no cambiados", "background", "water", "no"),
        ("07 água limpa 0855 luvas trocadas", "background", "water", "yes"),
    ],
)
async def test_clean_water_and_gloves_are_read_in_each_language(
    talk: Talk, line: str, kind: str, matrix: str, gloves: str
) -> None:
    await talk.hears("R1", line)
    jar = await talk.jar("07")
    assert (jar["kind"], jar["matrix"]) == (kind, matrix)
    told = [entry for entry in await talk.show("entries", "CH-014") if entry["kind"] == "SampleTold"]
    assert {fact["field"]: fact["value"] for fact in told[0]["body"]["facts"]}["gloves"] == gloves


@pytest.mark.parametrize("language", OFFERED)
def test_a_language_that_is_offered_lacks_no_wording_and_no_value(language: str) -> None:
    whole, offered = every_wording("en"), every_wording(language)
    assert offered.keys() == whole.keys()
    for key, text in whole.items():
        assert set(re.findall(r"{(\w+)", offered[key])) == set(re.findall(r"{(\w+)", text)), key


def every_wording(language: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for part in sorted(Path("bot/dialogue/catalogues", language).glob("*.po")):
        with part.open("rb") as file:
            found |= {str(one.id): str(one.string) for one in read_po(file) if one.id}
    return found


def test_setup_takes_no_language_that_is_not_whole_yet() -> None:
    with pytest.raises(AskedWrongly, match="xx is not spoken yet; offered: en"):
        read_setup('[unit]\nname = "U"\n[[people]]\nname = "R1"\nlanguage = "xx"\n')
    assert (
        read_setup('[unit]\nname = "U"\n[[people]]\nname = "R1"\nlanguage = "en"\n').people[0].language
        == "en"
    )


BEGUN = sorted(part for part in Path("bot/dialogue/catalogues").glob("*/*.po") if part.parent.name != "en")
QUESTION = re.compile(r"sample\.\w+\.ask|walk\.\w+\.ask|case\.\w+\.ask|advice\.\w+|read\..+|walk\.number\..+")


@pytest.mark.parametrize("part", BEGUN, ids=lambda part: f"{part.parent.name}-{part.stem}")
def test_what_is_translated_so_far_says_the_same_values_and_asks_in_one_sms(part: Path) -> None:
    whole = every_wording("en")
    with part.open("rb") as file:
        told = {str(one.id): str(one.string) for one in read_po(file) if one.id}
    assert told
    exercise = for_sms(told.get("exercise", "EXERCISE"))
    long = {"number": "14", "case": "CH-014", "offers": "A 03.", "raw": "47.2830", "value": "46"}
    for key, text in told.items():
        names = re.findall(r"{(\w+)", text)
        assert set(names) == set(re.findall(r"{(\w+)", whole[key])), key
        filled = for_sms(text).format_map({**dict.fromkeys(names, "x"), **long})
        assert is_gsm(filled), key
        if QUESTION.fullmatch(key):
            # 3GPP TS 23.038: 160 septets a text; smsutil counts them by itself.
            assert len(smsutil.split(f"{exercise} {filled}").parts) == 1, key


@pytest.mark.parametrize("part", BEGUN, ids=lambda part: f"{part.parent.name}-{part.stem}")
def test_no_language_tells_anyone_to_go_in(part: Path) -> None:
    with part.open("rb") as file:
        told = {str(one.id): str(one.string) for one in read_po(file) if one.id}
    for key in ("safety.stop", "safety.stop.alone"):
        if key in told:
            assert re.match(r"(ALTO|STOPP|STOP|HALTE|PARE)\.", told[key]), key
    assert [key for key, text in told.items() if speaks_of_entry(text)] == []
