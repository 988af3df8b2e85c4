"""Jars as people write them with wet gloves: words before the number, marks of their own, halves of answers."""

from __future__ import annotations

from typing import Any

import pytest

from tests.dialogue.test_photos import photo
from tests.talk import Talk

LED = ("jar", "mate, cleared", "yes", "03", "1", "1", "shut 0902 pad")


@pytest.mark.parametrize(
    ("line", "number", "told"),
    [
        ("jar 4 spill thick 0855 seal 5104", "4", {"kind": "spill", "matrix": "thick"}),
        ("Jar 04: thick, took it at 08.55 off the quay, seal 5104", "04", {"matrix": "thick"}),
        ("#5 spill sheen 0855 seal 5104", "5", {"kind": "spill", "matrix": "sheen"}),
        ("no. 3 is a sheen, seal 5104", "3", {"kind": None, "matrix": "sheen"}),
        ("SAMPLE 06 SPILL SHEEN 0855 SEAL: 5104", "06", {"kind": "spill", "matrix": "sheen"}),
        ("11 spill, sheen; 0855; pad; seal=5104", "11", {"method": "pad"}),
        ("12 spill sheen 0855 seal#5104", "12", {"matrix": "sheen"}),
        ("14 spill sheen 0855 seal no 5104", "14", {"matrix": "sheen"}),
        ("3. spill sheen 0855 seal 5104", "3", {"kind": "spill", "matrix": "sheen"}),
        ("jar no. 15 sheen, seal 5104", "15", {"matrix": "sheen"}),
        ("Sample number 16: sheen, seal 5104", "16", {"matrix": "sheen"}),
        ("17 sheen new gloves seal 5104", "17", {"gloves_changed": True}),
        ("18 sheen need new gloves seal 5104", "18", {"gloves_changed": None}),
        ("18 sheen new gloves none left seal 5104", "18", {"gloves_changed": None}),
        ("18 sheen new owner seal 5104", "18", {"gloves_changed": None}),
        ("18 sheen pad SAME GLOVES seal 5104", "18", {"gloves_changed": False, "method": "pad"}),
        ("19 sheen no gloves seal 5104", "19", {"gloves_changed": None}),
    ],
)
async def test_a_jar_is_read_however_its_number_and_seal_are_announced(
    talk: Talk, line: str, number: str, told: dict[str, Any]
) -> None:
    await talk.says("R1", line)
    jar = await talk.jar(number)
    assert jar["seals"][0]["number"] == "5104"
    assert {name: jar[name] for name in told} == told


@pytest.mark.parametrize("said", ["2 photos", "two photos", "2 pics", "dos fotos", "deux photos", "to bilder"])
async def test_photos_are_counted_as_they_were_announced(talk: Talk, said: str) -> None:
    assert "photos not here yet: 2." in await talk.says("R1", f"04 spill sheen 0855 {said}")


@pytest.mark.parametrize("said", ["photo no", "photos none", "photo not taken", "photo: no", "no photo", "fotos não", "foto ikke"])
async def test_a_photo_that_is_denied_is_not_waited_for(talk: Talk, said: str) -> None:
    answer = await talk.says("R1", f"04 spill sheen 0855 {said} seal 5104")
    assert answer.startswith(f"Not understood: {said}. 04 saved")
    assert "photos not here yet" not in answer
    assert "seal 5104" in answer


@pytest.mark.parametrize("said", ["photo, no gloves", "photo, no seal", "photo no 2", "photo without flash", "photo"])
async def test_what_else_is_denied_behind_a_photo_leaves_it_declared(talk: Talk, said: str) -> None:
    assert "photos not here yet: 1" in await talk.says("R1", f"04 spill sheen 0855 {said}")


@pytest.mark.parametrize(
    "said",
    [
        *("give 04 to C1", "Giving 4 to C1", "hand 04 to C1", "hand over 04 to the custodian", "pass 04 to C1"),
        *("handing jar 04 over to C1", "give 04 to custodian 0901", "pass 04 on to C1 now"),
    ],
)
async def test_a_jar_is_offered_in_the_words_people_hand_things_over_with(talk: Talk, said: str) -> None:
    await talk.says("R1", "04 spill sheen 0855 seal 5104")
    assert await talk.says("R1", said) == "Offered 04. On record with you until they are read and taken."
    assert any(text.text.startswith("R1 offers you 04.") for text in talk.sent)


@pytest.mark.parametrize("said", ["give me a minute", "hand is cold", "pass", "give 04 a wipe", "handing over at 1130",
             "giving 04 to C1 in a minute", "hand 04 to C1 by hand", "pass 04 to C1 by noon"])  # fmt: skip
async def test_words_that_hand_nothing_to_anybody_offer_nothing(talk: Talk, said: str) -> None:
    await talk.says("R1", "04 spill sheen 0855 seal 5104")
    assert (await talk.says("R1", said)).startswith("Kept as a note")
    assert not any("offers" in text.text for text in talk.sent)


async def test_no_before_a_number_still_refuses_a_jar(talk: Talk) -> None:
    await talk.says("R1", "04 spill sheen 0855 seal 5104")
    await talk.says("R1", "offer 04 to C1")
    assert "04" in await talk.says("C1", "no 04 lid leaks")
    assert (await talk.jar("04"))["with"] == "R1"


async def test_minutes_ago_stand_as_an_estimate(talk: Talk) -> None:
    assert "about 08:41" in await talk.says("R1", "07 spill sheen 20 min ago")


@pytest.mark.parametrize("words", ["03 ok", "yes", "Yes.", "1"])
async def test_yes_in_other_words_confirms_what_was_read_back(talk: Talk, words: str) -> None:
    await talk.says("R1", "03 spill sheen 0855 seal 5103")
    assert (await talk.says("R1", words)).startswith("03 on record.")


async def test_yes_confirms_nothing_where_nothing_was_read_back(talk: Talk) -> None:
    assert (await talk.says("R1", "yes")).startswith("Kept as a note")


async def test_tape_told_behind_the_number_is_the_seal_of_its_authors_jar(talk: Talk) -> None:
    await talk.says("R1", "06 spill sheen 0855 tape")
    assert "tape XY" in await talk.says("R1", "06 tape XY")
    assert (await talk.jar("06"))["seals"][0]["tape"] == "XY"


@pytest.mark.parametrize("answer", ["NW", "N W", "n, w", "north west"])
async def test_the_letters_alone_finish_a_position(talk: Talk, answer: str) -> None:
    asked = await talk.says("R1", "08 spill sheen 0855 47.2830 19.9510")
    assert asked == (
        "08 saved: spill, sheen, 08:55. 47.2830 19.9510: N or S, E or W? Send it with the letters."
    )
    await talk.says("R1", answer)
    position = (await talk.jar("08"))["position"]
    assert (position["lat"], position["lon"]) == (47.283, -19.951)


@pytest.mark.parametrize("answer", ["F", "46F", "46 F", "M 46 F", "fahrenheit"])
async def test_the_unit_of_a_cooler_is_taken_with_or_without_its_figure(talk: Talk, answer: str) -> None:
    assert await talk.says("R1", "cooler M 46") == "46 C or F?"
    assert "Cooler M 46 F, on record" in await talk.says("R1", answer)


async def test_a_cooler_told_without_its_name_waits_for_it(talk: Talk) -> None:
    for text in ("cooler 46", "F"):
        answer = await talk.says("R1", text)
    assert answer == "Which cooler? Send like: cooler M 4.2C"
    assert "Cooler M 46 F, on record" in await talk.says("R1", "M")


async def test_a_lid_number_is_no_second_reading_of_a_cooler_told_on_the_way(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "cooler M 46", "F"):
        await talk.says("R1", text)
    assert (await talk.says("R1", "03")).startswith("03: what is it?")
    assert len((await talk.show("cooler"))[0]["readings"]) == 1


async def test_a_reading_typed_against_its_cooler_is_read(talk: Talk) -> None:
    for text in (*LED, "none", "fish quay", "5103", "skip"):
        await talk.says("R1", text)
    assert "cooler M 4.2 C" in await talk.says("R1", "M4.2C")
    assert (await talk.jar("03"))["cooler"] == "M"


async def test_without_a_position_the_place_is_asked_in_words(talk: Talk) -> None:
    for text in LED:
        await talk.says("R1", text)
    assert await talk.says("R1", "none") == "03: the place in words?"


async def test_a_stray_digit_is_no_seal(talk: Talk) -> None:
    for text in (*LED, "47.2830N 19.9510W", "skip"):
        await talk.says("R1", text)
    assert "why no seal?" in await talk.says("R1", "4")
    assert (await talk.jar("03"))["seals"] == []


async def test_wrong_goes_back_to_the_safety_questions(talk: Talk) -> None:
    for text in ("jar", "mate, cleared"):
        await talk.says("R1", text)
    assert (await talk.says("R1", "wrong")).startswith("Who is in charge of safety there")
    assert (await talk.says("R1", "wrong")).startswith("Nothing to take back yet. Who is in charge")
    assert (await talk.says("R1", "no")).startswith("Noted: not cleared.")


@pytest.mark.parametrize("between", [", ", "; ", "\n", " / "])
async def test_two_jars_in_one_text_are_two_and_ok_is_about_both(talk: Talk, between: str) -> None:
    sent = await talk.hears("R1", f"01 spill sheen 0855 seal 5101{between}02 spill sheen 0856 seal 5102")
    assert [one.text[:8] for one in sent] == ["01 saved", "02 saved"]
    assert (await talk.says("R1", "ok")).startswith("01 02 on record.")
    assert [jar["seals"][0]["number"] for jar in await talk.show("samples")] == ["5101", "5102"]


async def test_photos_told_behind_a_comma_are_no_second_jar(talk: Talk) -> None:
    await talk.says("R1", "05 spill sheen 0855, 02 photos")
    assert [jar["number"] for jar in await talk.show("samples")] == ["05"]


async def test_a_caption_that_answers_the_open_question_is_its_answer(talk: Talk) -> None:
    for text in LED:
        await talk.says("R1", text)
    answer = await talk.says("R1", "47.2830N 19.9510W", files=(photo(),))
    assert answer.startswith("03: seal")
    jar = await talk.jar("03")
    assert (jar["position"]["lat"], len(jar["photos"])) == (47.283, 1)


async def test_a_caption_of_other_words_is_a_note(talk: Talk) -> None:
    for text in LED:
        await talk.says("R1", text)
    assert (await talk.says("R1", "seal seen from above", files=(photo(),))).startswith("03: where?")
    notes = [e["body"]["words"] for e in await talk.show("entries", "CH-014") if e["kind"] == "NoteMade"]
    assert notes == ["seal seen from above"]


@pytest.mark.parametrize("answer", ["unknown", "Dunno.", "none", "don't know", "no seal", "NO"])
async def test_what_is_not_known_stays_not_stated_and_the_walk_goes_on(talk: Talk, answer: str) -> None:
    for text in (*LED, "47.2830N 19.9510W"):
        await talk.says("R1", text)
    assert (await talk.says("R1", answer)).startswith("03: why no seal?")
    assert "seal" in (await talk.jar("03"))["not_stated"]


@pytest.mark.parametrize("word", ["skip", "again", "more"])
async def test_a_word_for_an_open_question_says_that_none_is_open(talk: Talk, word: str) -> None:
    assert await talk.says("R1", word) == (
        "Nothing is asked of you now. JAR starts a jar, STATUS shows what is open."
    )


async def test_what_was_not_understood_before_the_jar_is_shut_is_followed_by_what_is_wanted(
    talk: Talk,
) -> None:
    for text in LED[:-1]:
        await talk.says("R1", text)
    assert (await talk.says("R1", "wait")).startswith("Not understood: wait. Text SHUT when the jar is shut")


async def test_a_cooler_that_is_not_set_up_is_said_beside_its_jar(talk: Talk) -> None:
    answer = await talk.says("R1", "04 spill sheen 0855 cooler Q 4.4C")
    assert answer.startswith("No cooler Q is set up: tell your supervisor. 04 saved")


@pytest.mark.parametrize("said", ["duplicate of 07", "dup of 07", "duplicate 07", "DUPLICATE OF 07"])
async def test_a_duplicate_says_of_which_jar_in_one_line_and_when_asked(talk: Talk, said: str) -> None:
    answer = await talk.says("R1", f"09 {said} 0855 seal 5109")
    assert answer.startswith("09 saved, not confirmed: duplicate")
    for text in (*LED[:3], "10", said):
        await talk.says("R1", text)
    jars = [await talk.jar(number) for number in ("09", "10")]
    assert [(jar["kind"], jar["more"]["duplicate_of"]) for jar in jars] == [("duplicate", "07")] * 2


async def test_a_place_in_words_answers_where(talk: Talk) -> None:
    for text in LED:
        await talk.says("R1", text)
    assert (await talk.says("R1", "by the fuel dock")).startswith("03: seal")
    jar = await talk.jar("03")
    assert (jar["place"], jar["position"]) == ("by the fuel dock", None)


@pytest.mark.parametrize("words", ["cant", "AB", "my initials AB", "there is no number on it"])
async def test_other_words_are_no_place(talk: Talk, words: str) -> None:
    for text in LED:
        await talk.says("R1", text)
    assert (await talk.says("R1", words)).startswith("Not understood:")
    assert (await talk.jar("03"))["place"] is None


async def test_a_sentence_answers_a_walk(talk: Talk) -> None:
    for text in (*LED[:-1], "shut 0902"):
        await talk.says("R1", text)
    assert (await talk.says("R1", "with the pad")).startswith("03: where?")


async def test_a_question_mark_says_how_to_go_on_where_a_field_has_no_help_of_its_own(talk: Talk) -> None:
    for text in (*LED, "none"):
        await talk.says("R1", text)
    assert await talk.says("R1", "?") == (
        "SKIP leaves it not stated, WRONG takes the last answer back, STOP ends this. 03: the place in words?"
    )
