"""Corrections in words: struck in place, by their author, with a reason in human words."""

from __future__ import annotations

from tests.talk import Talk

LINE = "03 spill sheen 0902 47.2830N 19.9510W pad seal 5103 gloves yes cooler M 4.4C photo"


async def test_a_correction_strikes_the_old_value_in_place(talk: Talk) -> None:
    await talk.says("R1", LINE)
    answer = await talk.says("R1", "03 seal is 5107 not 5103, misread")
    assert answer == (
        '03 seal 5107, was 5103: "misread". If the jar\'s label says 5103, strike it, initial it, and tell me.'
    )
    jar = await talk.jar("03")
    correction = jar["corrections"][0]
    assert jar["seals"][0]["number"] == "5107"
    assert (correction["old"], correction["new"], correction["by"], correction["why"], correction["sort"]) == (
        "5103", "5107", "R1", "misread", "correction",
    )  # fmt: skip


async def test_a_correction_without_a_reason_is_asked_for_one_and_a_dot_once_more(talk: Talk) -> None:
    await talk.says("R1", LINE)
    assert await talk.says("R1", "03 seal is 5107 not 5103") == (
        "03 seal 5107, was 5103. Why? In a few words."
    )
    assert "In words, please" in await talk.says("R1", ".")
    await talk.says("R1", ".")
    assert (await talk.jar("03"))["corrections"][0]["why"] == "none given"


async def test_a_reason_given_afterwards_is_kept_as_it_was_said(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "03 time is 0901 not 0902")
    await talk.says("R1", "my watch was fast")
    assert (await talk.jar("03"))["corrections"][0]["why"] == "my watch was fast"


async def test_a_correction_of_what_is_not_on_record_changes_nothing(talk: Talk) -> None:
    await talk.says("R1", LINE)
    assert "on record is 5103, not 5109" in await talk.says("R1", "03 seal is 5107 not 5109, misread")
    assert (await talk.jar("03"))["corrections"] == []


async def test_only_the_author_corrects_and_what_others_say_stands_beside(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("S1", "03 seal is 5107 not 5103, I saw the photo")
    jar = await talk.jar("03")
    assert jar["seals"][0]["number"] == "5103"
    assert (jar["accounts"][0]["by"], jar["accounts"][0]["told"]) == ("S1", {"seal": "5107"})


async def test_a_late_text_never_overwrites_a_later_correction(talk: Talk) -> None:
    await talk.says("R1", LINE, at="2026-10-12T08:10:00Z", sent_at="2026-10-12T08:10:00Z")
    await talk.says(
        "R1", "03 seal is 5107 not 5103, misread", at="2026-10-12T08:20:00Z", sent_at="2026-10-12T08:20:00Z"
    )
    answer = await talk.says(
        "R1", "03 seal is 5105 not 5103, smudged", at="2026-10-12T08:40:00Z", sent_at="2026-10-12T08:15:00Z"
    )
    jar = await talk.jar("03")
    assert jar["seals"][0]["number"] == "5107"
    assert jar["accounts"][0]["sort"] == "earlier_statement", answer
    assert jar["accounts"][0]["told"] == {"seal": "5105"}


async def test_a_corrected_place_is_checked_like_a_told_one(talk: Talk) -> None:
    await talk.says("R1", LINE)
    answer = await talk.says("R1", "03 position is 47.8830N 19.9510W not 47.2830N 19.9510W, wrong minutes")
    assert "54 km north of the area" in answer
    assert (await talk.jar("03"))["queries"][0]["open"] is True


async def test_a_jars_number_can_be_corrected(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "03 number is 05 not 03, smudged")
    assert [jar["number"] for jar in await talk.show("samples")] == ["05"]
    assert (await talk.jar("05"))["corrections"][0]["field"] == "number"


async def test_a_field_that_nobody_knows_gets_the_way_out(talk: Talk) -> None:
    await talk.says("R1", LINE)
    assert "No field is called flavour" in await talk.says("R1", "03 flavour is sweet, tasted")


async def test_after_every_correction_the_record_verifies_and_rebuilds(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "03 seal is 5107 not 5103, misread")
    await talk.says("R1", "03 kind is source not spill, chose wrong")
    await talk.says("R1", "ok")
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_a_correction_that_comes_before_its_jar_goes_with_it(talk: Talk) -> None:
    assert await talk.says("R1", "04 seal is 5105 not 5104, misread") == (
        "No jar 04 is on record yet. Your correction is kept and goes with it when it comes."
    )
    answer = await talk.says("R1", "04 spill thick 0855 seal 5104")
    assert answer.startswith('04 seal 5105, was 5104: "misread". If the jar\'s label says 5104, strike it')
    jar = await talk.jar("04")
    assert jar["seals"][0]["number"] == "5105"
    assert [(c["old"], c["new"], c["why"]) for c in jar["corrections"]] == [("5104", "5105", "misread")]
    assert await talk.rebuilds_the_same()


async def test_it_goes_with_a_jar_that_is_led_by_the_hand_too(talk: Talk) -> None:
    await talk.says("R1", "03 seal is 5105 not 5103, misread")
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1", "shut 0902 pad", "47.2830N 19.9510W"):
        await talk.says("R1", text)
    assert (await talk.says("R1", "5103")).startswith('03 seal 5105, was 5103: "misread".')
    assert (await talk.jar("03"))["seals"][0]["number"] == "5105"


async def test_a_value_that_its_author_went_back_to_is_not_corrected_again(talk: Talk) -> None:
    await talk.says("R1", "04 seal is 5105 not 5104, misread")
    await talk.says("R1", "04 spill thick 0855 seal 5104")
    await talk.says("R1", "04 seal is 5104 not 5105, looked again")
    await talk.says("R1", "04 pad")
    assert (await talk.jar("04"))["seals"][0]["number"] == "5104"


async def test_a_correction_of_no_jar_is_answered_in_one_text(talk: Talk) -> None:
    sent = await talk.hears("R1", "04 seal is 5105")
    assert [one.text for one in sent] == ["No jar 04 of yours is on record. Send it in one line, or JAR."]


async def test_a_correction_whose_case_is_not_named_asks_for_it_once(drill: Talk) -> None:
    sent = await drill.hears("R1", "04 seal is 5105 not 5104, misread")
    assert [one.text for one in sent] == ["Which case? CH-014 CH-900"]


async def test_a_first_telling_with_is_in_it_is_a_jar(talk: Talk) -> None:
    assert (await talk.says("R1", "04 oil is thick, 0855, seal 5104")).startswith(
        "Not understood: oil. 04 saved"
    )


async def test_an_early_correction_of_another_value_changes_nothing(talk: Talk) -> None:
    await talk.says("R1", "04 seal is 5105 not 5104, misread")
    await talk.says("R2", "04 spill thick 0855 seal 5104")
    await talk.says("R1", "03 spill thick 0856 seal 5103")
    assert [(await talk.jar(number))["corrections"] for number in ("03", "04")] == [[], []]


async def test_a_jar_sent_again_with_its_struck_seal_is_no_second_jar(talk: Talk) -> None:
    line = "04 spill thick 0855 seal 5104"
    await talk.says("R1", line, sent_at="2026-10-12T08:00:30Z")
    await talk.says("R1", "04 seal is 5105 not 5104, misread", sent_at="2026-10-12T08:02:00Z")
    await talk.says("R1", line, sent_at="2026-10-12T08:01:00Z")
    jars = [jar for jar in await talk.show("samples") if jar["number"] == "04"]
    assert len(jars) == 1
    assert jars[0]["seals"][0]["number"] == "5105"


async def test_a_correction_told_twice_changes_nothing_and_may_bring_its_reason(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0855 seal 5103")
    assert "Why?" in await talk.says("R1", "03 seal is 5104 not 5103")
    for _ in range(2):
        assert (await talk.says("R1", "03 seal is 5104 not 5103, misread")).startswith("03 saved")
    corrections = (await talk.jar("03"))["corrections"]
    assert [(c["old"], c["new"], c["why"]) for c in corrections] == [("5103", "5104", "misread")]
