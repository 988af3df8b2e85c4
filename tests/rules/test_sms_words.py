"""Texts as SMS takes them, against `smsutil`, `gsm0338` and `phonenumbers`, which know nothing of ours."""

from __future__ import annotations

from pathlib import Path

import gsm0338
import phonenumbers
import pytest
import smsutil
from babel.messages.pofile import read_po
from hypothesis import given
from hypothesis import strategies as st

from bot.rules.gsm import is_gsm, segments
from bot.rules.phone_number import e164
from bot.rules.sms_words import for_sms

CODEC = gsm0338.Codec()
CATALOGUES = Path(__file__).resolve().parents[2] / "bot/dialogue/catalogues"


def wordings() -> list[tuple[str, str, str]]:
    found = []
    for part in sorted(CATALOGUES.glob("*/*.po")):
        with part.open("rb") as file:
            found += [(part.parent.name, str(one.id), str(one.string)) for one in read_po(file) if one.id]
    return found


def test_every_wording_of_every_language_is_plain_on_sms_and_takes_the_parts_that_smsutil_counts() -> None:
    listed = [(language, key, for_sms(words)) for language, key, words in wordings()]
    assert len(listed) > 300
    for language, key, words in listed:
        print(f"{language} {key}: {segments(words)}")
    assert [(language, key) for language, key, words in listed if not is_gsm(words)] == []
    counted = {(language, key): len(smsutil.split(words).parts) for language, key, words in listed}
    assert {(language, key): segments(words) for language, key, words in listed} == counted


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Cooler M 4.4 °C", "Cooler M 4.4 C"),
        ("\u201cwhole\u201d \u2013 it\u2019s \u2264 6\u2026", "\"whole\" - it's <= 6..."),
        ("Übergabe an der Ölsperre", "Übergabe an der Ölsperre"),  # in the alphabet: kept
        ("réception à São João, Łódź", "réception à Sao Joao, Lodz"),
        ("Tomada às 10h, ação", "Tomada às 10h, acao"),
        ("price 5 € {a} [b]", "price 5 € {a} [b]"),
        ("на борту 4°", "на борту 4°"),  # not plain whatever is folded: as it is
    ],
)
def test_accents_and_signs_are_folded_where_that_makes_the_text_plain(text: str, plain: str) -> None:
    assert for_sms(text) == plain


@given(st.text(max_size=200))
def test_a_folded_text_is_plain_or_the_text_itself_and_never_takes_more_parts(text: str) -> None:
    folded = for_sms(text)
    assert folded == text or CODEC.encode(folded)
    assert len(smsutil.split(folded).parts) <= len(smsutil.split(text).parts)


@pytest.mark.parametrize("region", ["GB", "PT", "NO", "FR", "US"])
@pytest.mark.parametrize("kind", [phonenumbers.PhoneNumberType.MOBILE, phonenumbers.PhoneNumberType.FIXED_LINE])
def test_a_number_as_people_of_its_region_write_it_is_the_international_one(region: str, kind: int) -> None:
    example = phonenumbers.example_number_for_type(region, kind)
    forms = [phonenumbers.PhoneNumberFormat.NATIONAL, phonenumbers.PhoneNumberFormat.INTERNATIONAL]
    wanted = f"+{example.country_code}{example.national_number}"
    for form in forms:
        assert e164(phonenumbers.format_number(example, form), region) == wanted


@pytest.mark.parametrize("told", ["COLDJAR", "88", "", "not\x00 a number \u202e", "9" * 90])
def test_what_is_no_number_stays_as_it_came_but_for_what_cannot_be_shown(told: str) -> None:
    kept = e164(told, "GB")
    assert kept == "".join(sign for sign in told if sign.isprintable()).strip()[:32]
