"""Times of a hand-over are corrected by who stated them; both stand, and what others say stands beside."""

from __future__ import annotations

from tests.dialogue.test_custody import jars, links
from tests.talk import Talk


async def handed_over(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "offer 01 to C1 1005", at="2026-10-12T09:10:00Z")
    await talk.says("C1", "01 5101 whole 1019", at="2026-10-12T09:20:00Z")


async def test_the_receiver_corrects_their_own_time_and_both_stand(talk: Talk) -> None:
    await handed_over(talk)
    assert await talk.says("C1", "01 received was 1009 not 1019, misread my watch") == (
        '01: 10:09, was 10:19: "misread my watch". Both stand.'
    )
    taken = (await links(talk, "01"))[1]
    assert taken["closed_at"] == "2026-10-12T10:09:00+01:00"
    assert taken["corrections"] == [
        {
            "field": "closed_at", "old": "2026-10-12T10:19:00+01:00", "new": "2026-10-12T10:09:00+01:00", "by": "C1",
            "received_at": "2026-10-12T09:21:00Z", "why": "misread my watch", "sort": "correction",
        }
    ]  # fmt: skip
    assert await talk.rebuilds_the_same()


async def test_a_reason_that_is_missing_is_asked_for_and_joins_the_correction(talk: Talk) -> None:
    await handed_over(talk)
    assert "Why?" in await talk.says("R1", "01 offered was 1007")
    await talk.says("R1", "01 offered was 1007, wrong watch")
    corrections = (await links(talk, "01"))[1]["corrections"]
    assert [(one["old"], one["why"]) for one in corrections] == [("2026-10-12T10:05:00+01:00", "wrong watch")]  # type: ignore[attr-defined]  # a list


async def test_nobody_corrects_anothers_time(talk: Talk) -> None:
    await handed_over(talk)
    assert await talk.says("R1", "01 received was 1009, I saw it") == (
        "01: that time is not yours to correct. Your words stand beside it."
    )
    taken = (await links(talk, "01"))[1]
    assert (taken["closed_at"], taken["corrections"]) == ("2026-10-12T10:19:00+01:00", [])
    account = (await talk.jar("01"))["accounts"][0]
    assert (account["by"], "1009" in str(account["told"])) == ("R1", True)


async def test_a_corrected_time_opens_or_closes_the_gap_it_is_about(talk: Talk) -> None:
    await handed_over(talk)
    assert [line for line in await talk.show("custody") if "gap" in line] == []
    await talk.says("R1", "01 released was 0950, wrong watch")
    assert [line["why"] for line in await talk.show("custody") if "gap" in line] == ["no holder"]


async def test_a_late_text_never_covers_a_later_correction_of_a_seal(talk: Talk) -> None:
    await jars(talk, "01")
    await talk.says("R1", "01 seal is 5111 not 5101, misread", at="2026-10-12T10:00:00Z")
    await talk.says(
        "R1", "01 seal is 5112 not 5101, misread", at="2026-10-12T10:30:00Z", sent_at="2026-10-12T08:30:00Z"
    )
    jar = await talk.jar("01")
    assert jar["seals"][0]["number"] == "5111"
    assert [account["sort"] for account in jar["accounts"]] == ["earlier_statement"], "it stands beside, as said earlier"
