"""The words: plain GSM-7, one SMS a question with its EXERCISE word, no praise and no verdicts."""

from __future__ import annotations

import re
from pathlib import Path

import gsm0338  # noqa: F401 - registers the codec that the test reads with
import pytest
import smsutil
from babel.messages.pofile import read_po

from bot.rules.fields import Field, SampleTable, parse_sample_table
from bot.rules.gsm import segments
from bot.trades import catalogue, table_text

TEXTS: dict[str, str] = {}
for part in sorted(Path("bot/dialogue/catalogues/en").glob("*.po")):
    with part.open("rb") as file:
        TEXTS |= {str(message.id): str(message.string) for message in read_po(file) if message.id}
FILLED = {
    "number": "14", "case": "CH-014", "offers": "Next free number of kit A is 03.", "kit": "A", "raw": "47.2830",
    "value": "46", "field": "how the oil lies", "new": "5107", "old": "5103", "missing": "photo, gloves",
}  # fmt: skip
QUESTION = re.compile(
    r"^(?:sample\.\w+\.ask|walk\.\w+\.ask|case\.\w+\.ask|plan\.\w+\.ask|advice\.\w+|read\..+|walk\.number\..+)$"
)


def filled(text: str) -> str:
    return text.format_map({**dict.fromkeys(re.findall(r"{(\w+)}", text), "x"), **FILLED})


def table() -> SampleTable:
    return parse_sample_table(table_text("sample.toml"))


@pytest.mark.parametrize("key", sorted(TEXTS))
def test_every_text_is_plain_gsm_7(key: str) -> None:
    # 3GPP TS 23.038 as the packages gsm0338 and smsutil hold it.
    text = filled(TEXTS[key])
    assert smsutil.is_valid_gsm(text)
    assert text.encode("gsm03.38").decode("gsm03.38") == text


@pytest.mark.parametrize("key", sorted(key for key in TEXTS if QUESTION.match(key)))
def test_every_question_is_one_sms_with_its_exercise_word(key: str) -> None:
    text = f"EXERCISE {filled(TEXTS[key])}"
    assert segments(text) == 1, len(text)
    assert len(smsutil.split(text).parts) == 1


@pytest.mark.parametrize(
    "field", [field for field in table().field if field.asked], ids=lambda field: field.id
)
def test_a_question_with_its_choices_is_one_sms(field: Field) -> None:
    words = catalogue("en")
    ask = words.say(f"sample.{field.id}.ask", number="CH-014 14")
    labels = [words.say(f"choice.{field.id}.{id_}") for id_ in field.asked]
    assert len(labels) <= 4
    listed = " ".join(f"{place} {label}" for place, label in enumerate(labels, 1))
    assert segments(f"EXERCISE {ask} {listed}") == 1


@pytest.mark.parametrize("field", table().field, ids=lambda field: field.id)
def test_every_field_has_its_question_and_its_name(field: Field) -> None:
    words = catalogue("en")
    assert words.has(f"sample.{field.id}.ask")
    assert words.has(f"sample.{field.id}.name")


@pytest.mark.parametrize("key", sorted(TEXTS))
def test_no_text_praises_blames_or_judges(key: str) -> None:
    banned = r"\b(great|thanks|thank you|well done|perfect|sorry|oops|admissible|contaminated|spoiled|match(?:es)?)\b|!"
    assert re.search(banned, TEXTS[key], re.IGNORECASE) is None


@pytest.mark.parametrize(
    "key", sorted(key for key in TEXTS if key.startswith(("query.", "advice.", "safety.")))
)
def test_no_text_tells_anyone_to_enter_climb_or_open_anything(key: str) -> None:
    text = TEXTS[key].replace("Do not enter or lean in", "").replace("crew opens", "")
    assert re.search(r"\b(enter|climb|go in|go down|open|lean)\b", text, re.IGNORECASE) is None
