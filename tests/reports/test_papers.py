"""The papers, read back by other people's programs: text by pypdf, pages by PDFium, codes by ZXing."""

from __future__ import annotations

import io
import re
import shutil
from collections.abc import AsyncIterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pypdf
import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from bot.model.errors import AskedWrongly
from bot.printing import PAPERS, Order, make
from bot.reports.papers import Facts
from tests.talk import SETUP, Talk, talk_to

LISBON = ZoneInfo("Europe/Lisbon")
OPEN = {
    "sample": "04", "from": "R1", "to": "C1", "type": "hand", "place": None, "offered_at": "2026-10-12T14:00:00+01:00",
    "read_at": None, "closed_at": None, "seal_read": None, "condition": None, "by_channel": "sms", "exception": None,
    "state": "open",
}  # fmt: skip
CLOSED = {
    **OPEN, "sample": "04", "closed_at": "2026-10-12T13:07:00+01:00", "seal_read": "5104", "condition": "whole",
    "from": "R2", "to": "R1", "exception": "seal read late", "state": "received",
}  # fmt: skip
GAP = {"sample": "03", "gap": ["2026-10-12T12:00:00+01:00", "2026-10-12T12:30:00+01:00"], "why": "no holder", "explained": None, "statements": []}
LIMIT = {"limit": "cold_limit_c", "value": 6.0, "is": "in range"}
WARM = {"cooler": "M", "at_least_minutes": 30.0, "at_most_minutes": None, "peak_celsius": 8.4, "limit": LIMIT}


@pytest.fixture
async def talk(migrated_file: Path, tmp_path: Path) -> AsyncIterator[Talk]:
    shutil.copy(migrated_file, tmp_path / "coldjar.db")
    async with talk_to(f"sqlite:///{tmp_path / 'coldjar.db'}", tmp_path, SETUP) as opened:
        yield opened


async def facts_of(talk: Talk, **changed: Any) -> Facts:
    """Two jars with their evidence numbers, a duplicate of one of them, and one without a number yet."""
    for text in (
        "03 spill sheen 0902 47.2830N 19.9510W pad seal 5103 cooler M 4.4C tube T1 container 118 ml",
        "04 duplicate of 03 sheen 0904 47.2830N 19.9510W pad seal 5104 cooler M 4.4C tube T1 container 118 ml",
        "05 source tank 2P 0906 47.2830N 19.9510W seal 5105 hazards hot fuel on deck",
        "03 seal is 5113 not 5103, misread",
    ):
        await talk.says("R1", text)
    for jar in ("03 E-118", "04 E-119"):
        await talk.says("C1", jar)
    samples = await talk.show("samples", "CH-014")
    assert [jar["evidence_number"] for jar in samples] == ["E-118", "E-119", None]
    known = Facts("CH-014", False, "Corrowby Haven", "12 Oct 2026 15:00 +01:00", "CH-014#9 00ff", "a4", LISBON, samples)
    return replace(known, **changed)


def warmed(facts: Facts) -> Facts:
    """The same, its first jar's cooler out of range for a while, and that jar kept under an order."""
    first, *others = facts.samples
    return replace(facts, samples=[{**first, "excursions": [WARM], "retained": "order 5 of the court"}, *others])


def text_of(pdf: bytes) -> list[str]:
    """The text of each page, as pypdf reads it."""
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def pages(pdf: bytes, dots_per_inch: int = 150) -> list[Image.Image]:
    """Each page as PDFium draws it."""
    return [page.render(scale=dots_per_inch / 72).to_pil().convert("RGB") for page in pypdfium2.PdfDocument(pdf)]


async def test_the_custody_sheet_lists_each_jar_with_its_seal_and_room_for_the_receivers_reading(talk: Talk) -> None:
    (text,) = text_of(await make("custody", await facts_of(talk), Order()))
    for told in ("03 E-118 sheen", "5113", "04 E-119", "5104", "Seal read by receiver", "CH-014#9 00ff"):
        assert told in text
    assert "5103" not in text  # corrected


async def test_while_a_hand_over_is_open_the_sheet_shows_no_seal_of_that_jar_anywhere(talk: Talk) -> None:
    facts = await facts_of(talk, custody=[CLOSED, OPEN, GAP])
    (text,) = text_of(await make("custody", facts, Order()))
    assert "5104" not in text
    assert "5113" in text
    assert "The seal of 04 is left empty" in text
    assert "GAP 12 Oct 2026 12:00 +01:00 to 12 Oct 2026 12:30 +01:00: no holder, not explained" in text
    (blind,) = text_of(await make("custody", facts, Order(blind=True)))
    assert not re.search(r"51\d\d", blind)


async def test_no_paper_shows_the_seal_of_a_jar_that_is_being_handed_over(talk: Talk) -> None:
    await facts_of(talk)
    await talk.says("R1", "offer 04 to C1")
    facts = replace(await facts_now(talk), roles={"R1": ("responder",), "C1": ("custodian",)})
    for paper in PAPERS:
        whole = " ".join(text_of(await make(paper, facts, Order())))
        assert "5104" not in whole, paper
    await talk.says("C1", "04 5199 whole")
    whole = " ".join(text_of(await make("exceptions", await facts_now(talk), Order())))
    assert "Hand-over R1 to C1: mismatched." in whole
    assert "Hand-over R1 to C1 is open." in whole
    await talk.says("R1", "answer 04 5104 as on the lid")
    await talk.says("C1", "04 5104 whole")
    (sheet,) = text_of(await make("custody", await facts_now(talk), Order()))
    assert re.search(r"04 R1 C1 hand 12 Oct 2026 09:\d\d \+01:00 5104 whole mismatched", sheet)


async def facts_now(talk: Talk) -> Facts:
    """The case as it stands, its custody included."""
    lists = [await talk.show(what, "CH-014") for what in ("samples", "custody")]
    return Facts("CH-014", False, "Corrowby Haven", "now", "CH-014#9 00ff", "a4", LISBON, *lists)


async def test_a_sheet_goes_with_each_box_and_names_the_roles_of_who_handled_it(talk: Talk) -> None:
    facts = await facts_of(talk, custody=[CLOSED], roles={"R1": ("responder",), "R2": ("responder", "deputy")})
    one, two = text_of(await make("custody", facts, Order(boxes=("03", "04,05"))))
    assert "Box 1 of 2" in one
    assert "E-119" not in one
    assert "Box 2 of 2" in two
    assert "R2: responder, deputy" in two


async def test_a_sheet_of_forty_jars_has_each_once_and_numbers_its_pages(talk: Talk) -> None:
    (jar, *_) = (await facts_of(talk)).samples
    many = [{**jar, "number": f"{n:02d}", "evidence_number": f"E-{500 + n}"} for n in range(1, 41)]
    text = text_of(await make("custody", with_jars(many), Order()))
    assert len(text) > 1
    whole = " ".join(text)
    assert [whole.count(f"E-{500 + n}") for n in range(1, 41)] == [1] * 40
    assert all(f"page {n} of {len(text)}" in page for n, page in enumerate(text, 1))
    (some,) = text_of(await make("custody", with_jars(many), Order(jars="01-03,40")))
    assert re.findall(r"E-\d+", some) == ["E-501", "E-502", "E-503", "E-540"]


def with_jars(samples: list[dict[str, Any]]) -> Facts:
    return Facts("CH-014", False, "Corrowby Haven", "now", "CH-014#9 00ff", "a4", LISBON, samples)


async def test_a_label_waits_for_its_evidence_number_and_its_code_is_read_from_a_blurred_page(talk: Talk) -> None:
    pdf = await make("labels", await facts_of(talk), Order())
    (text,) = text_of(pdf)
    assert "E-118" in text
    assert "Not printed, no evidence number yet: 05." in text
    page = pages(pdf)[0].filter(ImageFilter.GaussianBlur(2.5)).rotate(7, expand=True, fillcolor="white")
    # ISO/IEC 18004 as ZXing reads it; the quiet zone, the blur and the turn are those of a photo of a jar.
    codes = sorted(code.text for code in zxingcpp.read_barcodes(page))
    assert codes == ["JAR CH-014 03", "JAR CH-014 04"]


async def test_nothing_on_a_label_or_a_transmittal_tells_which_jar_is_the_duplicate(talk: Talk) -> None:
    # Blind duplicates: Hawaii DOH technical guidance 10.6.
    facts = await facts_of(talk)
    assert [jar["kind"] for jar in facts.samples] == ["spill", "duplicate", "source"]
    for paper in ("labels", "transmittal", "packing"):
        whole = " ".join(text_of(await make(paper, facts, Order())))
        assert not re.search(r"(?i)duplicate|\bspill\b|source", whole), paper


async def test_labels_are_refused_where_no_jar_has_its_evidence_number(talk: Talk) -> None:
    facts = await facts_of(talk)
    with pytest.raises(AskedWrongly, match=r"^No label is printed before its evidence number is on record; .*05$"):
        await make("labels", replace(facts, samples=facts.samples[2:]), Order())


async def test_no_label_is_printed_for_a_number_that_two_jars_bear(talk: Talk) -> None:
    await facts_of(talk)
    await talk.says("R2", "03 spill thick 0930 47.2850N 19.9520W jar seal 5119")
    facts = await facts_now(talk)
    assert [jar["number"] for jar in facts.samples].count("03") == 2
    pdf = await make("labels", facts, Order())
    assert [code.text for code in zxingcpp.read_barcodes(pages(pdf)[0])] == ["JAR CH-014 04"]
    assert "another jar bears the number: 03." in text_of(pdf)[0]
    with pytest.raises(AskedWrongly, match=r"^Two jars bear the number 03; settle which"):
        await make("labels", facts, Order(jars="03"))


async def test_the_transmittal_asks_discloses_and_leaves_the_rest_to_the_pen(talk: Talk) -> None:
    facts = await facts_of(talk, custody=[CLOSED, GAP])
    facts = warmed(facts)
    (text,) = text_of(await make("transmittal", facts, Order(asked={"question": "Compare 03 04 with 05.", "to": "Lab L"})))
    for told in (
        "Question asked Compare 03 04 with 05.",
        "Items: 3",
        'Seal was corrected by R1, 12 Oct 2026 09:04 +01:00: "misread".',
        "Cooler M out of range at least 30 min, no good reading bounds it; peak observed 8.4 C; limit 6 C (in range).",
        "Custody gap 12 Oct 2026 12:00 +01:00 to 12 Oct 2026 12:30 +01:00: no holder, not explained.",
        "Hand-over R2 to R1: seal read late.",
        "05 hot fuel on deck",
    ):
        assert told in text, told


async def test_the_packing_list_says_which_two_share_a_tube_and_never_classifies(talk: Talk) -> None:
    facts = await facts_of(talk)
    (text,) = text_of(await make("packing", facts, Order(boxes=("03 04", "05"))))
    assert "Box 1 of 2" in text
    assert "T1 03 + 04" in text
    assert "Box 2 of 2" in text
    assert "no tube told 05" in text
    assert "3 jars, 236 mL in all as told; not stated for 05." in text
    # 49 CFR 172.101: what only a trained shipper may pick.
    assert not re.search(r"\bUN ?\d{4}\b|(?i:class \d|packing group|not restricted|excepted)", text)
    with pytest.raises(AskedWrongly, match="03 cannot be in two boxes"):
        await make("packing", facts, Order(boxes=("03 04", "03")))


async def test_the_page_to_read_before_testifying_has_every_weak_point_of_every_jar(talk: Talk) -> None:
    facts = warmed(await facts_of(talk, custody=[OPEN, GAP]))
    whole = " ".join(text_of(await make("exceptions", facts, Order())))
    for told in ("misread", "Custody gap", "Hand-over R1 to C1 is open.", "Cooler M out of range", "order 5 of the court", "Not stated: ", "No verdict"):
        assert told in whole, told


@pytest.mark.parametrize("paper", PAPERS)
async def test_every_page_is_black_on_white_says_exercise_and_has_its_size(talk: Talk, paper: str) -> None:
    facts = await facts_of(talk, exercise=True, custody=[CLOSED, GAP])
    # ISO 216: A4 is 210 by 297 mm; ANSI/ASME Y14.1: A is 8.5 by 11 in.
    for size, inches in (("a4", (8.268, 11.693)), ("us-letter", (8.5, 11.0))):
        pdf = await make(paper, replace(facts, size=size), Order())
        for page, text in zip(pypdf.PdfReader(io.BytesIO(pdf)).pages, text_of(pdf), strict=True):
            assert "EXERCISE" in text
            sides = sorted((float(page.mediabox.width) / 72, float(page.mediabox.height) / 72))
            assert sides == pytest.approx(sorted(inches), abs=0.01)
    for image in pages(pdf, 40):
        assert all(red == green == blue for _, (red, green, blue) in image.getcolors(1 << 16))


@pytest.mark.parametrize(
    ("paper", "order", "sentence"),
    [
        ("poster", Order(), "There is no paper called poster; there are: custody, labels, transmittal, packing, exceptions, card."),
        ("custody", Order(jars="77"), "No jar 77 is on record in CH-014; name others."),
    ],
)  # fmt: skip
async def test_a_paper_asked_wrongly_is_one_sentence(talk: Talk, paper: str, order: Order, sentence: str) -> None:
    facts = await facts_of(talk)
    with pytest.raises(AskedWrongly) as refused:
        await make(paper, facts, order)
    assert str(refused.value) == sentence
