"""A kit counted by text: what is there, what does not count, what it is ready for and what to buy."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from bot.model.message import Attachment
from bot.rules.gsm import segments
from bot.rules.par import ParItem
from bot.trades import catalogue, par_table
from tests.talk import SETUP, Talk, talk_to

ALL = (
    "kit A jars 16 rings 16 nets 5 pads 10 twine plain depressors 8 pole ok in van 2 cutter ok halves 16 "
    "spare halves 4 tape ok seals 5101-5121 labels 16 markers 2 gloves M L bags 2 tubes 8 carrier ok cooler ok "
    "ice bags 2 check bottle ok thermometer 0.1C sheets 4 cards 4 notebook ok scale ok"
)
CARD = Attachment(sha256="ab" * 32, size=9, media_type="image/jpeg", name="card.jpg")


async def item(talk: Talk, name: str) -> dict[str, Any]:
    items: list[dict[str, Any]] = (await talk.show("kit"))[0]["items"]
    return next(one for one in items if one["item"] == name)


async def test_one_line_is_read_back_with_what_limits_the_kit_and_what_to_buy(talk: Talk) -> None:
    said = await talk.says("R1", "kit A jars 14 tubes 6 tape ok gloves M L")
    assert said.startswith("Kit A on record: jars 14, tubes 6, electrical tape ok, gloves M L. ")
    assert "At most 12 jars of 16 by what is counted: tubes. Buy: jars 2, tubes 2." in said
    assert "Not counted yet: rings, nets, pads" in said
    assert (await item(talk, "jar"))["short"] == 2
    assert (await item(talk, "net"))["counted"] is None


async def test_a_whole_kit_is_ready_and_says_when_it_is_due_again(talk: Talk) -> None:
    said = await talk.says("R1", ALL)
    assert "Ready for 16 jars. Look again by 12 Nov, count by 12 Jan 2027, and after each use." in said
    kit = (await talk.show("kit"))[0]
    assert (kit["ready_for_jars"], kit["shortfalls"], kit["seals_left"]) == (16, [], 21)
    assert (await item(talk, "pole"))["place"] == "van 2"


async def test_the_glove_size_is_asked_once_and_held_against_the_boxes(talk: Talk) -> None:
    assert "Which glove size do you wear?" in await talk.says("R1", ALL)
    assert await talk.says("R1", "xl") == "Gloves XL on record for you."
    said = await talk.says("R1", "kit A gloves M L")
    assert "Buy: gloves XL. No gloves XL for R1." in said
    assert "Which glove size" not in said
    assert await talk.rebuilds_the_same()


async def test_who_leaves_the_size_out_is_not_asked_again(talk: Talk) -> None:
    await talk.says("R1", "kit A jars 16")
    assert await talk.says("R1", "skip") == "Left out; it is not asked again."
    assert "size" not in await talk.says("R1", "kit A jars 16")


@pytest.mark.parametrize(
    ("told", "answer", "name", "counted"),
    [
        ("rings 16 opened 2", "rings: 2 with the wrapper open, for training only, not counted.", "ring", 14),
        ("nets 5, 1 opened", "nets: 1 with the wrapper open, for training only, not counted.", "net", 4),
        ("twine waxed", "Twine told as waxed does not count: it must be unwaxed and untarred.", "twine", 0),
        ("gloves L latex M", "Latex M does not count: allergy, and petroleum breaks it down.", "gloves", 1),
        ("seals 5101-5110 5113-5121", "did not name: 5111 5112 (2). Not counted.", "seal", 19),
        ("thermometer 1.4C in ice slurry", "Thermometer reads 1.4 C in ice slurry; more than 0.5 C from 0.", "thermometer", 1),
        ("jars 16 chipped 1", "jars: 1 chipped, not counted.", "jar", 15),
    ],
)
async def test_what_does_not_count_is_said_with_its_rule(
    talk: Talk, told: str, answer: str, name: str, counted: int
) -> None:
    assert answer in await talk.says("R1", f"kit A {told}")
    assert (await item(talk, name))["counted"] == counted


@pytest.mark.parametrize(
    ("told", "answer"),
    [
        ("jars -3", "jars -3 is below nothing, not counted. How many are there?"),
        ("jars 1400", "jars 1400 is far over its par, not counted. Count again, or send jars 1400 STANDS."),
        ("jars 1.5", "jars 1.5: send a whole number."),
        ("jars ok", "jars: how many?"),
        ("tubez 6", "Not understood: tubez 6. Nearest: tubes."),
        ("seals 5121-5101", "Seals 5121-5101 do not run from low to high. Send them again."),
        ("gloves ok", "gloves: which sizes, a box each? Like: gloves M L XL."),
    ],
)
async def test_what_cannot_be_counted_is_asked_and_stays_not_counted(talk: Talk, told: str, answer: str) -> None:
    said = await talk.says("R1", f"kit A {told} nets 5")
    assert answer in said
    assert (await item(talk, "net"))["counted"] == 5
    assert [one["item"] for one in (await talk.show("kit"))[0]["items"] if one["counted"] is not None] == ["net"]


async def test_an_absurd_count_holds_when_its_author_says_that_it_stands(talk: Talk) -> None:
    await talk.says("R1", "kit A jars 1400 stands")
    assert (await item(talk, "jar"))["counted"] == 1400


async def test_a_meter_whose_date_has_passed_is_said(talk: Talk) -> None:
    assert "The meter's date 2026-09-30 has passed." in await talk.says("R1", "kit A meter 2026-09-30")
    assert "passed" not in await talk.says("R1", "kit A meter 2026-10")


async def test_two_people_counting_at_once_both_stand_and_the_lower_holds(talk: Talk) -> None:
    await talk.says("R1", "kit A jars 14")
    said = await talk.says("R2", "kit A jars 12")
    assert "jars: R1 counted 14 at 09:01. Both stand, the lower holds until you two agree." in said
    assert (await item(talk, "jar"))["by"] == {"R1": "jars 14", "R2": "jars 12"}
    assert "jars was 14." in await talk.says("R1", "kit A jars 12")
    assert (await item(talk, "jar"))["note"] is None


async def test_a_kit_in_two_places_is_said_and_both_stand(talk: Talk) -> None:
    await talk.says("R1", "kit A at quay shed")
    said = await talk.says("R2", "kit A at van 2")
    assert said == (
        "Kit A is at van 2, on record. R1 said quay shed at 09:01. "
        "Both stand. Whoever has it in hand, send its place again."
    )


async def test_a_photo_of_the_kit_card_is_kept_with_it_and_waits_for_no_jar(talk: Talk) -> None:
    said = "\n".join(one.text for one in await talk.hears("R1", "kit A jars 16", files=(CARD,)))
    assert "1 photo kept with it." in said
    assert (await talk.show("kit"))[0]["photos"] == [CARD.sha256]
    assert "without a jar" not in await talk.says("R1", "status")


async def test_a_month_later_nothing_counts_from_before(talk: Talk) -> None:
    await talk.says("R1", ALL)
    await talk.says("R1", "kit A jars 16", at="2026-11-12T09:00:00Z")
    assert (await talk.show("kit"))[0]["ready_for_jars"] is None
    assert (await item(talk, "tube"))["counted"] is None


async def test_the_walk_asks_item_by_item_and_takes_several_at_once(talk: Talk) -> None:
    first = await talk.says("R1", "inspect A")
    assert first == (
        "Count what is there now; nothing counts from before. "
        "Kit A, 1 of 26: jars, how many? Clean, no chip, liner in place."
    )
    assert (await talk.says("R1", "14")).startswith("jars 14. Kit A, 2 of 26: rings, how many?")
    assert (await talk.says("R1", "16 nets 5 pads 10")).startswith("rings 16, nets 5, pads 10. Kit A, 5 of 26: twine")
    assert (await talk.says("R1", "ok")).startswith("twine ok. Kit A, 6 of 26: depressors")
    assert (await talk.says("R1", "skip")).startswith("Kit A, 7 of 26: pole, OK or none?")
    assert (await talk.says("R1", "wrong")).startswith("Kit A, 5 of 26: twine")
    assert "STOP." in await talk.says("R1", "?")
    assert (await talk.says("R1", "stop")).startswith("Kit A: what you counted stays on record. At most 14 jars")
    assert [(await item(talk, name))["counted"] for name in ("jar", "ring", "net", "pad", "depressor")] == [14, 16, 5, 10, None]


async def test_a_second_person_is_asked_only_what_nobody_counted_yet(talk: Talk) -> None:
    await talk.says("R1", "inspect A")
    await talk.says("R1", "14")
    said = await talk.says("R2", "inspect A")
    assert said.startswith("Begun 09:02 by R1; this asks what is not counted yet. Kit A, 2 of 26: rings")


async def test_the_walk_ends_with_the_result(talk: Talk) -> None:
    await talk.says("R1", "inspect A")
    said = await talk.says("R1", ALL.removeprefix("kit A "))
    assert "Kit A is gone through. Ready for 16 jars." in said


async def test_a_jars_line_goes_before_the_walk_and_the_count_goes_on_after_it(talk: Talk) -> None:
    await talk.says("R1", "inspect A")
    await talk.says("R1", "03 spill sheen 0902 47.2830N 19.9510W seal 5103")
    assert (await talk.jar("03"))["kind"] == "spill"
    assert "1 of 26: jars" in await talk.says("R1", "inspect A")


async def test_a_kit_that_is_not_there_is_answered_with_those_that_are(talk: Talk) -> None:
    assert "Q is no kit. There are: A." in await talk.says("R1", "kit Q jars 4")
    assert "Kit A on record: jars 4." in await talk.says("R1", "kit jars 4")
    assert await talk.says("R1", "kit") == "A: At most 4 jars of 16 by what is counted: jars."


async def test_a_real_kit_says_no_exercise_though_a_drill_is_on(drill: Talk) -> None:
    await drill.says("R1", "CH-900")
    assert (await drill.says("R1", "kit A jars 14")).startswith("Kit A on record")


async def test_what_is_told_of_kits_is_verified_and_rebuilt(talk: Talk) -> None:
    await talk.says("R1", ALL)
    await talk.says("R2", "kit A jars 12")
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


@pytest.mark.parametrize("one", par_table().item, ids=lambda one: one.id)
def test_every_items_question_is_one_sms(one: ParItem) -> None:
    words = catalogue("en")
    key = f"kit.ask.{one.reader}" if one.reader != "count" or one.par(16) != 1 else "kit.ask.one"
    asked = [words.say(key, kit="TRAINING-1", place=26, many=26, item=one.name)]
    asked += [words.say(f"kit.where.{one.place}")] if one.place != "carrier" else []
    asked += [words.say(f"kit.look.{one.look}")] if one.look else []
    assert segments(f"EXERCISE {' '.join(asked)}") == 1


async def test_who_counts_no_kits_is_told_so_and_the_words_are_kept(tmp_path: Path, migrated_file: Path) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    courier = SETUP.replace('["supervisor"]', '["courier"]')
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, courier) as talk:
        said = "Kits are counted by crews and custodians. Your words are kept as a note, nothing is counted."
        assert await talk.says("S1", "kit A jars 4") == said
        assert await talk.says("S1", "inspect A") == said
        assert (await item(talk, "jar"))["counted"] is None
        assert "kit A jars 4" in {e["body"].get("words") for e in await talk.show("entries")}


TWO_CREWS = SETUP.replace('people = ["R1", "R2"]', 'people = ["R2"]')


async def open_case(talk: Talk, kit: str) -> str:
    await talk.says("R1", "case")
    for text in ("1", "CH-015", "sheen", "quay", "harbour watch", "skip", "R1", kit):
        await talk.says("R1", text)
    return await talk.says("R1", "skip")


async def test_a_kit_that_others_have_out_is_said_when_a_case_is_opened_with_it(tmp_path: Path, migrated_file: Path) -> None:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, TWO_CREWS) as talk:
        said = await open_case(talk, "A")
        assert said.startswith("Case CH-015 is open.")
        assert said.endswith(" Kit A is on record with R2 for CH-014 too.")


async def test_a_short_kit_and_a_name_that_is_no_kit_are_said_when_a_case_is_opened(talk: Talk) -> None:
    await talk.says("R1", "kit A tubes 3")
    await talk.says("R1", "skip")
    said = await open_case(talk, "A Zulu")
    assert "Zulu is no kit and is kept as you said it. There are: A. Kit A. At most 6 jars of 16 by what is counted: tubes." in said
    assert (await talk.show("cases", "CH-015"))[0]["told"]["kit"]["raw"] == "A Zulu"


async def test_a_kit_that_is_due_says_so_where_all_are_listed(talk: Talk) -> None:
    await talk.says("R1", ALL)
    await talk.says("R1", "skip")
    assert await talk.says("R1", "kit") == "A: Ready for 16 jars."
    assert await talk.says("R1", "kit", at="2026-11-20T09:00:00Z") == "A: Ready for 16 jars. It is due to be looked at now."
    await talk.says("R1", "kit A looked")
    assert await talk.says("R1", "kit") == "A: Ready for 16 jars."
    await talk.says("R1", "used A bags 1")
    assert "It was used since: count it before the next shift." in await talk.says("R1", "kit")
    assert (await talk.show("kit"))[0]["due"] == {"look": None, "count": None, "after_use": True}


async def test_a_photo_in_the_middle_of_the_walk_is_the_kit_cards_and_the_question_stays(talk: Talk) -> None:
    await talk.says("R1", "inspect A")
    said = "\n".join(one.text for one in await talk.hears("R1", "", files=(CARD,)))
    assert said == "1 photo kept with it. Kit A, 1 of 26: jars, how many? Clean, no chip, liner in place."
    assert (await talk.show("kit"))[0]["photos"] == [CARD.sha256]


async def test_ok_after_a_jar_that_came_into_the_walk_is_about_that_jar(talk: Talk) -> None:
    await talk.says("R1", "inspect A")
    await talk.says("R1", "jars 14 rings 16 nets 5 pads 10")
    said = await talk.says("R1", "03 spill sheen 0902 47.2830N 19.9510W pad gloves changed seal 5103 cooler M 4.4C")
    assert "OK, or send it." in said
    assert (await talk.says("R1", "ok")).startswith("03 on record.")
    assert (await item(talk, "twine"))["counted"] is None
    assert "Kit A, 5 of 26: twine" in await talk.says("R1", "inspect A")
