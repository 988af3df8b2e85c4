"""Phones that are nobody's: told nothing, kept, and somebody's with the old times once the code arrives."""

from __future__ import annotations

import pytest

from bot.administer import issue_code
from bot.clock import SeededSecrets
from bot.model.times import DAY_US
from tests.talk import ADDRESSES, KEY, Talk

NEW, OTHER = "sms:+447700900077", "sms:+447700900078"
FIXED = "This line is for enrolled crews. If you have a code, send it."


async def code_for(talk: Talk, name: str, purpose: str = "enrol") -> str:
    house = talk.house
    # Seeded: a code of chance would stand by chance among the digits of times and hashes.
    secrets = SeededSecrets(f"{name}/{purpose}/{house.clock.now_us()}")
    code, _ = await issue_code(house.store, name, purpose, house.clock, secrets, KEY)
    return code


async def kinds(talk: Talk) -> list[str]:
    return [entry["kind"] for entry in await talk.show("entries") if entry["chain"] == "unit"]


async def everything_kept(talk: Talk) -> str:
    """All that the store holds in words: messages, entries, texts out, conversations."""
    async with talk.house.store.database.read() as tx:
        found = []
        for sql in (
            "SELECT text FROM raw_messages",
            "SELECT text FROM entries",
            "SELECT doc FROM outbox",
            "SELECT doc FROM conversations",
            "SELECT commitment FROM codes",
        ):
            found += [str(value) for (value,) in await tx.rows(sql)]
    return "\n".join(found)


async def test_texts_of_a_new_phone_become_its_persons_with_their_old_times_when_the_code_arrives(
    talk: Talk,
) -> None:
    first = await talk.hears(NEW, "R1 here on the skipper's phone. mine is in the water", at="2026-10-12T09:00:00Z")
    assert [(one.person, one.text) for one in first if one.address == NEW] == [(None, FIXED)]
    await talk.hears(NEW, "03 spill sheen 1002 47.2830N 19.9510W seal 5103", at="2026-10-12T09:10:00Z")
    await talk.hears(NEW, "04 spill thick 1016 seal 5104", at="2026-10-12T09:20:00Z")
    assert await talk.show("samples") == []
    code = await code_for(talk, "R1")
    said = await talk.says(NEW, f"my code {code[:4]}-{code[4:8]}-{code[8:]}", at="2026-10-12T09:40:00Z")
    assert said.startswith("This phone is yours now, R1. What you text here is kept and may be disclosed.")
    assert "Texts of before: 3." in said
    assert "Came late, on record: 03 (10:02) 04 (10:16)." in said
    jars = await talk.show("samples")
    assert [(jar["number"], jar["told_by"], jar["received_time"]) for jar in jars] == [
        ("03", "R1", "2026-10-12T09:10:00Z"),
        ("04", "R1", "2026-10-12T09:20:00Z"),
    ]
    told = [entry for entry in await talk.show("entries", "CH-014") if entry["kind"] == "SampleTold"]
    hashes = {message["sha256"]: message["text"] for message in await talk.show("messages")}
    assert hashes[told[0]["message"]].startswith("03 spill")
    assert "03 04 on record" in await talk.says(NEW, "ok")
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_no_code_stands_in_clear_anywhere_however_it_was_typed(talk: Talk) -> None:
    for place, between in enumerate(("", " ", "-", ".", ", ", " - ", "\n")):
        code = await code_for(talk, "R1")
        text = between.join((code[:4], code[4:8], code[8:]))
        await talk.hears("R2", f"my code {text}" if place % 2 else text)
        assert code not in await everything_kept(talk)
        assert text not in "\n".join(message["text"] for message in await talk.show("messages"))
    code = await code_for(talk, "R1")
    spelt = " ".join(code)
    await talk.hears("R2", spelt)
    assert spelt not in await everything_kept(talk)
    code = await code_for(talk, "R1")
    wide = "".join(chr(ord(digit) + 0xFEE0) for digit in code)
    await talk.hears("R2", wide)  # the full-width digits of Unicode's halfwidth and fullwidth forms block
    assert wide not in await everything_kept(talk)
    assert code not in await everything_kept(talk)


async def test_a_code_counts_once_and_two_who_claim_at_the_same_time_are_one_person_and_one_stranger(
    talk: Talk,
) -> None:
    code = await code_for(talk, "R1")
    talk.clock.move_to(talk.clock.now_us() + 1_000_000)
    messages = [
        message.model_copy(update={"text": f"R1 {code}"})
        for message in (talk_message(talk, NEW, "a"), talk_message(talk, OTHER, "b"))
    ]
    talk.sent.clear()
    await talk.take(*messages)
    answers = {one.address: one.text for one in talk.sent if one.address in (NEW, OTHER)}
    assert answers[NEW].startswith("This phone is yours now, R1.")
    assert answers[OTHER] == FIXED
    addresses = {one["address"] for one in (await people(talk))["R1"]["addresses"]}
    assert NEW in addresses
    assert OTHER not in addresses


def talk_message(talk: Talk, address: str, message_id: str):
    from bot.model.message import Incoming

    channel, _, account = address.partition(":")
    now_us = talk.clock.now_us()
    return Incoming(channel=channel, account=account, message_id=message_id, received_us=now_us, text="x")


async def people(talk: Talk) -> dict:
    return {one["name"]: one for one in await talk.show("people")}


async def test_a_code_that_is_too_old_or_replaced_opens_nothing(talk: Talk) -> None:
    old = await code_for(talk, "R1")
    newer = await code_for(talk, "R1")
    assert await talk.says(NEW, old) == FIXED
    talk.clock.move_to(talk.clock.now_us() + DAY_US)
    assert await talk.says(NEW, newer) == FIXED
    assert NEW not in str(await talk.show("people"))


async def test_after_five_wrong_codes_a_right_one_opens_nothing_that_day(talk: Talk) -> None:
    for place in range(5):
        await talk.hears(NEW, f"0000 1111 222{place}")
    code = await code_for(talk, "R1")
    assert await talk.says(NEW, code) == ""
    assert "AddressesEnrolled" not in await kinds(talk)
    assert (await kinds(talk)).count("CodeRefused") == 1
    assert "This phone is yours now" in await talk.says(OTHER, code)  # the code itself was not used up


async def test_the_supervisor_hears_once_of_whoever_a_phone_claims_to_be_and_of_one_that_texts_like_a_crew(
    talk: Talk,
) -> None:
    first = await talk.hears(NEW, "this is R1, new phone")
    (told,) = [one for one in first if one.person == "S1"]
    assert told.text == (
        'A phone that is nobody\'s, ending 0077, names R1: "this is R1, new phone". Kept apart, told nothing.'
        " If it is R1, send ENROL R1."
    )
    assert told.alert is not None
    assert (told.alert.kind, told.alert.level) == ("stranger_in_case", "critical")
    again = await talk.hears(OTHER, "R1 here, do you hear me")
    assert [one.person for one in again] == [None]
    jar = await talk.hears(OTHER, "03 spill sheen 0902 seal 5103")
    assert [one.person for one in jar] == ["S1"]
    assert [one.person for one in await talk.hears("sms:+447700900079", "CH-014 where are you")] == [None]


async def test_whether_a_person_a_case_or_a_number_exists_cannot_be_told_from_any_answer(talk: Talk) -> None:
    texts = (
        "R1", "R999", "CH-014", "CH-999", "this is S1, new phone", "03 spill sheen 0902 seal 5103", "enrol R1",
        "revoke R1", "1111 2222 3333", "status", "jar", "?", "C1 speaking 123456", "code 123456",
    )  # fmt: skip
    for place, text in enumerate(texts):
        assert await talk.says(f"sms:+4477009010{place:02}", text) == FIXED, text


async def test_only_so_many_strangers_are_answered_in_a_day_and_each_only_once(talk: Talk) -> None:
    answers = [await talk.says(f"sms:+4477008{place:05}", "hello") for place in range(53)]
    assert answers == [FIXED] * 50 + [""] * 3
    assert await talk.says("sms:+447700800000", "hello again") == ""
    assert (await kinds(talk)).count("StrangerHeard") == 50
    assert await talk.says("sms:+447700899999", "hello", at="2026-10-13T09:00:00Z") == FIXED


async def test_enrol_tells_a_supervisor_where_the_code_is_and_never_the_code(talk: Talk) -> None:
    assert await talk.says("S1", "enrol r1") == (
        "A code for R1 is shown only at the line's machine: coldjar code R1 --enrol. Say it by voice."
    )
    assert "coldjar code" not in await talk.says("R1", "enrol R2")
    assert "CodeIssued" not in await kinds(talk)


async def test_a_revoked_phone_is_a_stranger_from_that_text_on_and_gets_nothing_that_waited(talk: Talk) -> None:
    assert await talk.says("S1", "revoke R1 0001") == (
        "R1: revoked sms 0001. What comes from there is kept apart. For a new phone: ENROL R1."
    )
    assert await talk.says("R1", "status") == FIXED
    assert await talk.says("web:r1", "status") != FIXED
    states = {one["address"]: one["state"] for one in (await people(talk))["R1"]["addresses"]}
    assert states == {"web:r1": "enrolled", ADDRESSES["R1"]: "revoked"}
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_a_code_from_a_revoked_phone_is_void_and_the_supervisor_hears_of_it(talk: Talk) -> None:
    await talk.hears("S1", "revoke R1 0001")
    await talk.hears("R1", "01 spill sheen 0902 seal 5101")  # whoever has the phone now
    code = await code_for(talk, "R1")
    heard = await talk.hears("R1", code)
    (told,) = heard
    assert told.person == "S1"
    assert told.text == (
        "A code for R1 came from a revoked phone, ending 0001. It is void. If you gave it out, call R1 and give a new"
        " one."
    )
    assert await talk.says(NEW, code) == FIXED
    assert await talk.show("samples") == []


async def test_a_number_given_back_does_not_bring_what_was_sent_while_it_was_revoked(talk: Talk) -> None:
    await talk.hears("S1", "revoke R1")
    await talk.hears("R1", "01 spill sheen 0902 seal 5101")
    assert "This phone is yours now" in await talk.says(NEW, await code_for(talk, "R1"))
    assert await talk.show("samples") == []


@pytest.mark.parametrize("who", ["R2", "C1"])
async def test_nobody_without_that_right_revokes_anybody(talk: Talk, who: str) -> None:
    await talk.hears(who, "revoke R1")
    assert "AddressesRevoked" not in await kinds(talk)


async def test_each_person_is_told_once_that_what_is_texted_may_be_disclosed_and_never_behind_a_question(
    untold: Talk,
) -> None:
    notice = "What you text here is kept and may be disclosed."
    assert notice not in await untold.says("R1", "SOS")
    assert notice not in await untold.says("R1", "04 spill sheen 0902 seal 5104")  # it asks for an OK
    assert (await untold.says("R1", "ok")).endswith(notice)
    assert notice not in await untold.says("R1", "status")
    assert (await untold.says("R2", "status")).endswith(notice)
    assert (await kinds(untold)).count("DisclosureTold") == 2


async def test_a_code_sent_from_a_phone_that_is_enrolled_already_still_counts_from_the_new_one(talk: Talk) -> None:
    code = await code_for(talk, "R2")
    assert (await talk.says("R1", f"{code}")).startswith("This phone is enrolled already; the code still counts.")
    assert (await talk.says(NEW, code)).startswith("This phone is yours now, R2.")
