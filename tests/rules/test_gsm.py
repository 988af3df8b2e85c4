"""SMS lengths against two libraries that know nothing of ours: `smsutil` splits, `gsm0338` encodes."""

from __future__ import annotations

import gsm0338
import pytest
import smsutil
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.rules.gsm import NotGsm, is_gsm, parts, segments, septets

# The alphabet of 3GPP TS 23.038, section 6.2.1, as the `gsm0338` package has it.
CODEC = gsm0338.Codec()
ESCAPE = "\x1b"


def encodes(character: str) -> bool:
    try:
        CODEC.encode(character)
    except UnicodeEncodeError:
        return False
    return character != ESCAPE


ALPHABET = "".join(c for c in map(chr, range(0x3000)) if encodes(c))
TEXTS = st.text(
    st.one_of(st.sampled_from(ALPHABET), st.sampled_from("€[]{}"), st.sampled_from("ê°µ≤\U0001f6f6")),
    max_size=400,
)


def test_every_character_of_the_basic_plane_is_in_the_alphabet_or_not_as_the_codec_says() -> None:
    told = [c for c in map(chr, range(0xD800)) if is_gsm(c)]
    assert told == [c for c in map(chr, range(0xD800)) if encodes(c)]
    assert len(told) == 137  # 127 without the escape, and ten in the extension table: 3GPP TS 23.038


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("a" * 160, [160]),
        ("a" * 161, [153, 8]),
        ("a" * 306, [153, 153]),
        ("a" * 307, [153, 153, 1]),
        ("€" * 80, [80]),
        ("€" * 81, [76, 5]),
        ("a" * 159 + "€", [153, 7]),
        ("a" * 152 + "€" + "b" * 10, [152, 11]),
        ("ê" * 70, [70]),
        ("ê" * 71, [67, 4]),
        ("ê" * 134, [67, 67]),
        ("ê" * 135, [67, 67, 1]),
        ("\U0001f6f6" * 35, [35]),
        ("\U0001f6f6" * 36, [33, 3]),
    ],
)
def test_texts_are_cut_where_smsutil_cuts_them(text: str, lengths: list[int]) -> None:
    assert [len(part) for part in parts(text)] == lengths  # split by smsutil 1.1.3
    assert [part.length for part in smsutil.split(text).parts] == lengths
    assert segments(text) == len(lengths)


@settings(deadline=None)
@given(TEXTS)
def test_any_text_is_cut_as_smsutil_cuts_it(text: str) -> None:
    assert list(parts(text)) == [part.content for part in smsutil.split(text).parts or [smsutil.Part("")]]
    assert segments(text) == len(parts(text))
    assert "".join(parts(text)) == text


@settings(deadline=None)
@given(st.text(st.sampled_from(ALPHABET), max_size=400))
def test_septets_are_the_octets_that_the_codec_writes_unpacked(text: str) -> None:
    assert septets(text) == len(CODEC.encode(text)[0])


def test_what_has_no_septets_is_named_once_each() -> None:
    assert septets("6 °C ≤ 6 °C") == NotGsm("°≤")


def test_a_text_of_nothing_is_one_part() -> None:
    assert segments("") == 1
    assert septets("") == 0


def test_one_degree_sign_turns_160_characters_into_three_parts() -> None:
    # 160 UTF-16 units over 67 a part: 3GPP TS 23.040, section 9.2.3.24.1.
    assert segments("a" * 159 + "°") == 3
