"""The case bundle from outside: valid to others' tools, and it names what was touched."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import bagit
import pytest

from bot.export.verify import verify
from tests.export.case import SECRET, bare, entries, forget, mend, photos, unpacked
from tests.test_cli import coldjar


def test_the_bag_is_valid_to_the_library_of_congress_bagit_library(folder: Path) -> None:
    # RFC 8493 as `bagit` reads it: declaration, oxum, both manifests, nothing missing and nothing over.
    assert bagit.Bag(str(folder)).validate(processes=1)


def test_the_manifest_is_what_sha256sum_checks(folder: Path) -> None:
    # GNU coreutils' own reading of FIPS 180-4.
    done = subprocess.run(["sha256sum", "--strict", "-c", "manifest-sha256.txt"], cwd=folder, capture_output=True)
    assert done.returncode == 0, done.stderr


def test_the_zip_is_stored_and_whole_to_another_reader(whole: Path) -> None:
    with zipfile.ZipFile(whole) as opened:
        assert opened.testzip() is None
        assert {one.compress_type for one in opened.infolist()} == {zipfile.ZIP_STORED}


def test_an_untouched_bundle_says_so_in_its_folder_and_in_its_zip(whole: Path, folder: Path) -> None:
    assert bare(whole, folder / "verify.py") == (0, ["Nothing was altered."])
    assert bare(folder, folder / "verify.py") == (0, ["Nothing was altered."])


def test_one_flipped_byte_in_one_photo_names_that_file_alone(whole: Path, folder: Path, tmp_path: Path) -> None:
    photo = photos(folder)[0]
    wanted = [f"data/originals/{photo.name}: its bytes are not those that were exported", "1 finding."]
    data = bytearray(photo.read_bytes())
    zipped = bytearray(whole.read_bytes())
    place = zipped.index(bytes(data)) + len(data) // 2
    zipped[place] ^= 1
    (tmp_path / "touched.zip").write_bytes(zipped)
    assert bare(tmp_path / "touched.zip", folder / "verify.py") == (1, wanted)
    data[len(data) // 2] ^= 1
    photo.write_bytes(data)
    assert bare(folder, folder / "verify.py") == (1, wanted)
    mend(folder)
    assert verify(str(folder))[0] == [f"data/originals/{photo.name}: its bytes do not give its name"]


def test_every_entry_that_is_taken_out_is_named_between_its_neighbours(folder: Path) -> None:
    lines = entries(folder)
    for seq in range(1, len(lines)):
        (folder / "data/entries.jsonl").write_text("".join(lines[: seq - 1] + lines[seq:]))
        mend(folder)
        gone = [one for one in verify(str(folder))[0] if " is gone, " in one]
        assert gone == [f"CH-014: entry {seq} is gone, between {seq - 1} and {seq + 1}"]


def test_a_last_entry_that_is_taken_out_is_missed_at_midnight(folder: Path) -> None:
    lines = entries(folder)
    last = len(lines)
    (folder / "data/entries.jsonl").write_text("".join(lines[:-1]))
    mend(folder)
    (gone,) = [one for one in verify(str(folder))[0] if one.startswith("CH-014")]
    assert gone == f"CH-014: entry {last} is gone, after {last - 1}: the midnight after 2026-10-13 counted {last}"
    forget(folder, "CH-014")
    mend(folder)
    assert gone in verify(str(folder))[0]


def test_an_entry_that_was_rewritten_is_named_and_no_other(folder: Path) -> None:
    lines = entries(folder)
    place = next(n for n, one in enumerate(lines) if "SampleCorrected" in one)
    forged = lines[place].replace("5104", "5107")
    (folder / "data/entries.jsonl").write_text("".join([*lines[:place], forged, *lines[place + 1 :]]))
    name = f"CH-014#{place + 1}"
    assert verify(str(folder))[0] == [f"{name}: its text does not give its hash"]
    # With a hash of its own it fits neither the entry after it nor, were that rewritten too, a midnight.
    text = forged[len('{"entry":') : forged.rindex(',"hash"')]
    whole = f'{{"entry":{text},"hash":"{hashlib.sha256(text.encode()).hexdigest()}"}}\n'
    (folder / "data/entries.jsonl").write_text("".join([*lines[:place], whole, *lines[place + 1 :]]))
    mend(folder)
    found = verify(str(folder))[0]
    assert found == [f"CH-014#{place + 2}: it does not follow entry {place + 1}; one was exchanged"]


def test_a_chain_that_was_written_anew_to_its_end_differs_from_the_midnights(folder: Path) -> None:
    lines = entries(folder)
    held = [json.loads(one)["entry"] for one in lines]
    held[3]["author"] = "R2"
    previous, made = held[3]["previous"], lines[:3]
    for entry in held[3:]:
        text = json.dumps({**entry, "previous": previous}, separators=(",", ":"), sort_keys=True, ensure_ascii=False)
        previous = hashlib.sha256(text.encode()).hexdigest()
        made.append(f'{{"entry":{text},"hash":"{previous}"}}\n')
    (folder / "data/entries.jsonl").write_text("".join(made))
    forget(folder, "CH-014")
    mend(folder)
    found = verify(str(folder))[0]
    assert found
    assert all(re.fullmatch(r"CH-014#\d+: it has another hash than the midnight after 2026-10-1\d noted", f) for f in found)


TOUCHES: dict[str, tuple[Callable[[Path], object], str]] = {
    "a message rewritten": (
        lambda folder: rewrite(folder / "data/messages.jsonl", "misread", "mistook"),
        "message 4 of data/messages.jsonl: its text does not give its hash",
    ),
    "an address exchanged": (
        lambda folder: rewrite(folder / "data/addresses.jsonl", "900001", "900009"),
        "address sms:+447700900009: it does not give its commitment",
    ),
    "a photo taken out": (
        lambda folder: photos(folder)[1].unlink(),
        "data/originals/{photo}: it is gone",
    ),
    "a file added": (
        lambda folder: (folder / "data/note.txt").write_text("x"),
        "data/note.txt: it was added",
    ),
    "the page rewritten": (
        lambda folder: rewrite(folder / "record.html", "Corrowby", "Corruby"),
        "record.html: its bytes are not those that were exported",
    ),
    "the note of the ends taken out": (
        lambda folder: (folder / "data/head.json").unlink(),
        "data/head.json: it is gone",
    ),
}  # fmt: skip


def rewrite(file: Path, old: str, new: str) -> None:
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new))


@pytest.mark.parametrize("touch", TOUCHES)
def test_what_else_was_touched_is_named_alone(folder: Path, touch: str) -> None:
    photo = photos(folder)[1].name
    act, wanted = TOUCHES[touch]
    act(folder)
    assert verify(str(folder))[0] == [wanted.format(photo=photo)]


def test_the_bundle_holds_every_hand_over_as_show_prints_it(store: Path, folder: Path) -> None:
    held = [json.loads(one) for one in (folder / "data/custody.jsonl").read_text().splitlines()]
    assert held == json.loads(coldjar("show", "custody", "--case", "CH-014", "--store", store, "--json").stdout)
    assert [one["to"] for one in held if one["sample"] == "03"] == ["R1", "C1"]


def test_a_file_that_is_no_bundle_is_refused_in_one_sentence(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("no zip")
    script = folder / "verify.py"
    for place in (tmp_path / "letter.txt", tmp_path / "nowhere", tmp_path):
        done = subprocess.run([sys.executable, "-I", "-S", script, place], capture_output=True, text=True)
        assert done.returncode == 2
        assert done.stderr.startswith(f"{place} is no case bundle")
        assert done.stderr.count("\n") == 1


def all_of(bundle: Path) -> bytes:
    with zipfile.ZipFile(bundle) as opened:
        return b"".join(opened.read(name) for name in opened.namelist() if "/originals/" not in name)


def test_a_disclosure_copy_holds_no_account_and_still_verifies(store: Path, folder: Path, tmp_path: Path) -> None:
    to = tmp_path / "copy.zip"
    assert coldjar("export", "CH-014", "--store", store, "--out", to, "--disclosure").returncode == 0
    held = all_of(to)
    assert b"7700900001" not in held
    assert b"7700900003" not in held
    assert SECRET.encode() in held  # typed into a text, and the page says that texts are not masked
    assert b"Free texts are not masked" in held
    assert bare(to, folder / "verify.py") == (0, ["Nothing was altered."])
    assert bagit.Bag(str(unpacked(to, tmp_path / "copy"))).validate(processes=1)


def test_a_copy_with_masked_texts_holds_no_word_of_a_persons_and_still_verifies(
    store: Path, folder: Path, tmp_path: Path
) -> None:
    to = tmp_path / "copy.zip"
    done = coldjar("export", "CH-014", "--store", store, "--out", to, "--disclosure", "--mask")
    assert done.returncode == 0
    held = all_of(to)
    for words in (SECRET, "north quay", "misread", "tank 2P", "47.2830N"):
        assert words.encode() not in held, words
    assert bare(to, folder / "verify.py") == (0, ["Nothing was altered."])
    copy = unpacked(to, tmp_path / "copy")
    lines = entries(copy)
    (copy / "data/entries.jsonl").write_text("".join(lines[:4] + lines[5:]))
    assert verify(str(copy))[0] == ["CH-014: entry 5 is gone, between 4 and 6"]


def test_an_original_that_the_store_lost_or_altered_is_said_at_once(store: Path, folder: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copytree(store, tmp_path / "store"))
    first, second = sorted((copy / "originals").glob("??/*"))
    first.unlink()
    second.write_bytes(b"other")
    to = tmp_path / "b.zip"
    done = coldjar("export", "CH-014", "--store", copy, "--out", to)
    assert done.returncode == 1
    assert f"original {first.name}: it is missing from the store" in done.stdout
    assert f"original {second.name}: its bytes do not give its name" in done.stdout
    code, found = bare(to, folder / "verify.py")
    assert code == 1
    assert any(one.startswith(f"original {first.name}: it is not in the bundle") for one in found)
    assert any(one.endswith(f"{second.name}.jpg: its bytes do not give its name") for one in found)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("CH-099",), "There is no case CH-099; there are: CH-014.\n"),
        (("CH-014", "--mask"), "--mask goes with --disclosure; give both, or neither.\n"),
        (("CH-014", "--out", __file__), f"{__file__} is there already; name another file with --out.\n"),
        (("CH-014", "--out", "/nowhere/b.zip"), "The export failed (No such file or directory); see to the disk of /nowhere/b.zip.\n"),
    ],
)  # fmt: skip
def test_an_export_asked_wrongly_is_one_sentence(store: Path, words: tuple[str, ...], sentence: str) -> None:
    done = coldjar("export", *words, "--store", store)
    assert (done.returncode, done.stderr) == (2, sentence)
