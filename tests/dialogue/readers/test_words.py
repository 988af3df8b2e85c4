"""Yes and no, seals and sample numbers as people type them.

What is printed on a seal, and written on a jar, is evidence: it comes back character by character.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.dialogue.readers.base import UNREAD, Ask
from bot.dialogue.readers.words import (
    NumberTold,
    SealTold,
    YesNo,
    read_number,
    read_numbers,
    read_seal,
    read_yes_no,
)


@pytest.mark.parametrize("text", ["y", "Yes", "YES!", "ok", "yep", "aye", " yeah. "])
def test_words_for_yes_are_yes(text: str) -> None:
    assert read_yes_no(text) is YesNo.YES


@pytest.mark.parametrize("text", ["n", "No", "nope"])
def test_words_for_no_are_no(text: str) -> None:
    assert read_yes_no(text) is YesNo.NO


@pytest.mark.parametrize("text", ["unknown", "not stated", "dunno", "don't know", "don\u2019t know"])
def test_not_knowing_is_neither_yes_nor_no(text: str) -> None:
    assert read_yes_no(text) is YesNo.NOT_STATED


@pytest.mark.parametrize("text", ["", "done", "changed", "maybe", "yes and no", "03", "no gloves", "north"])
def test_what_does_not_say_it_is_no_answer(text: str) -> None:
    assert read_yes_no(text) is UNREAD


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("5103", "5103"),
        ("seal 5103", "5103"),
        ("Seal no. 5103", "5103"),
        ("SEAL #5103", "5103"),
        ("seal: 5103", "5103"),
        ("E107", "E107"),
        ("e107", "e107"),
        ("AB-0042", "AB-0042"),
        ("0042", "0042"),
        ("tape 5103", "5103"),
    ],
)
def test_a_seal_comes_back_as_it_was_typed(text: str, number: str) -> None:
    assert read_seal(text) == SealTold(number, None, text)


@pytest.mark.parametrize(
    ("text", "initials"),
    [
        ("TAPE JD", "JD"),
        ("tape jd", "jd"),
        ("tape, initialled by JD", "JD"),
        ("tape J.D.", "J.D."),
        ("tape J D", "J D"),
        ("seal tape JD", "JD"),
        ("tape with initials: R1", "R1"),
    ],
)
def test_tape_without_a_number_is_known_by_its_initials(text: str, initials: str) -> None:
    assert read_seal(text) == SealTold(None, initials, text)


def test_numbered_tape_may_carry_initials_too() -> None:
    assert read_seal("tape 5103 JD") == SealTold("5103", "JD", "tape 5103 JD")


def test_a_seal_told_in_part_is_asked() -> None:
    assert read_seal("seal") == Ask("read.seal.number", {"raw": "seal"})
    assert read_seal("tape") == Ask("read.seal.initials", {"raw": "tape"})
    assert read_seal("5103 5104") == Ask("read.seal.one", {"raw": "5103 5104"})
    assert read_seal("tape 5103 5104") == Ask("read.seal.one", {"raw": "tape 5103 5104"})


@pytest.mark.parametrize(
    "text", ["", "none", "sealed", "5103 whole", "tape cut", "tape is torn off", "47.2830N", "4.4C"]
)
def test_what_is_no_seal_is_left_unread(text: str) -> None:
    assert read_seal(text) is UNREAD


@pytest.mark.parametrize(
    ("text", "number", "key"),
    [
        ("03", "03", "3"),
        ("3", "3", "3"),
        ("003", "003", "3"),
        ("A3", "A3", "A3"),
        ("a03", "a03", "A3"),
        ("E-03", "E-03", "E3"),
        ("jar 03", "03", "3"),
        ("#3", "3", "3"),
        ("No. 14", "14", "14"),
        ("0", "0", "0"),
    ],
)
def test_a_sample_number_comes_back_as_typed_with_its_key(text: str, number: str, key: str) -> None:
    assert read_number(text) == NumberTold(number, key)


@pytest.mark.parametrize("text", ["", "1002", "5103", "jar", "3a", "spill", "4.4", "47.2830N 19.9510W"])
def test_what_is_no_sample_number_is_left_unread(text: str) -> None:
    assert read_number(text) is UNREAD
    assert read_numbers(text) is UNREAD


def test_two_numbers_where_one_was_asked_are_asked() -> None:
    assert read_number("03 04") == Ask("read.number.one", {"raw": "03 04"})
    assert read_number("03-05") == Ask("read.number.one", {"raw": "03-05"})


def numbers(text: str) -> list[str]:
    told = read_numbers(text)
    assert isinstance(told, tuple), told
    return [each.number for each in told]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("01-03", "01 02 03"),
        ("01 02, 04", "01 02 04"),
        ("01,02 and 04", "01 02 04"),
        ("01 to 03", "01 02 03"),
        ("1\u20133", "1 2 3"),
        ("8-12", "8 9 10 11 12"),
        ("A3-A5", "A3 A4 A5"),
        ("E-01-E-03", "E-01 E-02 E-03"),
        ("jars 01-03, 05 & 07", "01 02 03 05 07"),
        ("03 3 03", "03"),
        ("098-101", "098 099 100 101"),
    ],
)
def test_lists_and_ranges_hold_every_number_once_in_their_order(text: str, expected: str) -> None:
    assert numbers(text) == expected.split()


@pytest.mark.parametrize("text", ["03-01", "03-03", "A3-6", "A3-B5", "1-200", "1-60 101-160"])
def test_a_range_that_says_no_list_is_asked(text: str) -> None:
    assert read_numbers(text) == Ask("read.number.range", {"raw": text})


BETWEEN = st.sampled_from([" ", ", ", ",", "; ", " and "])


@settings(deadline=None)
@given(st.lists(st.integers(0, 999), min_size=1, max_size=40, unique=True), BETWEEN)
def test_any_list_of_numbers_is_read_back_whole(values: list[int], between: str) -> None:
    typed = [f"{value:02d}" for value in values]
    assert numbers(between.join(typed)) == typed


@settings(deadline=None)
@given(st.integers(0, 899), st.integers(1, 99))
def test_any_range_is_the_range_of_its_ends(first: int, more: int) -> None:
    told = read_numbers(f"{first}-{first + more}")
    assert isinstance(told, tuple)
    assert [each.key for each in told] == [str(n) for n in range(first, first + more + 1)]


@settings(deadline=None)
@given(st.one_of(st.text(max_size=60), st.text("0123456789 -,#aEtopesal.:&", max_size=30)))
def test_no_text_at_all_breaks_the_readers(text: str) -> None:
    seal, listed = read_seal(text), read_numbers(text)
    if isinstance(seal, SealTold):
        assert (seal.number or "") in text
        assert seal.number or seal.tape_initials
    assert listed is UNREAD or isinstance(listed, Ask | tuple)
    assert isinstance(read_number(text), NumberTold) == (isinstance(listed, tuple) and len(listed) == 1)
