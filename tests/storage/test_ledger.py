"""The chain's two standards, and how entries hang together.

Sources: FIPS 180-4 (NIST's example values for SHA-256), RFC 8785 (its own examples: 3.2.2, 3.2.3, appendix B)
and the library `rfc8785`, which is another hand's implementation of it.
"""

from __future__ import annotations

import hashlib
import json
import struct
from typing import Any

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.model.entries import UNIT_CHAIN, Draft, NoteMade, StrangerHeard
from bot.model.message import Incoming
from storage.ledger import (
    GENESIS,
    canonical,
    commitment_of,
    differences,
    draft_of,
    raw_text,
    seal,
    sha256_of,
    words_kept,
)


@pytest.mark.parametrize(
    ("text", "digest"),
    [
        ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        ("a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
        ("a" * 55, "9f4390f8d30c2dd92ec9f095b65e2b9ae9b0a925a5258e241c9f1e910f734318"),  # the padding's edge
    ],
)
def test_a_hash_is_sha_256_of_the_text(text: str, digest: str) -> None:
    assert sha256_of(text) == digest


def test_a_hash_is_taken_of_the_utf_8_of_a_text() -> None:
    assert sha256_of("é") == hashlib.sha256(b"\xc3\xa9").hexdigest()


def test_the_example_of_the_standard_is_written_as_there() -> None:
    given_ = r"""{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"""
    wanted = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical(json.loads(given_)) == wanted


def test_keys_are_sorted_by_their_utf_16_units_as_in_the_standard() -> None:
    given_ = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(canonical(given_)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


NUMBERS = {  # appendix B: the IEEE 754 bits and how they are written
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}


@pytest.mark.parametrize(("bits", "written"), NUMBERS.items())
def test_a_number_is_written_as_the_standard_writes_it(bits: str, written: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical({"n": number}) == f'{{"n":{written}}}'
    assert canonical([1, number]) == f"[1,{written}]"


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_what_is_no_number_is_refused(bits: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    with pytest.raises(ValueError, match=r"."):
        canonical({"n": number})


WHOLE = st.integers(-(2**53) + 1, 2**53 - 1)
JSON: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | WHOLE | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(st.text(), JSON, max_size=5))
def test_every_value_is_written_as_another_implementation_writes_it(value: dict[str, Any]) -> None:
    assert canonical(value) == rfc8785.dumps(value).decode()


@pytest.mark.parametrize("whole", [2**53, -(2**53), 10**17])
def test_a_whole_number_that_json_cannot_hold_exactly_is_refused(whole: int) -> None:
    with pytest.raises(ValueError, match=r"."):
        canonical({"n": whole})


def draft(words: str, chain: str = "CH-014") -> Draft:
    body = NoteMade(words=words) if chain != UNIT_CHAIN else StrangerHeard(address=words, answered=True)
    return Draft(
        chain=chain,
        body=body,
        author="R1",
        channel="sms",
        said_us=1,
        received_us=2,
        message="ab" * 32,
        event=None,
    )


def test_each_entry_holds_the_hash_of_the_one_before_in_its_own_chain() -> None:
    heads: dict[str, tuple[int, str]] = {}
    entries = seal([draft("a"), draft("x", UNIT_CHAIN), draft("b"), draft("c")], heads)
    assert [entry.id for entry in entries] == ["CH-014#1", "unit#1", "CH-014#2", "CH-014#3"]
    before: dict[str, str] = {}
    for entry in entries:
        held = json.loads(entry.text)
        assert entry.hash == hashlib.sha256(entry.text.encode()).hexdigest()
        assert entry.text == rfc8785.dumps(held).decode()
        assert held["previous"] == before.get(entry.chain, "0" * 64)
        assert (held["chain"], held["seq"]) == (entry.chain, entry.seq)
        before[entry.chain] = entry.hash
    assert heads == {"CH-014": (3, before["CH-014"]), UNIT_CHAIN: (1, before[UNIT_CHAIN])}


def test_a_chain_goes_on_where_its_head_is() -> None:
    heads = {"CH-014": (7, "cd" * 32)}
    (entry,) = seal([draft("a")], heads)
    assert (entry.seq, json.loads(entry.text)["previous"]) == (8, "cd" * 32)


def test_a_stored_text_says_the_draft_that_it_was_made_from() -> None:
    for words in ("pad, jar", "\x00\u202e👍", "é" * 300):
        made = draft(words)
        (entry,) = seal([made], {})
        assert draft_of(entry.text) == made


@pytest.mark.parametrize(
    ("change", "problem"),
    [({"kind": "NoSuchKind"}, "NoSuchKind"), ({"body_version": 9}, "version 9"), ({"body": {}}, "words")],
)
def test_an_entry_of_another_release_is_not_read_as_one_of_this(change: dict[str, Any], problem: str) -> None:
    (entry,) = seal([draft("a")], {})
    with pytest.raises(ValueError, match=problem):
        draft_of(canonical({**json.loads(entry.text), **change}))


def test_an_entry_as_written_differs_in_nothing() -> None:
    first, second = seal([draft("a"), draft("b")], {})
    assert differences("CH-014", 1, first.hash, first.text, GENESIS) == []
    assert differences("CH-014", 2, second.hash, second.text, first.hash) == []


def test_each_difference_of_an_entry_is_named() -> None:
    first, second = seal([draft("a"), draft("b")], {})
    altered = first.text.replace('"a"', '"b"')
    assert differences("CH-014", 1, first.hash, altered, GENESIS) == ["its text does not give its hash"]
    moved = ["it stands at another place than its text says"]
    assert differences("CH-015", 1, first.hash, first.text, GENESIS) == moved
    assert differences("CH-014", 3, second.hash, second.text, first.hash) == moved
    assert differences("CH-014", 2, second.hash, second.text, GENESIS) == [
        "it does not follow the entry before it"
    ]
    assert differences("CH-014", 1, sha256_of("{"), "{", GENESIS) == ["its text is not JSON"]


def message(**more: Any) -> Incoming:
    return Incoming(channel="sms", account="+447700900001", message_id="7", received_us=5, text="jar", **more)


def test_a_message_is_kept_without_its_account() -> None:
    text = raw_text(words_kept(message()), "the commitment")
    assert "447700900001" not in text
    assert json.loads(text)["account"] == "the commitment"
    assert text == rfc8785.dumps(json.loads(text)).decode()


def test_two_messages_that_differ_in_anything_have_two_hashes() -> None:
    said = [message(), message(sent_us=4), message(press="ok"), message(reply_to="6")]
    texts = [raw_text(words_kept(one), "c") for one in said] + [raw_text(words_kept(message()), "d")]
    assert len({sha256_of(text) for text in texts}) == len(texts)


def test_a_commitment_hangs_on_its_value_and_on_its_salt() -> None:
    # SHA-256 as above, over the three lines that the record's own note on commitments names.
    wanted = hashlib.sha256(b"coldjar commitment\nsalt\nsms:+447700900001").hexdigest()
    assert commitment_of("sms:+447700900001", "salt") == wanted
    assert commitment_of("sms:+447700900001", "other") != wanted
    assert commitment_of("sms:+447700900002", "salt") != wanted
