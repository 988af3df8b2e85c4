"""A drill on the crew's own phones: paced, scored in plain words, apart from all that is real."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.drilling import Asked, begin, score_now
from bot.model.errors import AskedWrongly
from bot.model.times import MINUTE_US, us_of_iso
from bot.rules.drills import Drill, timed
from bot.rules.gsm import segments
from bot.trades import drills
from storage.rebuild import contents
from tests.talk import ADDRESSES, SETUP, START, Talk, talk_to

TRAINING = """
[[kits]]
name = "T"
numbers = [901, 916]
seals = ["E101", "E121"]
training = true
"""
BEGUN = us_of_iso(START)
WELL = "spill sheen {at} 47.2830N 19.9510W pad gloves changed seal {seal} cooler T 4.4C"


@pytest.fixture
async def talk(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, SETUP + TRAINING) as line:
        yield line


async def minutes(talk: Talk, after: float) -> dict[str, list[str]]:
    """Who was sent what by this many minutes after the beginning, since the last look."""
    talk.sent.clear()
    talk.clock.move_to(BEGUN + int(after * MINUTE_US))
    await talk.house.drain()
    names = {address: name for name, address in ADDRESSES.items()}
    found: dict[str, list[str]] = {}
    for text in talk.sent:
        found.setdefault(names[text.address], []).append(text.text)
    return found


async def begun(talk: Talk, name: str = "sheen", **asked: object) -> str:
    return (await begin(talk.house.store, talk.clock, name, Asked(**asked))).case  # type: ignore[arg-type]  # names of fields


@pytest.mark.parametrize("drill", drills().values(), ids=lambda drill: drill.name)
def test_every_step_is_one_sms_with_its_exercise_word_and_lies_inside_its_drill(drill: Drill) -> None:
    values = {
        "case": "DRILL-12", "title": drill.title, "minutes": "120", "crew": "R1 R2 R3", "kit": "T",
        "numbers": "901-916", "seals": "E101-E121", "cooler": "T",
    }  # fmt: skip
    for at_us, step in timed(drill, 0, 1, values):
        assert segments(f"EXERCISE {step.text}") <= (1 if step.to == "crew" and at_us else 2), step.text
        assert at_us <= drill.minutes * MINUTE_US
        assert not any(word in step.text.lower() for word in ("enter", "climb", "lean over", "go down"))


async def test_its_texts_go_to_the_crews_own_phones_when_they_are_due(talk: Talk) -> None:
    case = await begun(talk)
    assert case == "DRILL-1"
    first = await minutes(talk, 0)
    assert first["R1"] == first["R2"]
    (text,) = first["R1"]
    assert text == (
        "EXERCISE DRILL-1 begins. Take kit T, numbers 901-916, seals E101-E121, cooler T. "
        "If you find real oil, send NO DRILL and what you see."
    )
    assert first["S1"][0].startswith("EXERCISE DRILL-1 has begun: Sheen off the fish quay, 45 min. Crew: R1 R2.")
    assert "C1" not in first
    assert "silver film" in (await minutes(talk, 1))["R1"][0]
    assert await minutes(talk, 5) == {}
    assert "Two ships" in (await minutes(talk, 6))["R2"][0]


async def test_twice_the_pace_is_half_the_time_and_only_those_named_play(talk: Talk) -> None:
    await begun(talk, pace=2.0, crew=("R2",), instructor="C1")
    sent = [await minutes(talk, at) for at in (0, 0.5, 3)]
    assert {who for one in sent for who in one} == {"R2", "C1"}
    assert "Two ships" in sent[2]["R2"][0]
    assert "told, 7 asked for" in (await minutes(talk, 22.5))["C1"][-1]


async def test_a_jar_of_the_training_kit_is_the_drills_and_says_so(talk: Talk) -> None:
    await begun(talk)
    said = await talk.says("R1", f"901 {WELL.format(at='0901', seal='E101')}")
    assert said.startswith("EXERCISE")
    assert (await talk.jar("901"))["case"] == "DRILL-1"


async def test_the_score_names_jars_in_plain_words(talk: Talk) -> None:
    await begun(talk)
    await talk.says("R1", "901 source tank 2P 0901 47.2830N 19.9510W drawn by crew gloves changed seal E101 cooler T 4.4C")
    await talk.says("R1", f"902 {WELL.format(at='0902', seal='E102')}")
    await talk.says("R1", "ok")
    await talk.says("R2", "903 spill thick 0904 47.2830N 19.9510W jar seal 5103")
    sent = await minutes(talk, 45)
    assert sent["S1"][-1].splitlines()[:5] == [
        "EXERCISE DRILL-1, Sheen off the fish quay: 3 jars told, 7 asked for.",
        "Order: 902 after the dirtier 901.",
        "Gloves: not stated for 903.",
        "Seals: not of the training range, 903.",
        "Cold: no cooler told for 903.",
    ]
    assert "Asked for and not taken: 1 unused material, 1 clean water, 1 spill, 1 suspect source." in sent["S1"][-1]
    assert "R1" not in sent["S1"][-1]
    assert "EXERCISE " + await score_now(talk.house.store, "sheen", "DRILL-1") == sent["S1"][-1]


async def test_a_drill_leaves_nothing_in_real_records(talk: Talk) -> None:
    async def real() -> dict[str, object]:
        async with talk.house.store.database.read() as tx:
            tables = await contents(tx)
        jars = [jar for jar in await talk.show("samples") if not jar["exercise"]]
        return {
            "unit": [row for row in tables["unit_items"] if row[0] != "unit"],
            "jars": jars,
            "case": await talk.show("cases", "CH-014"),
            "entries": await talk.show("entries", "CH-014"),
            "kit": (await talk.show("kit", "CH-014"))[0],
            "cooler": [one for one in await talk.show("cooler") if one["name"] == "M"],
            "alerts": await talk.show("alerts"),
        }

    await talk.says("R1", "CH-014 03 spill sheen 0801 47.2830N 19.9510W seal 5103")
    before = await real()
    await begun(talk)
    await minutes(talk, 2)
    for number in (901, 902, 903):
        await talk.says("R1", f"{number} {WELL.format(at='0902', seal=f'E{number - 800}')}")
    await minutes(talk, 46)
    assert await real() == before
    assert (await talk.verdict()).found == ()


async def test_real_oil_in_a_drill_opens_a_real_case_that_cites_it_and_nothing_converts(talk: Talk) -> None:
    await begun(talk)
    await minutes(talk, 2)
    await talk.says("R1", f"901 {WELL.format(at='0902', seal='E101')}")
    told = await talk.hears("R1", "NO DRILL black oil under the north pier")
    mine = next(one.text for one in told if one.person == "R1")
    assert mine.startswith("No drill. Real case DRILL-1-REAL is open from now; the drill sends no more.")
    others = {one.person: one.text for one in told if one.person != "R1"}
    assert set(others) == {"R2", "S1"}
    assert others["S1"].startswith("No drill: R1 reports real oil during DRILL-1: black oil under the north pier.")
    case = (await talk.show("cases", "DRILL-1-REAL"))[0]
    assert (case["exercise"], case["people"], case["told"]["seen"]["raw"]) == (False, ["R1", "R2"], "black oil under the north pier")
    (opened,) = [one for one in await talk.show("entries", "DRILL-1-REAL") if one["kind"] == "CaseOpened"]
    cited = {f"DRILL-1#{one['seq']}": one["kind"] for one in await talk.show("entries", "DRILL-1")}
    assert [cited[one] for one in opened["body"]["cites"]] == ["CaseOpened", "NoteMade"]
    jar = await talk.jar("901")
    assert (jar["case"], jar["exercise"]) == ("DRILL-1", True)
    assert "EXERCISE" not in await talk.says("R1", "DRILL-1-REAL 04 spill thick 0906 47.2830N 19.9510W seal 5104")
    assert (await talk.jar("04"))["case"] == "DRILL-1-REAL"
    assert "R1" not in await minutes(talk, 20), "the drill sends no more"


async def test_no_drill_outside_a_drill_is_a_note(talk: Talk) -> None:
    assert "Kept as a note" in await talk.says("R1", "no drill today")


@pytest.mark.parametrize(
    ("name", "asked", "why"),
    [
        ("storm", Asked(), "There is no drill called storm; there are: handover, sheen, tar."),
        ("sheen", Asked(kit="A"), "A is no training kit; there are: T."),
        ("sheen", Asked(crew=("R9",)), "R9 has no phone on this line; there are: C1, R1, R2, S1."),
    ],
)
async def test_a_drill_that_cannot_be_is_refused_in_one_sentence(talk: Talk, name: str, asked: Asked, why: str) -> None:
    with pytest.raises(AskedWrongly) as refused:
        await begin(talk.house.store, talk.clock, name, asked)
    assert str(refused.value) == why
    assert "DRILL-1" not in {case["name"] for case in await talk.show("cases")}


async def test_without_a_training_kit_there_is_no_drill(migrated_file: Path, tmp_path: Path) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path) as line:
        with pytest.raises(AskedWrongly, match="There is no training kit; add one"):
            await begin(line.house.store, line.clock, "sheen", Asked())


async def test_a_drill_in_which_no_jar_was_told_says_only_what_was_not_taken(talk: Talk) -> None:
    case = await begun(talk, "handover")
    assert (await score_now(talk.house.store, "handover", case)).splitlines() == [
        "DRILL-1, One ship, one cut seal, one hand-over: 0 jars told, 5 asked for.",
        "Asked for and not taken: 1 clean water, 2 spill, 1 suspect source, 1 duplicate.",
    ]
    with pytest.raises(AskedWrongly, match="CH-014 is no drill's case"):
        await score_now(talk.house.store, "handover", "CH-014")


async def test_a_training_kit_is_counted_as_an_exercise_and_raises_no_alert(talk: Talk) -> None:
    await begun(talk)
    assert (await talk.says("R1", "kit T jars 1")).startswith("EXERCISE Kit T on record: jars 1.")
    assert (await talk.says("R1", "inspect T")).startswith("EXERCISE ")
    assert await talk.show("alerts") == []
