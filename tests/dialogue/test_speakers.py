"""One phone, many hands; and the short code without which a seal by SMS is saved and marked so."""

from __future__ import annotations

from tests.dialogue.test_strangers import code_for, everything_kept, kinds
from tests.talk import Talk

LINE = "03 spill sheen 0905 47.2830N 19.9510W pad seal 5103"


async def test_a_seal_told_by_sms_without_the_code_is_saved_and_marked_so_until_the_code_comes(talk: Talk) -> None:
    code = await code_for(talk, "R1", "personal")
    assert "seal 5103 (without your code)" in await talk.says("R1", LINE)
    jar = await talk.jar("03")
    assert (jar["seals"][0]["number"], jar["flags"]) == ("5103", ["without_code"])
    assert await talk.says("R1", f"code {code}") == "Code noted for the seal of 03."
    assert (await talk.jar("03"))["flags"] == []
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_a_seal_told_with_its_authors_code_is_a_seal_like_any_other(talk: Talk) -> None:
    code = await code_for(talk, "R1", "personal")
    said = await talk.says("R1", f"{LINE} code {code}")
    assert "without your code" not in said
    assert "seal 5103" in said
    assert (await talk.jar("03"))["flags"] == []
    assert code not in await everything_kept(talk)


async def test_nobody_without_a_code_and_nobody_on_the_signed_in_web_chat_is_asked_for_one(talk: Talk) -> None:
    assert "without your code" not in await talk.says("R2", LINE)
    await code_for(talk, "R1", "personal")
    assert "without your code" not in await talk.says("web:r1", LINE.replace("03", "04").replace("5103", "5104"))


async def test_the_code_of_another_proves_nothing_and_five_tries_shut_all_for_a_day(talk: Talk) -> None:
    own, others = await code_for(talk, "R1", "personal"), await code_for(talk, "R2", "personal")
    await talk.hears("R1", LINE)
    assert await talk.says("R1", f"code {others}") == "That code is not good. What you said is kept, without it."
    for place in range(3):
        await talk.hears("R1", f"code 11111{place}")
    last = await talk.hears("R1", "code 111 119")
    assert [one.text for one in last if one.person == "S1"] == [
        "Too many wrong codes for R1, last from a phone ending 0001. None counts today. Call R1; a new code opens it."
    ]
    assert (await talk.says("R1", f"code {own}")).startswith("No code of R1 counts today")
    assert (await talk.jar("03"))["flags"] == ["without_code"]
    newer = await code_for(talk, "R1", "personal")
    assert await talk.says("R1", f"code {newer}") == "Code noted for the seal of 03."
    assert (await kinds(talk)).count("CodeRefused") == 5


async def test_r2_speaks_on_r1s_phone_and_the_record_says_whose_phone_it_was(talk: Talk) -> None:
    heard = await talk.hears("R1", "r2 speaking", at="2026-10-12T09:00:00Z")
    assert [(one.person, one.text) for one in heard] == [
        ("R2", "R2 speaks on R1's phone till 10:10. R2 has no code, so seals are marked so. To end: R1 SPEAKING."),
        ("R2", "R2 speaks on R1's phone till 10:10. If that is not you, call your supervisor."),
    ]
    assert {one.address for one in heard} == {"sms:+447700900001", "sms:+447700900002"}
    await talk.hears("R1", LINE.replace("0905", "1001"), at="2026-10-12T09:02:00Z")
    jar = await talk.jar("03")
    assert (jar["told_by"], jar["flags"]) == ("R2", ["without_code"])
    told = [entry for entry in await talk.show("entries", "CH-014") if entry["kind"] == "SampleTold"]
    assert (told[0]["author"], told[0]["phone"]) == ("R2", "R1")


async def test_after_ten_minutes_the_phone_is_its_owners_again_and_answers_no_question_of_the_other(
    talk: Talk,
) -> None:
    await talk.hears("R1", "R2 speaking", at="2026-10-12T09:00:00Z")
    await talk.hears("R1", LINE.replace("0905", "1001"), at="2026-10-12T09:09:00Z")
    await talk.hears("R1", "ok", at="2026-10-12T09:11:00Z")
    assert not (await talk.jar("03"))["confirmed"]
    await talk.hears("R1", "04 spill sheen 1008 seal 5104", at="2026-10-12T09:12:00Z")
    assert (await talk.jar("04"))["told_by"] == "R1"


async def test_the_owner_may_end_it_and_a_code_proves_who_speaks(talk: Talk) -> None:
    code = await code_for(talk, "R2", "personal")
    assert "Seals and hand-overs want R2's code." in await talk.says("R1", f"R2 speaking {code}")
    await talk.hears("R1", f"{LINE} code {code}")
    assert ((await talk.jar("03"))["told_by"], (await talk.jar("03"))["flags"]) == ("R2", [])
    assert await talk.says("R1", "R1 speaking") == "R1 speaks on this phone again."
    await talk.hears("R1", "04 spill sheen 0905 seal 5104")
    assert (await talk.jar("04"))["told_by"] == "R1"


async def test_speaking_as_the_supervisor_gives_nobody_the_supervisors_rights_without_their_code(talk: Talk) -> None:
    code = await code_for(talk, "S1", "personal")
    await talk.hears("R1", "S1 speaking")
    await talk.hears("R1", "revoke R2")
    assert "AddressesRevoked" not in await kinds(talk)
    await talk.hears("R1", f"revoke R2 code {code}")
    assert "AddressesRevoked" in await kinds(talk)


async def test_a_name_that_is_nobodys_speaks_on_no_phone(talk: Talk) -> None:
    await talk.hears("R1", "R9 speaking")
    assert "SpeakerChanged" not in await kinds(talk)


async def test_a_hand_over_by_sms_moves_nothing_until_both_have_given_their_own_code(talk: Talk) -> None:
    giver, receiver = await code_for(talk, "R1", "personal"), await code_for(talk, "C1", "personal")
    await talk.hears("R1", f"{LINE} code {giver}")
    refused = "Nothing moved: a hand-over wants your code. Send the same again with CODE and your digits."
    assert await talk.says("R1", "offer 03 to C1") == refused
    assert (await talk.says("R1", f"offer 03 to C1 code {giver}")).startswith("Offered 03.")
    assert refused in await talk.says("C1", "03 5103 whole")
    assert (await talk.jar("03"))["with"] == "R1"
    assert "received" in await talk.says("C1", f"03 5103 whole code {receiver}")
    assert (await talk.jar("03"))["with"] == "C1"
    assert (await talk.verdict()).found == ()


async def test_a_lots_code_is_no_personal_code_of_somebody_who_has_none(talk: Talk) -> None:
    await talk.hears("R2", f"{LINE} jarlot code 123456")
    assert "CodeRefused" not in await kinds(talk)
    assert "123456" in str(await talk.show("samples"))
