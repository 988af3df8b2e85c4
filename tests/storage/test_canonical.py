"""Canonical JSON is RFC 8785 whichever way it is written."""

from __future__ import annotations

import math
from uuid import UUID

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from storage.ledger import canonical

VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner, max_size=4),
    max_leaves=12,
)


@given(VALUES)
def test_every_value_is_written_as_the_reference_library_writes_it(value: object) -> None:
    assert canonical(value).encode() == rfc8785.dumps(value)


@given(st.dictionaries(st.text(st.characters(max_codepoint=127)), st.integers(-99, 99) | st.text(st.characters(max_codepoint=127))))
def test_plain_ascii_takes_the_short_way_to_the_same_bytes(value: object) -> None:
    assert canonical(value).encode() == rfc8785.dumps(value)


@pytest.mark.parametrize("value", [{"a": 4.0}, {"a": (4.0, 1e16)}, {"a": {"b": [1e-5]}}, [1e21, 1e-7], {"b": 9007199254740991}, {"é": 1, "z": 2}, {"a": ":4.5"}])
def test_the_cases_that_differ_between_the_two_writers_are_right(value: object) -> None:
    assert canonical(value).encode() == rfc8785.dumps(value)


@pytest.mark.parametrize("value", [math.nan, math.inf, {"n": 2**53 + 1}, {"n": 10**20}, {"n": [math.nan]}, {"n": math.inf}, {"n": UUID(int=0)}, {1: "n"}])
def test_what_the_standard_cannot_hold_is_refused(value: object) -> None:
    with pytest.raises(ValueError, match=r".*"):
        canonical(value)
