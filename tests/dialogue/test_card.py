"""The card for where phones are barred: printed, filled by hand, kept as a picture, typed in by a person.

What is typed from it must be read by the one-line entry's own reader; no outside source has such a card.
"""

from __future__ import annotations

import io
from zoneinfo import ZoneInfo

import pypdf
import pytest

from bot.model.message import Attachment
from bot.printing import Order, make
from bot.reports.card import EXAMPLE, JARS, ROWS
from bot.reports.papers import Facts
from bot.trades import tables
from tests.talk import Talk

PICTURE = Attachment(sha256="ab" * 32, size=1000, media_type="image/jpeg", name="card.jpg")
JAR = PICTURE.model_copy(update={"sha256": "cd" * 32, "name": "jar.jpg"})
BOXES = [box for row in ROWS for box in row]
FILLED = {
    "number": "04", "kind": "source", "time": "0830", "position": "47.2830N 19.9510W", "method": "clean tube", "fill": "3/4",
    "gloves": "changed", "seal": "tape RB", "photo": "2", "cooler": "M 4.4C 0840", "vessel": "Marbel", "tank": "2P",
    "drawn_by": "chief", "collector": "R2", "place": "by the steps",
}  # fmt: skip
SPILL = {"number": "05", "kind": "spill", "matrix": "mixed", "time": "0835", "method": "depressor", "gloves": "not changed"}
TWIN = {"number": "06", "duplicate_of": "05", "matrix": "mixed", "time": "0836", "seal": "5106"}


def typed(values: dict[str, str]) -> str:
    """The boxes that were filled, in their order, each behind its printed word."""
    return "CARD " + " ".join(f"{box.word} {values[box.field]}".strip() for box in BOXES if box.field in values)


def test_every_field_that_is_wanted_now_has_a_box() -> None:
    fields = {box.field for box in BOXES}
    assert set(tables()[0].not_stated) <= fields


@pytest.mark.parametrize("size", ["a4", "us-letter"])
@pytest.mark.parametrize("exercise", [False, True])
async def test_the_card_is_one_page_with_its_boxes_in_order(size: str, exercise: bool) -> None:
    zone = ZoneInfo("Europe/Lisbon")
    facts = Facts("CH-014", exercise, "Corrowby Haven", "12 Oct 2026 15:00 +01:00", "CH-014#9 00ff", size, zone, [])
    pages = pypdf.PdfReader(io.BytesIO(await make("card", facts, Order()))).pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    assert EXAMPLE in text
    assert text.count("cooler name, bottle C, time") == JARS
    assert [text.index(box.inside) for box in ROWS[0] if box.inside] == sorted(
        text.index(box.inside) for box in ROWS[0] if box.inside
    )
    assert ("EXERCISE" in text) == exercise


@pytest.mark.parametrize("values", [FILLED, SPILL, TWIN], ids=["source", "spill", "duplicate"])
async def test_what_is_typed_box_by_box_is_read_whole_and_marked_from_card(talk: Talk, values: dict[str, str]) -> None:
    await talk.says("R1", "05 spill thick 0800 seal 5105") if values is TWIN else None
    answer = await talk.says("R1", typed(values))
    assert "Not understood" not in answer
    assert "from card" in answer
    jar = await talk.jar(values["number"])
    assert "from_card" in jar["flags"]
    assert values.keys() - {"number"} <= {*jar["raw"], *(["photo"] if jar["photos"] else [])}, jar["raw"]


async def test_the_cards_own_example_is_read_whole(talk: Talk) -> None:
    answer = await talk.says("R1", EXAMPLE, at="2026-10-12T09:30:00Z")
    assert answer.startswith("03 saved, not confirmed: spill, sheen, net, 10:02")
    assert answer.endswith("Not stated: photo. OK, or send it.")


async def test_several_rows_come_in_one_text(talk: Talk) -> None:
    await talk.says("R1", f"{typed(SPILL)}\n{typed({**TWIN, 'number': '07'})}")
    assert [(await talk.jar(number))["flags"][-1] for number in ("05", "07")] == ["from_card", "from_card"]


async def test_a_cards_picture_is_kept_as_it_came_and_belongs_to_no_jar(talk: Talk) -> None:
    answer = await talk.says("R1", "card", files=(PICTURE,))
    assert answer.startswith("Card kept as it came. Type each jar in")
    assert [one["sha256"] for one in await talk.show("photos")] == [PICTURE.sha256]
    await talk.says("R1", typed(FILLED), files=(PICTURE,))
    assert [one["sample"] for one in await talk.show("photos")] == [None, None]
    assert [one["sha256"] for one in (await talk.jar("04"))["photos"]] == [None, None], "two announced, none of them the card"
    assert "without a jar" not in await talk.says("R1", "status")
    await talk.says("R1", "", files=(JAR,))
    flags = [one["flags"] for one in await talk.show("photos")]
    assert flags == [["to be typed by a person"], ["to be typed by a person"], []]
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_a_cards_picture_leaves_the_open_question_open(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "01"):
        await talk.says("R1", text)
    assert "what is it?" in await talk.says("R1", "card", files=(PICTURE,))


async def test_a_jar_from_a_card_is_not_warned_of_its_order(talk: Talk) -> None:
    await talk.says("R1", "01 spill thick 0805")
    assert "cleaner" not in await talk.says("R1", "card 02 clean water 0810")
