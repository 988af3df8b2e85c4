"""Who speaks in a hand-over: codes by SMS, a receiver on the giver's phone, a side that signs on paper."""

from __future__ import annotations

from bot.administer import issue_code
from bot.clock import SeededSecrets
from bot.model.message import Attachment
from tests.dialogue.test_custody import jars, links, told
from tests.talk import KEY, Talk

PAPER = Attachment(sha256="ab" * 32, size=1000, media_type="image/jpeg", name="paper.jpg")


async def code(talk: Talk, name: str, purpose: str, seed: str = "codes") -> str:
    """A code as the shell shows it."""
    shown, _ = await issue_code(talk.house.store, name, purpose, talk.clock, SeededSecrets(f"{seed} {name}"), KEY)
    return shown


async def test_a_hand_over_with_the_persons_own_code_says_so_on_record(talk: Talk) -> None:
    await jars(talk, "01")
    mine = await code(talk, "C1", "personal")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", "01 5101 whole")
    assert (await talk.jar("01"))["with"] == "R1", "without it the reading is kept and nothing moves"
    assert await talk.says("C1", f"01 5101 whole {mine}") == "01 received 09:04, with you."
    taken = (await links(talk, "01"))[1]
    assert (taken["coded"], taken["on_phone_of"], len(taken["readings"])) == (True, None, 2)


async def test_no_code_stands_in_clear_in_the_record(talk: Talk) -> None:
    await jars(talk, "01")
    mine, once = await code(talk, "C1", "personal"), await code(talk, "C1", "once", "other")
    await talk.says("R1", "offer 01 to C1")
    await talk.says("C1", f"01 5109 whole code {mine}")
    await talk.says("R1", f"01 5109 whole {once}")
    rows = [str(row) for what in ("entries", "messages", "custody") for row in await talk.show(what)]
    assert rows
    assert not any(secret in row for row in rows for secret in (mine, once))


async def test_a_receiver_speaks_on_the_givers_phone_by_their_own_one_time_code(talk: Talk) -> None:
    await jars(talk, "01", "02")
    once = await code(talk, "C1", "once")
    await talk.says("R1", "offer 01-02 to C1")
    assert await talk.says("R1", f"01 5101 whole {once}") == "C1 read and took 01, 09:04.\n01 received 09:04, with you."
    taken = (await links(talk, "01"))[1]
    assert (taken["to"], taken["on_phone_of"], taken["readings"][0]["by"]) == ("C1", "R1", "C1")
    assert "on record with you already" in await talk.says("R1", f"02 5102 whole {once}"), "it counts once"
    assert (await talk.jar("02"))["with"] == "R1"


async def test_a_personal_code_does_not_speak_for_its_owner_on_another_phone(talk: Talk) -> None:
    await jars(talk, "01")
    personal = await code(talk, "C1", "personal")
    await talk.says("R1", "offer 01 to C1")
    assert "on record with you already" in await talk.says("R1", f"01 5101 whole {personal}")
    assert (await talk.jar("01"))["with"] == "R1"


async def test_a_side_that_is_not_on_the_line_signs_on_paper_and_a_supervisor_closes_it(talk: Talk) -> None:
    await jars(talk, "06")
    assert await talk.says("R1", "paper 06 to Mate 0902 split") == (
        "06 to Mate on paper. On record with you until a supervisor closes it. "
        "Send the photo of the signed paper with the words: paper 06"
    )
    assert "no photo of a signed paper" in await talk.says("S1", "close paper 06")
    assert (await talk.jar("06"))["with"] == "R1"
    assert await talk.says("R1", "paper 06", files=(PAPER,)) == (
        "Photo of the paper for 06 on record. A supervisor closes it."
    )
    assert "A supervisor closes papers" in await talk.says("C1", "close paper 06")
    assert await talk.says("S1", "close paper 06 0903") == "06 closed on paper, 09:03."
    assert told(talk, "R1") == "06 is on record with Mate on paper, closed by S1."
    taken = (await links(talk, "06"))[1]
    assert (taken["to"], taken["type"], taken["by_channel"], taken["exception"], taken["papers"]) == (
        "Mate", "split", "paper", "paper", ["ab" * 32],
    )  # fmt: skip
    assert taken["closed_at"] == "2026-10-12T09:03:00+01:00"
    assert [photo["sha256"] for photo in await talk.show("photos")] == ["ab" * 32]
    assert (await talk.jar("06"))["photos"] == [], "a paper is no photo of the jar"


async def test_a_jar_comes_back_on_paper_and_its_seal_is_read_first(talk: Talk) -> None:
    await jars(talk, "06")
    await talk.says("R1", "paper 06 to Mate", files=(PAPER,))
    await talk.says("S1", "close paper 06")
    assert "on record with Mate" in await talk.says("R1", "offer 06 to C1")
    await talk.says("C1", "paper 06 from Mate", files=(PAPER,))
    assert "C1 has not read its seal" in await talk.says("S1", "close paper 06")
    assert "differs" in await talk.says("C1", "06 5109 whole")
    assert "has not read its seal" in await talk.says("S1", "close paper 06"), "a seal read otherwise does not count"


async def test_a_seal_that_is_read_as_on_record_closes_the_way_back(talk: Talk) -> None:
    await jars(talk, "06")
    await talk.says("R1", "paper 06 to Mate", files=(PAPER,))
    await talk.says("S1", "close paper 06")
    await talk.says("C1", "paper 06 from Mate", files=(PAPER,))
    assert await talk.says("C1", "06 5106 whole") == "06 read. It waits for the photo of the paper and a supervisor."
    assert "closed on paper" in await talk.says("S1", "close paper 06")
    assert (await talk.jar("06"))["with"] == "C1"
    assert await talk.rebuilds_the_same()


async def test_nobody_closes_their_own_paper(talk: Talk) -> None:
    await jars(talk, "06")
    await talk.says("R1", "offer 06 to S1")
    await talk.says("S1", "06 5106 whole")
    await talk.says("S1", "paper 06 to Mate", files=(PAPER,))
    assert "somebody else closes" in await talk.says("S1", "close paper 06")


async def test_somebody_on_the_line_gives_no_jar_away_by_anothers_paper(talk: Talk) -> None:
    await jars(talk, "06")
    assert "needs no paper" in await talk.says("C1", "paper 06 from R1", files=(PAPER,))
    assert (await talk.jar("06"))["with"] == "R1"
    assert "No paper waits" in await talk.says("S1", "close paper 06")


async def test_a_paper_that_nobody_signed_is_taken_back(talk: Talk) -> None:
    await jars(talk, "06")
    await talk.says("R1", "paper 06 to Mate")
    assert await talk.says("R1", "withdraw 06") == "06 taken back, on record with you."
