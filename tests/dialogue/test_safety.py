"""Danger is heard before all else, by the words of going in and not by the nouns."""

from __future__ import annotations

import pytest

from bot.rules.harm import speaks_of_harm
from bot.rules.safety import gives_gas_figure, is_sos, speaks_of_entry
from tests.talk import Talk


@pytest.mark.parametrize(
    "words",
    [
        "going down the pump room for it",
        "I'm inside the tank",
        "we are in the void",
        "mate is going into tank 2P",
        "climbing down into hold 3",
        "will enter the bilge",
        "leaning over the hatch",
        "R2 is in the pump room",
        "entering confined space now",
        "went inside tank 4 for the sample",
        "entro en el tanque",
        "je descends dans la cale",
        "GOING INTO THE TANK",
        "06 source tank 2P, going in the tank for it",
        "going below to the engine room",
        "I will lean over the sounding pipe",
        "in the tank now",
        "R2 down the hold",
        "samples from tank 2P, climbing down the ladder",
        "opened the tank lid, going in",
    ],
)
def test_going_in_is_heard(words: str) -> None:
    assert speaks_of_entry(words)


@pytest.mark.parametrize(
    "words",
    [
        "08 struck",
        "08 struck: jar broke",
        "cargo hold aft",
        "cold hold",
        "06 source tank 2P 1051 seal E107",
        "sheen near the pump room outlet",
        "bilge",
        "tank 3 port side, drawn by crew",
        "ice holds",
        "going down to the quay",
        "put it in the cooler",
        "hold on",
        "void",
        "source bilge 1002 drawn by chief",
        "cooler M opened 3",
        "the tank is on the left",
        "07 source tank 3 1100 drawn by chief down the sounding pipe",
        "06 source tank 2P 1051, level going down",
        "lowered the jar into the tank",
        "oil ran into the bilge",
        "jar from tank 3 1002, going down to the quay",
    ],
)
def test_the_nouns_alone_are_not_going_in(words: str) -> None:
    assert not speaks_of_entry(words)


@pytest.mark.parametrize(
    "words", ["SOS", "sos man in water", "S.O.S.", "mayday", "Man overboard!", "man over board"]
)
def test_a_call_for_help_is_heard(words: str) -> None:
    assert is_sos(words)


@pytest.mark.parametrize("words", ["sosial", "so sorry", "03 sos", "sheen so small", "ships"])
def test_other_words_are_no_call_for_help(words: str) -> None:
    assert not is_sos(words)


@pytest.mark.parametrize(
    "words", ["gas 4 percent", "LEL 12", "oxygen 20.9", "H2S 5 ppm", "LEL four percent", "oxygen is fine"]
)
def test_a_gas_figure_is_heard(words: str) -> None:
    assert gives_gas_figure(words)


@pytest.mark.parametrize("words", ["gas", "gasket 3", "03 spill sheen 1002", "o2", "source gas oil 1002"])
def test_other_figures_are_no_gas_figure(words: str) -> None:
    assert not gives_gas_figure(words)


async def test_the_stop_text_goes_out_every_time_and_the_supervisor_hears_once_in_half_an_hour(
    talk: Talk,
) -> None:
    first = await talk.hears("R1", "going down the pump room for it")
    assert [one.person for one in first] == ["R1", "S1"]
    assert first[0].text.startswith("STOP. Do not enter or lean in.")
    assert first[1].alert is not None
    assert (first[1].alert.kind, first[1].alert.level) == ("entry_stop", "critical")
    second = await talk.hears("R1", "climbing into the tank")
    assert [one.person for one in second] == ["R1"]
    third = await talk.hears("R1", "climbing into the tank", at="2026-10-12T08:35:00Z")
    assert [one.person for one in third] == ["R1", "S1"]


async def test_a_jar_told_with_words_of_going_in_is_kept_and_its_sender_stopped(talk: Talk) -> None:
    sent = await talk.hears("R1", "06 source tank 2P 0902 seal 5106, going into the tank again")
    assert any(one.text.startswith("STOP.") for one in sent)
    assert (await talk.jar("06"))["seals"][0]["number"] == "5106"


async def test_sos_reaches_everybody_at_once_and_says_that_this_is_no_rescue_service(talk: Talk) -> None:
    sent = await talk.hears("R1", "SOS")
    assert sorted(one.person or "" for one in sent) == ["C1", "R1", "R2", "S1"]
    own = next(one for one in sent if one.person == "R1")
    assert own.text == (
        "Everyone is being told now. Call your local emergency number or radio: this line is not a rescue service."
    )
    assert all(one.alert is not None and one.alert.kind == "sos" for one in sent if one.person != "R1")


async def test_a_gas_figure_is_noted_and_never_judged(talk: Talk) -> None:
    assert await talk.says("R1", "gas 4 percent") == "Noted. This line does not judge gas readings."
    assert [e["kind"] for e in await talk.show("entries", "CH-014")][-1] == "GasNoted"


async def test_skip_leaves_the_sample_out_at_any_question_before_the_jar(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1"):
        await talk.says("R1", text)
    assert "left out" in await talk.says("R1", "skip")


async def test_a_stranger_is_kept_attributed_to_nobody_and_answered_once_a_day(talk: Talk) -> None:
    first = await talk.says("sms:+447700900099", "03 spill sheen 0902 seal 5103")
    assert first == "This line is for enrolled crews. If you have a code, send it."
    assert await talk.says("sms:+447700900099", "CH-014?") == ""
    assert await talk.show("samples") == []
    assert [(m["state"], m["person"]) for m in await talk.show("messages")] == [("quarantined", None)] * 2


async def test_the_answer_to_the_stop_text_is_noted_and_taken_for_no_jar(talk: Talk) -> None:
    await talk.says("R1", "going down the pump room for it")
    assert await talk.says("R1", "fine, not going") == "Noted."
    assert (await talk.says("R1", "the tide turned", at="2026-10-12T09:00:00Z")).startswith("Kept as a note")


@pytest.mark.parametrize(
    "words",
    [
        "dizzy",
        "FEELING DIZZY",
        "i feel sick, headache",
        "R2 has collapsed",
        "mate fell in the water",
        "my eyes burn",
        "i am hurt",
        "im sick",
        "fire on deck",
        "need help",
        "help me",
        "emergency",
        "can't breathe",
        "03 spill sheen 1010 dizzy",
        "me siento mareado",
        "j'ai des vertiges",
        "estou tonto",
        "jeg er svimmel",
    ],
)
def test_words_of_harm_are_heard(words: str) -> None:
    assert speaks_of_harm(words)


@pytest.mark.parametrize(
    "words",
    [
        "03 spill faint sheen 1002",
        "sheen is faint",
        "08 struck: jar fell in the water",
        "boom collapsed",
        "need help with the seal",
        "nobody hurt",
        "no headache",
        "source emergency generator 1002",
        "fire pump running",
        "lid burned on",
        "lid is burned on",
        "ice is ill placed",
        "passed out of the harbour",
        "it will help the office",
    ],
)
def test_words_about_things_are_no_words_of_harm(words: str) -> None:
    assert not speaks_of_harm(words)


async def test_who_is_dizzy_is_told_where_help_is_and_the_supervisor_to_call(talk: Talk) -> None:
    sent = await talk.hears("R1", "feeling dizzy")
    assert [one.person for one in sent] == ["R1", "S1"]
    assert sent[0].text == (
        "Stop work. Tell the safety lead now. For help call your local emergency number or radio. "
        "SOS tells everyone on this line. Your supervisor is being told."
    )
    assert sent[1].text == 'R1 texted of somebody unwell or in danger: "feeling dizzy". Call them.'


async def test_dizzy_is_never_taken_for_being_cleared(talk: Talk) -> None:
    await talk.says("R1", "jar")
    assert (await talk.says("R1", "dizzy from the fumes")).startswith("Stop work.")
    assert [e for e in await talk.show("entries", "CH-014") if e["kind"] == "SafetyAnswered"] == []


async def test_a_jar_told_with_words_of_harm_is_kept_and_its_sender_helped(talk: Talk) -> None:
    sent = await talk.hears("R1", "03 spill sheen 0855 seal 5103 dizzy")
    assert sent[0].text.startswith("Stop work.")
    assert (await talk.jar("03"))["seals"][0]["number"] == "5103"


async def test_nothing_is_put_behind_the_way_to_help(untold: Talk) -> None:
    assert "may be disclosed" not in await untold.says("R1", "feeling dizzy")
    assert "may be disclosed" not in await untold.says("R1", "going into the tank")
    assert "may be disclosed" in await untold.says("R1", "status")
