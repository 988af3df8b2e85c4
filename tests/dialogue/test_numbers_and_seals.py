"""Two jars of one number, one jar told twice, numbers and seals outside their kit, evidence numbers."""

from __future__ import annotations

from tests.talk import Talk


async def test_two_jars_of_one_number_are_both_kept_until_a_human_says_which(talk: Talk) -> None:
    await talk.says("R1", "07 spill sheen 0902 pad seal 5107")
    assert await talk.says("R2", "07 spill thick 0904 jar seal 5117") == (
        "A jar 07 is already on record. Yours is kept apart. What is written on your jar now?"
    )
    jars = [jar for jar in await talk.show("samples") if jar["number"] == "07"]
    assert [jar["seals"][0]["number"] for jar in jars] == ["5107", "5117"]
    assert all("number_query" in jar["flags"] for jar in jars), "the number belongs to neither"
    await talk.says("R2", "08")
    assert "number_query" not in (await talk.jar("07"))["flags"]
    moved = await talk.jar("08")
    assert (moved["seals"][0]["number"], moved["flags"]) == ("5117", [])
    assert moved["corrections"][0]["old"] == "07"


async def test_one_person_with_two_jars_of_one_number_is_asked_too(talk: Talk) -> None:
    await talk.says("R1", "07 spill sheen 0902 pad seal 5107")
    assert "kept apart" in await talk.says("R1", "07 spill thick 0904 jar seal 5108")
    assert len(await talk.show("samples")) == 2


async def test_the_same_number_again_does_not_settle_it(talk: Talk) -> None:
    await talk.says("R1", "07 spill sheen 0902 pad seal 5107")
    await talk.says("R2", "07 spill thick 0904 jar seal 5117")
    assert "already on record" in await talk.says("R2", "07")
    assert all("number_query" in jar["flags"] for jar in await talk.show("samples"))


async def test_a_seal_told_by_two_people_is_two_accounts_of_one_jar(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0902 47.2830N 19.9510W pad seal 5103")
    answer = await talk.says("R2", "03 spill sheen 0903 seal 5103 witness R2 saw sealing")
    assert answer == "03 is R1's jar. Yours is kept beside it as a second account."
    jars = await talk.show("samples")
    assert len(jars) == 1
    assert jars[0]["event_time"] == "2026-10-12T09:02:00+01:00", "the first account stands"
    account = jars[0]["accounts"][0]
    assert (account["by"], account["at"], account["saw"]) == (
        "R2", "2026-10-12T09:03:00+01:00", "R2 saw sealing",
    )  # fmt: skip


async def test_a_seal_told_by_one_person_for_two_jars_is_queried_on_the_second(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0902 pad seal 5103")
    answer = await talk.says("R1", "04 spill sheen 0903 pad seal 5103")
    assert "already told for jar 03" in answer
    assert (await talk.jar("04"))["seals"][0]["number"] == "5103", "what was told is kept"
    assert "query" in (await talk.jar("04"))["flags"]


async def test_a_number_outside_the_kits_block_and_a_seal_outside_its_range_are_queried_and_kept(
    talk: Talk,
) -> None:
    answer = await talk.says("R1", "44 spill sheen 0902 pad seal 9103")
    assert "outside the blocks" in answer
    assert "outside the ranges" in answer
    jar = await talk.jar("44")
    assert (jar["seals"][0]["number"], {query["field"] for query in jar["queries"]}) == (
        "9103",
        {"number", "seal"},
    )
    assert not any(word in answer for word in ("5101", "5121", "19")), "no right value is proposed"


async def test_ok_lets_a_queried_value_stand_and_keeps_the_query_visible(talk: Talk) -> None:
    await talk.says("R1", "44 spill sheen 0902 pad seal 5103")
    assert "it stands" in await talk.says("R1", "ok")
    query = (await talk.jar("44"))["queries"][0]
    assert (query["open"], query["how"]) == (False, "stands as told")


async def test_a_value_told_again_on_a_query_needs_no_reason(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0902 47.8830N 19.9510W pad seal 5103")
    await talk.says("R1", "47.2830N 19.9510W")
    jar = await talk.jar("03")
    assert jar["position"]["lat"] == 47.283
    correction = jar["corrections"][0]
    assert (correction["sort"], correction["why"]) == ("reentered", "re-entered on query: area")
    assert not any(query["open"] for query in jar["queries"])


async def test_evidence_numbers_are_asked_of_the_custodian_and_given_once(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0902 pad seal 5103")
    await talk.says("R1", "04 spill sheen 0903 pad seal 5104")
    sent = await talk.hears("R1", "need number 03 04")
    assert [one.text for one in sent if one.person == "C1"] == [
        "R1 asks evidence numbers for CH-014 03 04. Send like: 03 E-118"
    ]
    sent = await talk.hears("C1", "03 E-118")
    assert [one.text for one in sent if one.person == "R1"] == [
        "CH-014 03: evidence number E-118. Write the label before you stick it."
    ]
    assert "already given to 03" in await talk.says("C1", "04 E-118")
    assert "already has E-118" in await talk.says("C1", "03 E-119")
    assert (await talk.jar("03"))["evidence_number"] == "E-118"
    assert (await talk.jar("04"))["evidence_number"] is None


async def test_a_responder_does_not_give_evidence_numbers(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0902 pad seal 5103")
    await talk.says("R1", "need number 03")
    await talk.says("R1", "03 E-118")
    assert (await talk.jar("03"))["evidence_number"] is None


async def test_a_struck_jar_stays_visible_and_its_number_is_not_free(talk: Talk) -> None:
    await talk.says("R1", "08 spill sheen 0902 pad seal 5108")
    assert await talk.says("R1", "08 struck: jar broke") == '08 is struck and stays visible: "jar broke".'
    assert (await talk.jar("08"))["status"] == "struck"
    assert "kept apart" in await talk.says("R1", "08 spill sheen 0904 pad seal 5109")


async def test_tape_with_initials_is_a_seal_without_a_number(talk: Talk) -> None:
    answer = await talk.says("R1", "03 spill sheen 0902 pad tape JD")
    assert "tape JD" in answer
    assert (await talk.jar("03"))["seals"] == [{"number": None, "tape": "JD", "state": "whole", "at": None}]


async def test_a_jars_author_hears_of_an_evidence_number_that_nobody_asked_for(talk: Talk) -> None:
    await talk.says("R1", "03 spill sheen 0855 seal 5103")
    sent = await talk.hears("C1", "03 E-118")
    assert "CH-014 03: evidence number E-118. Write the label before you stick it." in [
        one.text for one in sent if one.person == "R1"
    ]


async def test_a_number_for_a_jar_that_is_not_there_is_answered_so(talk: Talk) -> None:
    assert await talk.says("C1", "05 E-121") == (
        "No jar 05 is on record yet: E-121 is not given. Send it again when it is."
    )
    assert (await talk.says("R1", "need number 09")).startswith("No jar 09 of yours is on record.")
