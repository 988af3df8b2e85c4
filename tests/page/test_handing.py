"""Papers and bundles made by a child: whole on either engine, and a refusal comes back in its own sentence.

The bundle's hash is held against the standard library's of the bag's tag manifest (RFC 8493).
"""

from __future__ import annotations

import hashlib
import zipfile
from pathlib import Path

import pytest

from bot.handing import makers
from bot.model.errors import AskedWrongly
from tests.talk import talk_to


async def test_a_child_makes_papers_and_the_bundle_and_says_why_it_does_not(
    database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path) as talk:
        made = makers(talk.house.store.database, tmp_path / "originals", talk.clock)
        with pytest.raises(AskedWrongly, match=r"^No jar of CH-014 is on record; there is nothing to print\.$"):
            await made.paper("CH-014", "custody")
        await talk.says("R1", "01 spill sheen 0905 seal 5101 cooler M 4.0C")
        assert (await made.paper("CH-014", "custody")).startswith(b"%PDF-")
        to = tmp_path / "made.zip"
        told = await made.bundle("CH-014", to)
        with zipfile.ZipFile(to) as bag:
            manifest = next(name for name in bag.namelist() if name.endswith("/tagmanifest-sha256.txt"))
            assert hashlib.sha256(bag.read(manifest)).hexdigest() == told
            entries = next(name for name in bag.namelist() if name.endswith("/data/entries.jsonl"))
            assert b"5101" in bag.read(entries)
        with pytest.raises(AskedWrongly, match="is there already"):
            await made.bundle("CH-014", to)
        with pytest.raises(AskedWrongly, match="There is no case CH-999"):
            await made.paper("CH-999", "custody")
