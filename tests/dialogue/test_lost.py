"""A jar that is said to be lost, broken or leaking: on record, told at once, on the count until struck."""

from __future__ import annotations

import pytest

from tests.talk import ADDRESSES, Talk

JAR = "04 spill sheen 0855 seal 5104"


def told(talk: Talk, name: str = "S1") -> list[str]:
    """What this person was sent."""
    return [text.text for text in talk.sent if text.address == ADDRESSES[name]]


@pytest.mark.parametrize(
    "words",
    [
        "04 lost overboard",
        "4 went overboard off the quay",
        "lost jar 04",
        "sorry, we have lost jar 04 over the side",
        "04 missing",
        "04 perdido",
        "04 perdu",
        "04 borte",
    ],
)
async def test_a_jar_that_is_said_to_be_lost_is_told_on_and_stays_with_its_holder(
    talk: Talk, words: str
) -> None:
    await talk.says("R1", JAR)
    assert await talk.says("R1", words) == (
        "04: on record. Your supervisor is being told."
        " If lost for good, send STRIKE 04 and how. If found, EXPLAIN 04 and how."
    )
    assert told(talk) == [
        f'R1 of jar 04: "{words}". On record with R1. MINE 04 takes this. STRIKE or EXPLAIN ends it.'
    ]
    jar = await talk.jar("04")
    assert (jar["with"], jar["status"] == "struck") == ("R1", False)
    (alert,) = await talk.show("alerts")
    assert (alert["kind"], alert["level"], alert["closed_at"]) == ("custody_gap", "critical", None)


@pytest.mark.parametrize(
    "words", ["04 broke in the boat", "we dropped and broke 04 on the slip", "04 is leaking badly", "04 knust"]
)
async def test_of_a_broken_jar_the_glass_is_said_too(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    assert "Mind the glass, ask the safety lead." in await talk.says("R1", words)
    assert len(told(talk)) == 1


async def test_the_words_are_kept_as_they_came(talk: Talk) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "04 went overboard off the quay")
    notes = [e["body"]["words"] for e in await talk.show("entries", "CH-014") if e["kind"] == "NoteMade"]
    assert notes == ["04 went overboard off the quay"]


async def test_said_again_it_is_kept_and_nobody_is_told_twice(talk: Talk) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "04 lost")
    assert (await talk.says("R1", "04 lost")).startswith("04: on record. If lost for good")
    assert told(talk) == []
    assert len(await talk.show("alerts")) == 1


@pytest.mark.parametrize(
    ("words", "over"),
    [
        ("strike 04 went overboard", "04 is struck: over."),
        ("explain 04 was in the other bag", "04: the gap is explained and stays on record."),
    ],
)
async def test_it_is_over_once_the_jar_is_struck_or_explained(talk: Talk, words: str, over: str) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "04 lost")
    await talk.says("R1", words)
    assert told(talk)[-1] == over
    (alert,) = await talk.show("alerts")
    assert alert["closed_at"] is not None


@pytest.mark.parametrize(
    "words",
    [
        "05 lost",
        "04 not lost",
        "is 04 lost?",
        "lost 4 gloves",
        "lost 2 of them",
        "04 label lost",
        "04 lost signal",
        "04 photo missing",
        "04 thick 0901 pad broken lid",
        "04 seal broken",
        f"04 lost {'and so ' * 40}",
    ],
)
async def test_other_words_raise_no_loss(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    answer = await talk.says("R1", words)
    assert "STRIKE 04" not in answer
    assert "lost" not in " ".join(told(talk))


async def test_how_a_jar_is_that_waits_for_its_receiver_is_their_reading(talk: Talk) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "OK")
    await talk.says("R1", "offer 04 to C1")
    assert "STRIKE" not in await talk.says("C1", "04 broken")


async def test_a_cooler_overboard_is_told_on(talk: Talk) -> None:
    await talk.says("R1", f"{JAR} cooler M 4.4C")
    assert (await talk.says("R1", "cooler M went overboard")).startswith(
        "Cooler M: on record. Your supervisor is being told. Its jars stay on the count."
    )
    assert told(talk) == [
        'R1 of a cooler: "cooler M went overboard". Its jars stay on the count until they are struck. Call them.'
    ]
