"""Reading what is in a kit: any words, in any order, end in counts, questions or words not understood."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.dialogue.readers.kit import KitRead, read_items
from bot.trades import par_table

TABLE = par_table()
WORDS = st.one_of(
    st.sampled_from([" ".join(words) for words in TABLE.by_word]),
    st.sampled_from(["ok", "none", "opened", "2", "14", "-3", "1400", "1.5", "waxed", "M", "XL", "latex", "5101-5121", "5110", "to", "0.2C", "in", "ice", "at", "van", ",", ".", "stands", "x"]),
    st.integers(-10, 10_000).map(str),
    st.text(max_size=8),
)


def read(text: str) -> KitRead:
    return read_items(text, TABLE, 16, 10)


def counts(text: str) -> dict[str, int | None]:
    return {told.item: told.count for told in read(text).told}


@given(st.lists(WORDS, max_size=14).map(" ".join))
def test_any_words_end_in_counts_that_can_be_or_in_questions(text: str) -> None:
    found = read(text)
    for told in found.told:
        assert told.count is None or told.count >= 0
        assert 0 <= told.out <= max(told.count or 0, 1)
        assert told.item in TABLE.by_id
    assert all(ask.key.startswith("kit.doubt.") for ask in found.doubts)


@given(st.text(max_size=40))
def test_any_text_as_one_items_answer_ends_too(text: str) -> None:
    for item in ("jar", "seal", "gloves", "thermometer", "meter", "pole"):
        read_items(text, TABLE, 16, 10, one=TABLE.by_id[item])


@given(st.dictionaries(st.sampled_from(["jar", "ring", "net", "pad", "tube", "label"]), st.integers(0, 40), min_size=1))
def test_counts_are_read_with_the_number_before_or_after_the_item(told: dict[str, int]) -> None:
    names = {item: TABLE.by_id[item].name for item in told}
    assert counts(" ".join(f"{names[item]} {count}" for item, count in told.items())) == told
    assert counts(", ".join(f"{count} {names[item]}" for item, count in told.items())) == told


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("14 jars, 6 tubes", {"jar": 14, "tube": 6}),
        ("jars: 14; tubes = 6.", {"jar": 14, "tube": 6}),
        ("JARS 14 and Tongue Depressors 8", {"jar": 14, "depressor": 8}),
        ("spare halves 4 halves 16", {"spare_half": 4, "half": 16}),
        ("no jars", {}),
        ("jars none", {"jar": 0}),
        ("2 boxes gloves M L", {"gloves": 2}),
        ("seals 5101 to 5110 and 5113-5121", {"seal": 19}),
        ("seals E101 - E121", {"seal": 21}),
        ("ice bags 2 ice 5 kg", {"ice_bag": 2, "ice": 5}),
        ("pole ok at the north shed thermometer 0.1 C in ice", {"pole": None, "thermometer": None}),
    ],
)
def test_ways_of_typing_a_count(text: str, found: dict[str, int | None]) -> None:
    assert counts(text) == found


def test_a_place_runs_to_the_next_item() -> None:
    told = {one.item: one for one in read("pole ok in van 2 of the yard cutter ok at quay").told}
    assert (told["pole"].place, told["cutter"].place) == ("van 2 of the yard", "quay")
