"""Ids of messages stay on record for ever: what is replaced in a text must not be found again from its id.

A code of six digits is one of a million: whoever holds a hash of the words around it (FIPS 180-4) tries them all.
Under a key that they do not hold there is nothing to try (RFC 2104).
"""

from __future__ import annotations

import json
from pathlib import Path

from bot.channels.modem_parts import whole
from bot.model.modem import HeardPart
from bot.web.intake import fields_of_plain_form
from tests.talk import SETUP
from tests.test_cli import coldjar, listed

SAID = "03 seal 5103 code 402981"


def test_a_played_line_has_an_id_of_its_store_alone_and_is_not_taken_twice(tmp_path: Path) -> None:
    line = {"at": "2026-10-12T09:17:00Z", "channel": "sms", "from": "+447700900001", "text": SAID}
    (tmp_path / "unit.toml").write_text(SETUP)
    (tmp_path / "script.jsonl").write_text(f"{json.dumps(line)}\n{json.dumps(line)}\n")
    ids = []
    for name in ("one", "other"):
        store = tmp_path / name
        assert coldjar("setup", tmp_path / "unit.toml", "--store", store).returncode == 0
        for _ in range(2):
            assert coldjar("replay", tmp_path / "script.jsonl", "--store", store).returncode == 0
        ids.append([message["id"] for message in listed("messages", store)])
    assert [len(of_store) for of_store in ids] == [2, 2]
    assert len({*ids[0], *ids[1]}) == 4


def test_a_form_without_script_has_the_same_id_only_from_the_page_it_stands_on() -> None:
    def sent(text: str, form_key: str) -> str:
        fields = fields_of_plain_form({"id": "made-with-the-page", "text": text}, form_key)
        assert isinstance(fields, dict)
        return fields["id"]

    assert sent(SAID, "one browser") == sent(SAID, "one browser")
    assert len({sent(SAID, "one browser"), sent(SAID, "another"), sent("03 seal 5103", "one browser")}) == 3


def test_a_text_by_modem_has_the_same_key_however_often_it_comes_and_only_in_its_store() -> None:
    def heard(row: int) -> HeardPart:
        octets = SAID.encode("utf-16-be")
        return HeardPart(
            row=row, sender="+447700900001", octets=octets, binary=False, header=b"", stamp="s", sent_us=1, kept_us=1
        )

    (one,), (again,), (elsewhere,) = (
        whole([heard(row)], 2, under, giving=True) for row, under in ((1, b"key"), (2, b"key"), (1, b"other"))
    )
    assert one.key == again.key
    assert one.key != elsewhere.key
