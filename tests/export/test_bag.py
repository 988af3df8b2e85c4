"""What the bundle is made of: its hashes against the standard's, its exports on both engines, its judge under damage."""

from __future__ import annotations

import ast
import hashlib
import random
import sys
import zipfile
from pathlib import Path

import pytest

from bot.export import Wanted, export
from bot.export.bag import Bag
from bot.export.verify import verify
from bot.show import show_in
from tests.talk import DRILL, SETUP, talk_to

AT = (2026, 10, 12, 0, 0, 0)
LISTS = ("samples", "custody", "cooler", "plan", "photos")


@pytest.mark.parametrize(
    ("pieces", "sha256"),
    [
        # FIPS 180-4 examples, as NIST publishes them for SHA-256.
        ([b""], "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ([b"a", b"bc"], "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        ([b"a" * 1000] * 1000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
)
def test_what_is_hashed_on_the_way_into_the_bag_is_what_the_standard_says(
    pieces: list[bytes], sha256: str, tmp_path: Path
) -> None:
    with (tmp_path / "b.zip").open("wb") as stream, Bag(stream, "b", AT) as bag:
        assert bag.add_pieces("data/one", pieces) == sha256
        bag.close({})
    with zipfile.ZipFile(tmp_path / "b.zip") as opened:
        assert opened.read("b/data/one") == b"".join(pieces)
        assert opened.read("b/manifest-sha256.txt").decode() == f"{sha256}  data/one\n"


async def test_a_drill_is_exported_from_either_engine_marked_as_one_and_for_its_owner_alone(
    database_url: str, tmp_path: Path
) -> None:
    async with talk_to(database_url, tmp_path, SETUP + DRILL.replace('kits = ["A"]', "")) as talk:
        await talk.says("R1", "CH-900 81 spill sheen 0902 47.2830N 19.9510W pad seal E101 cooler M 4.4C")
        await talk.says("R1", "CH-900 82 spill thick 0904 47.2830N 19.9510W jar seal E102 cooler M 4.5C")
        to = tmp_path / "b.zip"
        async with talk.house.store.database.read() as tx:
            lists = {name: await show_in(tx, name, "CH-900") for name in LISTS}
            done = await export(tx, to, tmp_path / "originals", Wanted("CH-900", talk.clock.now_us(), lists))
    assert done.found == ()
    assert verify(str(to))[0] == []
    assert to.stat().st_mode & 0o077 == 0
    with zipfile.ZipFile(to) as opened:
        assert "External-Description: EXERCISE" in opened.read("CH-900/bag-info.txt").decode()
        assert '<p class="drill">EXERCISE</p>' in opened.read("CH-900/record.html").decode()


def test_the_bundles_judge_needs_nothing_but_a_python_of_years_ago(folder: Path) -> None:
    # The grammar of Python 3.8, and only modules of the standard library.
    tree = ast.parse((folder / "verify.py").read_text(), feature_version=(3, 8))
    named = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    named |= {one.name for node in ast.walk(tree) if isinstance(node, ast.Import) for one in node.names}
    assert named <= set(sys.stdlib_module_names)


def test_any_byte_of_any_file_that_changes_is_found(folder: Path) -> None:
    draw = random.Random(1751)
    for file in sorted(one for one in folder.rglob("*") if one.is_file() and one.stat().st_size):
        whole = file.read_bytes()
        for place in {0, len(whole) - 1, *(draw.randrange(len(whole)) for _ in range(6))}:
            touched = bytearray(whole)
            touched[place] ^= 1 << draw.randrange(8)
            file.write_bytes(touched)
            found = verify(str(folder))[0]
            assert found, (file.name, place)
        file.write_bytes(whole)
    assert verify(str(folder))[0] == []


def test_a_forger_who_mends_the_lists_is_found_wherever_the_record_was_cut(folder: Path) -> None:
    draw = random.Random(8493)
    for name in ("entries.jsonl", "unit.jsonl", "messages.jsonl"):
        file = folder / "data" / name
        whole = file.read_bytes()
        for _ in range(25):
            one, other = sorted(draw.sample(range(len(whole)), 2))
            file.write_bytes(whole[:one] + whole[other:])
            manifest = folder / "manifest-sha256.txt"
            listed = manifest.read_text()
            before, after = (hashlib.sha256(data).hexdigest() for data in (whole, file.read_bytes()))
            manifest.write_text(listed.replace(before, after))
            assert [one for one in verify(str(folder))[0] if "manifest" not in one], (name, one, other)
            manifest.write_text(listed)
        file.write_bytes(whole)


def test_a_file_put_into_the_zip_a_second_time_is_named(whole: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.zip"
    copy.write_bytes(whole.read_bytes())
    with zipfile.ZipFile(copy, "a") as opened, pytest.warns(UserWarning, match="Duplicate name"):
        opened.writestr("CH-014/record.html", opened.read("CH-014/record.html"))
    assert verify(str(copy))[0] == ["record.html: it stands twice"]
