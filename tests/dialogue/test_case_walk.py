"""A case is opened by answering questions; nothing decides that two reports are one spill."""

from __future__ import annotations

from tests.talk import Talk

ANSWERS = ("1", "CH-015", "sheen off the quay", "fish quay", "harbour watch", "0840", "R1 R2", "A", "skip")


async def test_a_case_is_opened_question_by_question(talk: Talk) -> None:
    first = await talk.says("R1", "case")
    assert first.startswith("Open already: CH-014.")
    answers = [await talk.says("R1", text) for text in ANSWERS]
    assert answers[-1] == "Case CH-015 is open. PLAN offers what to take. JAR starts a jar, or send one in one line."
    case = (await talk.show("cases", "CH-015"))[0]
    assert (case["exercise"], case["people"], case["kits"]) == (False, ["R1", "R2"], ["A"])
    assert case["told"]["seen"]["raw"] == "sheen off the quay"
    assert "vessel" not in case["told"], "what was skipped is not stated"


async def test_the_new_case_is_the_one_of_the_next_jar(talk: Talk) -> None:
    await talk.says("R1", "case")
    for text in ANSWERS:
        await talk.says("R1", text)
    await talk.says("R1", "03 spill sheen 0904 seal 5103")
    await talk.says("R1", "CH-015")
    assert (await talk.jar("03"))["case"] == "CH-015"


async def test_a_name_that_is_taken_is_asked_again(talk: Talk) -> None:
    await talk.says("R1", "case")
    await talk.says("R1", "1")
    assert "cannot be used" in await talk.says("R1", "CH-014")
    assert "What was seen?" in await talk.says("R1", "CH-015")


async def test_name_and_exercise_cannot_be_skipped(talk: Talk) -> None:
    await talk.says("R1", "case")
    assert "This one is needed" in await talk.says("R1", "skip")
    await talk.says("R1", "2")
    assert "This one is needed" in await talk.says("R1", "skip")


async def test_wrong_takes_the_last_answer_of_the_case_back(talk: Talk) -> None:
    await talk.says("R1", "case")
    for text in ("1", "CH-015", "tar"):
        await talk.says("R1", text)
    assert await talk.says("R1", "wrong") == "What was seen?"


async def test_an_exercise_says_so_first_in_every_text(talk: Talk) -> None:
    await talk.says("R1", "case")
    for text in ("exercise", "CH-901", *ANSWERS[2:]):
        await talk.says("R1", text)
    await talk.says("R1", "CH-901")
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1", "shut 0904 pad"):
        assert (await talk.says("R1", text)).startswith("EXERCISE ")


async def test_sos_interrupts_the_walk_and_the_walk_goes_on(talk: Talk) -> None:
    await talk.says("R1", "case")
    await talk.says("R1", "1")
    assert "Everyone is being told" in await talk.says("R1", "SOS")
    assert "What was seen?" in await talk.says("R1", "CH-015")


async def test_the_watch_reported_it_and_nobody_was_put_on_watch(talk: Talk) -> None:
    await talk.says("R1", "case")
    for text in ANSWERS[:4]:
        await talk.says("R1", text)
    assert (await talk.says("R1", "watch")).startswith("When was it reported?")
    assert "Everyone is being told" in await talk.says("R1", "SOS")
    for text in ANSWERS[5:]:
        await talk.says("R1", text)
    case = (await talk.show("cases", "CH-015"))[0]
    assert case["told"]["reporter"]["raw"] == "watch"
    assert "WatchStood" not in str(await talk.show("entries"))
    assert "in charge of safety" in await talk.says("R1", "CH-015 jar")
    assert "Phone and camera allowed" in await talk.says("R1", "watch, cleared")
    assert (await talk.says("R1", "watch")).startswith("On watch till")


async def test_the_name_of_a_case_that_is_open_already_goes_back_to_it(talk: Talk) -> None:
    assert "Send its name if it is that one" in await talk.says("R1", "case")
    assert await talk.says("R1", "ch-014") == "Case CH-014."
    await talk.says("R1", "04 spill thick 0855 seal 5104")
    assert (await talk.jar("04"))["case"] == "CH-014"


async def test_a_jar_told_while_a_case_is_being_opened_is_no_answer(talk: Talk) -> None:
    for text in ("case", "real", "CH-077"):
        await talk.says("R1", text)
    answer = await talk.says("R1", "04 spill thick 0855 seal 5104")
    assert answer == (
        "04 is not on record: its case is not open yet. Send it again after this. What was seen?"
    )
    saved = await talk.says("R1", "CH-014 04 spill thick 0855 seal 5104")
    assert saved.startswith("04 saved, not confirmed")
    assert (await talk.jar("04"))["case"] == "CH-014"
    assert (await talk.says("R1", "sheen along the quay")) == "Where?"


async def test_the_questions_that_open_an_exercise_say_so(talk: Talk) -> None:
    await talk.says("R1", "case")
    for text in ("exercise", "?", "CH-077", "sheen", "status"):
        assert (await talk.says("R1", text)).startswith("EXERCISE ")
