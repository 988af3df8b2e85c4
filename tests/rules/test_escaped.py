"""Characters that command a terminal or move other text are written out, and none other is touched."""

from __future__ import annotations

import json
import sys
import unicodedata

from bot.rules.escaped import escaped, escaped_json, in_one_line, storable

# The bidirectional classes of formatting characters, of Unicode's own data (Standard Annex #9, table 4).
MOVING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
EVERY = [chr(code) for code in range(sys.maxunicode + 1) if not 0xD800 <= code <= 0xDFFF]


def test_every_control_and_every_formatting_character_of_direction_is_written_out() -> None:
    for sign in EVERY:
        moves = unicodedata.bidirectional(sign) in MOVING or unicodedata.category(sign) in ("Cc", "Zl", "Zp")
        if moves and sign not in "\n\t":
            assert escaped(f"a{sign}b") == f"a(U+{ord(sign):04X})b"


def test_what_people_write_stays_as_it_is() -> None:
    for text in ("Åpen kø nº 3, 4.4 °C", "\u0646\u0641\u0637", "שמן", "油", "\u06cc\u200c\u0647", "a\r\nb\tc"):
        assert escaped(text) is text


def test_a_terminal_gets_one_line_a_record() -> None:
    assert in_one_line("one\r\ntwo\x1b]0;title\x07") == "one(U+000D)(U+000A)two(U+001B)]0;title(U+0007)"


def test_json_stays_json_with_the_same_meaning() -> None:
    held = {"text": "a\u202eb\x9bc\U000e0041 åß"}
    shown = escaped_json(json.dumps(held, ensure_ascii=False))
    assert "\\u202e" in shown
    assert "åß" in shown
    assert not any(sign in shown for sign in "\u202e\x9b\U000e0041")
    assert json.loads(shown) == held


def test_half_a_character_becomes_the_replacement_character() -> None:
    assert storable("a\ud83db") == "a\ufffdb"  # Unicode Standard, 3.9, U+FFFD substitution
    assert storable("a😀b") == "a😀b"
