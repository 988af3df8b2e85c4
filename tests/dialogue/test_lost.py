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
        *("04 lost overboard", "04: lost", "Lost 04!!", "lost jar 04", "lost 04 sorry", "oh no lost 04"),
        *("sorry, we have lost jar 04 over the side", "04 missing", "04 lost at 1130", "04 sank"),
        *("04 went overboard off the quay", "04 fell off the boat", "04 fell in the water", "can't find 04"),
        *("04 was swept off the slip", "04 lost overboard just now"),
        *("frasco 04 perdido", "he perdido 04", "04 cayó por la borda", "bocal 04 perdu", "j'ai perdu 04"),
        *("04 passé par-dessus bord", "perdi o frasco 04", "04 tapt", "04 gikk over bord", "04 borte"),
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
    "words",
    [
        *("04 broke in the boat", "we dropped and broke 04 on the slip", "04 is leaking badly", "dropped jar 04"),
        *("dropped 04, smashed", "dropped 04 it broke", "04 dropped on the deck and broke"),
        *("04 está rota", "04 se rompió", "04 est cassé", "o 04 partiu", "krukke 04 knust", "04 er knust"),
    ],
)
async def test_of_a_broken_jar_the_glass_is_said_too(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    assert "Mind the glass, ask the safety lead." in await talk.says("R1", words)
    assert len(told(talk)) == 1


@pytest.mark.parametrize("words", ["04 lost, 05 ok", "05 is safe, 04 lost overboard", "05 fine but 04 lost"])
async def test_beside_jars_that_are_well_the_lost_one_alone_is_told_on(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "05 spill sheen 0901 seal 5105")
    assert (await talk.says("R1", words)).startswith("04: on record. Your supervisor is being told.")
    assert len(told(talk)) == len(await talk.show("alerts")) == 1


@pytest.mark.parametrize("words", ["04 found", "found jar 04", "04 was found under the seat", "frasco 04 encontrado"])
async def test_found_again_explains_the_gap_in_its_own_words(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "04 lost")
    assert await talk.says("R1", words) == "04: your statement is on record, with the time it was given."
    (alert,) = await talk.show("alerts")
    assert alert["closed_at"] is not None
    said = [e["body"]["words"] for e in await talk.show("entries", "CH-014") if e["kind"] == "GapExplained"]
    assert said == [words]


@pytest.mark.parametrize(
    "words",
    [
        *("04 found broken", "04 found smashed in the van", "04 found no seal", "04 found with seal cut"),
        *("04 found overboard", "04 found, offer 04 to C1", "04 encontrado roto", "04 er funnet knust"),
        *("04 found in the van without seal", "04 found in the van, 05 lost", "04 found not"),
    ],
)
async def test_what_else_is_said_of_a_jar_found_keeps_its_alert_open(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "04 lost")
    await talk.says("R1", words)
    assert all(alert["closed_at"] is None for alert in await talk.show("alerts"))


@pytest.mark.parametrize("words", ["04 lost sunday 2130", "04 overboard friday 1700", "04 perdido domingo 2130", "04 lost last night"])
async def test_when_a_jar_was_lost_is_not_when_it_was_taken(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    assert "Your supervisor is being told." in await talk.says("R1", words)
    assert (await talk.jar("04"))["event_time"] == "2026-10-12T08:55:00+01:00"


async def test_a_reading_beside_a_loss_is_not_swallowed(talk: Talk) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "05 spill sheen 0901 seal 5105")
    assert "STRIKE" not in await talk.says("R1", "04 lost, 05 5105 ok")


async def test_found_is_a_note_where_nothing_was_lost(talk: Talk) -> None:
    await talk.says("R1", JAR)
    assert (await talk.says("R1", "04 found")).startswith("Kept as a note")


@pytest.mark.parametrize(
    ("words", "alerts"),
    [
        ("04 missing", 1),
        ("lost jar 04", 1),
        ("04 not here", 0),
        ("04 wasn't in the box", 0),
        ("did not get 04", 0),
        ("never received jar 04!", 0),
        ("04 isn\u2019t here yet", 0),
        ("didn\u2019t get 04, sorry", 0),
        ("mangler 04", 0),
        ("no recib\u00ed 04", 0),
        ("04 nao esta aqui", 0),
        ("04 no está", 0),
        ("04 n'est pas là", 0),
        ("04 não veio", 0),
        ("04 ikke mottatt", 0),
    ],
)
async def test_a_receiver_without_the_jar_refuses_it_and_its_giver_hears_why(
    talk: Talk, words: str, alerts: int
) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "OK")
    await talk.says("R1", "offer 04 to C1")
    assert (await talk.says("C1", words)).startswith("04 refused, on record with R1.")
    assert f'C1 does not take 04: "{words.strip(" ,.:")}". It stays with you.' in told(talk, "R1")
    assert len(await talk.show("alerts")) == alerts
    assert (await talk.jar("04"))["with"] == "R1"


@pytest.mark.parametrize("words", ["04 not with label", "04 isn't in doubt", "04 not in order"])
async def test_what_a_receiver_doubts_of_a_jar_refuses_nothing(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "OK")
    await talk.says("R1", "offer 04 to C1")
    assert "refused" not in await talk.says("C1", words)


@pytest.mark.parametrize("words", ["04 not here", "didn't get 04", "04 mangler", "04 not in the box"])
async def test_a_jar_that_nobody_offered_is_not_missed_by_such_words(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    assert (await talk.says("R1", words)).startswith("Kept as a note")


async def test_a_number_that_is_no_jar_s_is_said_beside_those_that_are(talk: Talk) -> None:
    await talk.says("R1", JAR)
    answer = await talk.says("R1", "04 05 lost")
    assert answer.startswith("04: on record.")
    assert answer.endswith("No jar 05 of yours is on record. Send it in one line, or JAR.")


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
        *("05 lost", "04 not lost", "is 04 lost?", "lost 4 gloves", "lost 2 of them", "04 was lost, found again"),
        *("04 label lost", "04 lost signal", "04 lost gps", "04 missing position", "04 lost bottle cap"),
        *("04 photo missing", "04 broken glass on deck", "04 seal broken", "04 thick 0901 pad broken lid"),
        *("04 dropped off at lab", "dropped 04 off at the lab", "dropped 04 in cooler M", "04 gone to lab"),
        *("04 has gone in the van", "04 partiu para o laboratorio", "04 went in the cooler M 4.4"),
        *("cooler M gone to lab", "cooler M lost power", "cooler M dropped to 3.1 C", "cooler M leaks water"),
        *("04 roto sello", "04 cassé scellé", "04 perdida etiqueta", "04 mistet lokket"),
        f"04 lost {'and so ' * 40}",
    ],
)
async def test_other_words_raise_no_loss(talk: Talk, words: str) -> None:
    await talk.says("R1", JAR)
    answer = await talk.says("R1", words)
    assert "STRIKE 04" not in answer
    assert not any("STRIKE" in text or "cooler:" in text for text in told(talk))


async def test_the_reason_that_was_asked_for_raises_no_loss(talk: Talk) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "OK")
    await talk.says("R1", "04 seal 5105")
    await talk.says("R1", "04 lost")
    assert told(talk) == []


async def test_broken_alone_is_its_holders_reading_and_flagged_as_before(talk: Talk) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "04 broken")
    assert "exception" in (await talk.jar("04"))["flags"]


async def test_how_a_jar_is_that_waits_for_its_receiver_is_their_reading(talk: Talk) -> None:
    await talk.says("R1", JAR)
    await talk.says("R1", "OK")
    await talk.says("R1", "offer 04 to C1")
    assert "STRIKE" not in await talk.says("C1", "04 broken")


@pytest.mark.parametrize(
    "words",
    ["cooler M went overboard", "lost cooler M", "the cooler M fell in the water", "nevera M perdida", "kjøleboks M borte"],
)
async def test_a_cooler_overboard_is_told_on(talk: Talk, words: str) -> None:
    await talk.says("R1", f"{JAR} cooler M 4.4C")
    assert (await talk.says("R1", words)).startswith(
        "Cooler M: on record. Your supervisor is being told. Its jars stay on the count."
    )
    assert told(talk) == [
        f'R1 of a cooler: "{words}". Its jars stay on the count until they are struck. Call them.'
    ]
