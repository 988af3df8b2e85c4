"""What a hostile reader would try: no word may land where its author did not put it."""

from __future__ import annotations

import pytest

from tests.talk import Talk

LINE = "03 spill sheen 0805 47.2830N 19.9510W pad seal 5103"


async def test_a_line_without_its_number_never_changes_the_jar_before_it(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "ok")
    answer = await talk.says("R1", "spill thick 0812 47.2852N 19.9478W seal 5104")
    assert "Which jar?" in answer
    jar = await talk.jar("03")
    assert (jar["seals"][0]["number"], jar["corrections"]) == ("5103", [])


async def test_a_position_shared_after_ok_replaces_nothing(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "ok")
    await talk.says("R1", "", position=(47.29, -19.96))
    assert (await talk.jar("03"))["position"]["raw"] == "47.2830N 19.9510W"


@pytest.mark.parametrize("words", ["jar is on ice", "water in the jar", "pole is wet", "it is a sheen"])
async def test_ordinary_sentences_are_notes(talk: Talk, words: str) -> None:
    await talk.says("R1", LINE)
    before = await talk.jar("03")
    await talk.says("R1", words)
    assert await talk.jar("03") == before


@pytest.mark.parametrize("words", ["5 kg ice", "2 bags ice", "10 min till ice"])
async def test_a_measure_is_no_jar(talk: Talk, words: str) -> None:
    assert (await talk.says("R1", words)).startswith("Kept as a note")
    assert await talk.show("samples") == []


async def test_free_words_that_begin_with_a_figure_answer_the_open_question(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1", "shut 0805 pad", "skip"):
        await talk.says("R1", text)
    await talk.says("R1", "2 cables off the pier, ring of boom")
    assert [jar["number"] for jar in await talk.show("samples")] == ["03"]
    assert (await talk.jar("03"))["place"] == "2 cables off the pier, ring of boom"


async def test_ok_confirms_only_what_was_read_back(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1"):
        await talk.says("R1", text)
    assert "Not read back yet" in await talk.says("R1", "ok")
    assert (await talk.jar("03"))["confirmed"] is False


async def test_ok_to_the_safety_question_confirms_no_jar(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "jar")
    assert "in charge of safety" in await talk.says("R1", "ok")
    assert (await talk.jar("03"))["confirmed"] is False


async def test_an_ok_sent_before_the_read_back_gets_the_read_back(talk: Talk) -> None:
    await talk.says("R1", LINE, at="2026-10-12T08:30:00Z", sent_at="2026-10-12T08:30:00Z")
    answer = await talk.says("R1", "ok", at="2026-10-12T08:40:00Z", sent_at="2026-10-12T08:10:00Z")
    assert answer.startswith("03 saved, not confirmed")
    assert (await talk.jar("03"))["confirmed"] is False


async def test_only_its_author_strikes_a_jar(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R2", "03 struck: looks bad")
    jar = await talk.jar("03")
    assert (jar["status"], jar["accounts"][0]["by"]) == ("sealed", "R2")


async def test_the_first_reason_for_striking_stays(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "03 struck: jar broke")
    await talk.says("R1", "03 struck: another word")
    assert (await talk.jar("03"))["struck"] == "jar broke"


@pytest.mark.parametrize("words", ["cooler M 5 kg ice at 0700 outside 24C shade", "cooler M 9 jars inside"])
async def test_what_is_counted_is_no_temperature(talk: Talk, words: str) -> None:
    await talk.says("R1", words)
    assert (await talk.show("cooler"))[0]["readings"] == []


async def test_a_cooler_is_one_however_its_name_is_typed(talk: Talk) -> None:
    await talk.says("R1", "cooler m 4.4C")
    assert [(one["name"], len(one["readings"])) for one in await talk.show("cooler")] == [("M", 1)]


async def test_no_and_later_are_no_coolers(talk: Talk) -> None:
    for text in (
        "jar",
        "mate, cleared",
        "yes",
        "03",
        "1",
        "1",
        "shut 0805 pad",
        "skip",
        "quay",
        "5103",
        "skip",
    ):
        await talk.says("R1", text)
    await talk.says("R1", "later")
    jar = await talk.jar("03")
    assert (jar["cooler"], jar["status"]) == (None, "sealed")


@pytest.mark.parametrize(("words", "field"), [("no photo", "photos"), ("no sheen", "matrix")])
async def test_what_is_denied_is_not_recorded_as_told(talk: Talk, words: str, field: str) -> None:
    await talk.says("R1", f"03 spill 0805 pad seal 5103 {words}")
    assert not (await talk.jar("03"))[field]


async def test_a_word_that_is_a_choice_answers_before_it_is_a_command(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "03", "1", "2", "shut 0805"):
        await talk.says("R1", text)
    await talk.says("R1", "jar")
    assert (await talk.jar("03"))["method"] == "jar"


async def test_a_skipped_position_told_after_all_is_a_position(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1", "shut 0805 pad", "skip"):
        await talk.says("R1", text)
    await talk.says("R1", "47.2830N 19.9510W")
    jar = await talk.jar("03")
    assert (jar["position"]["lat"], jar["place"]) == (47.283, None)


async def test_a_number_corrected_to_one_that_stands_puts_both_in_doubt(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "04 spill thick 0806 jar seal 5104")
    await talk.says("R1", "04 number is 03 not 04, lid misread")
    assert all("number_query" in jar["flags"] for jar in await talk.show("samples"))


async def test_an_evidence_number_goes_to_no_case_by_chance(drill: Talk) -> None:
    await drill.says("R2", "CH-014 03 spill sheen 0805 seal 5103")
    await drill.says("R1", "CH-900 03 spill sheen 0805 seal 5113")
    await drill.says("R2", "CH-014 need number 03")
    await drill.says("R1", "CH-900 need number 03")
    assert "Name the case" in await drill.says("C1", "03 E-900")
    assert [jar["evidence_number"] for jar in await drill.show("samples")] == [None, None]
    await drill.says("C1", "CH-900 03 E-900")
    assert {jar["case"]: jar["evidence_number"] for jar in await drill.show("samples")} == {
        "CH-014": None,
        "CH-900": "E-900",
    }


async def test_an_exercise_lends_nothing_to_a_real_jar(drill: Talk) -> None:
    await drill.says("R1", "CH-900 03 spill sheen 0805 47.2830N 19.9510W pad seal 5113")
    answer = await drill.says("R1", "CH-014 04 spill sheen 0806 seal 5104 place same as last")
    assert "No earlier place" in answer
    assert (await drill.jar("04"))["position"] is None


async def test_a_named_case_answers_no_question_of_another(drill: Talk) -> None:
    await drill.says("R1", "CH-900 03 spill sheen 0805 seal 5113")
    await drill.says("R1", "CH-014 gloves yes")
    assert (await drill.jar("03"))["gloves_changed"] is None


async def test_skip_and_wrong_in_an_exercise_say_so_first(drill: Talk) -> None:
    for text in ("CH-900", "jar", "mate, cleared", "yes", "03", "1", "1", "shut 0805 pad"):
        await drill.says("R1", text)
    for text in ("?", "skip", "wrong", "status", "stop"):
        assert (await drill.says("R1", text)).startswith("EXERCISE "), text


@pytest.mark.parametrize("words", ["CH-014 SOS", "help SOS man overboard", "03 SOS"])
async def test_a_call_for_help_is_heard_wherever_it_stands(talk: Talk, words: str) -> None:
    assert "not a rescue service" in await talk.says("R1", words)


async def test_a_strangers_call_for_help_is_answered_every_time(talk: Talk) -> None:
    await talk.says("sms:+447700900099", "hello")
    sent = await talk.hears("sms:+447700900099", "SOS fire on deck")
    assert any("not a rescue service" in one.text for one in sent if one.person is None or one.person == "")
    assert [one.person for one in sent if one.alert is not None] == ["S1"]


@pytest.mark.parametrize("words", ["nobody has cleared us", "we are not cleared", "mate won't say"])
async def test_any_no_to_the_safety_question_ends_the_walk(talk: Talk, words: str) -> None:
    await talk.says("R1", "jar")
    assert "not cleared" in await talk.says("R1", words)


async def test_a_gas_figure_in_an_answer_is_noted_and_the_answer_kept(talk: Talk) -> None:
    await talk.says("R1", "jar")
    answer = await talk.says("R1", "chief mate, cleared, LEL 2 percent")
    assert "does not judge gas readings" in answer
    assert "Phone and camera allowed" in answer


async def test_an_option_typed_as_it_is_printed_is_that_option(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "04", "1 spill"):
        await talk.says("R1", text)
    assert [(jar["number"], jar["kind"]) for jar in await talk.show("samples")] == [("04", "spill")]


async def test_two_lines_before_the_case_is_named_are_both_taken_up(drill: Talk) -> None:
    await drill.says("R1", "04 spill thick 0805 seal 5104")
    await drill.says("R1", "05 spill sheen 0806 seal 5105")
    await drill.says("R1", "CH-014")
    assert [jar["number"] for jar in await drill.show("samples")] == ["04", "05"]


async def test_another_seal_alone_is_a_correction_and_no_second_jar(talk: Talk) -> None:
    await talk.says("R1", LINE)
    assert "Why?" in await talk.says("R1", "03 seal 5105")
    assert len(await talk.show("samples")) == 1


async def test_words_without_a_number_are_asked_about_when_two_jars_may_be_meant(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "05"):
        await talk.says("R1", text)
    await talk.says("R1", "06 spill sheen 0805")
    assert "Which jar?" in await talk.says("R1", "seal 5107")
    assert [jar["seals"] for jar in await talk.show("samples")] == [[], []]


async def test_the_second_doubt_of_a_line_is_named_too(talk: Talk) -> None:
    answer = await talk.says("R1", "15 spill sheen 2530 pad cooler M 40")
    assert "2530" in answer
    assert "M 40" in answer


async def test_a_tube_takes_no_seal(talk: Talk) -> None:
    await talk.says("R1", "14 source tank 2P 0805 dip tube seal 5108 cooler M 4C")
    assert (await talk.jar("14"))["seals"][0]["number"] == "5108"
