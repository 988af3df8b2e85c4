"""A store of an older release: refused with the way on, backed up, brought up, and read whole by this one.

The store is as its own release wrote it, as SQL text (`tests/storage/releases`); SQLite itself makes the file.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from secrets import token_hex

import httpx
import pytest

from tests.test_cli import ROOT, coldjar, listed
from tests.test_keeping import serving

RELEASES = sorted((ROOT / "tests" / "storage" / "releases").glob("*.sql"))


@pytest.fixture(params=RELEASES, ids=[release.stem for release in RELEASES])
def older(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The folder of a store of that release; the photo that it names was lost."""
    store = tmp_path / "store"
    store.mkdir(mode=0o700)
    with closing(sqlite3.connect(store / "coldjar.db")) as made:
        made.executescript(request.param.read_text())
    (store / "key").touch(mode=0o600)
    (store / "key").write_text(token_hex(32))
    return store


def raw(store: Path) -> list[tuple[str, int, str, str]]:
    with closing(sqlite3.connect(store / "coldjar.db")) as plain:
        return plain.execute("SELECT chain, seq, hash, text FROM entries ORDER BY chain, seq").fetchall()


def test_it_is_read_by_nothing_before_it_was_upgraded_and_the_way_is_said(older: Path, tmp_path: Path) -> None:
    way = f"coldjar upgrade --store {older} --backup BACKUP_FOLDER"
    for words in (("serve",), ("verify",), ("show", "cases")):
        done = coldjar(*words, "--store", older)
        assert (done.returncode, done.stderr.strip()) == (2, f"The store is of an older release; run: {way}")
    assert way in coldjar("check", "--store", older).stdout
    kept = coldjar("backup", tmp_path / "safe", "--store", older)
    assert (kept.returncode, "of an older release" in kept.stdout, "Verified" in kept.stdout) == (0, True, False)


def test_it_is_backed_up_brought_up_and_verified_and_the_line_goes_on_with_it(older: Path, tmp_path: Path) -> None:
    before = raw(older)
    done = coldjar("upgrade", "--backup", tmp_path / "safe", "--store", older)
    assert raw(older) == before, "an entry is never written anew"
    lost = done.stdout.splitlines()[1]
    assert (done.returncode, lost.startswith("original "), lost.endswith(": it is missing")) == (1, True, True)
    assert coldjar("verify", "--silent", "--store", older).stdout.splitlines()[1:] == [lost, "1 finding."]
    assert [one["id"] for one in listed("messages", older)]
    assert {jar["case"] for jar in listed("samples", older)} == {"CH-014"}
    for text, hash_ in ((text, hash_) for _, _, hash_, text in before):
        assert hashlib.sha256(text.encode()).hexdigest() == hash_
    with serving(older) as line:
        assert httpx.get(f"{line.address}/chat").status_code == 401
    again = coldjar("upgrade", "--backup", tmp_path / "safe", "--store", older)
    assert again.stdout == "The store is of this release already; nothing was done.\n"


def test_its_backup_is_restored_and_brought_up_on_an_empty_machine(older: Path, tmp_path: Path) -> None:
    coldjar("backup", tmp_path / "safe", "--store", older)
    done = coldjar("restore", tmp_path / "safe", "--store", tmp_path / "new")
    assert done.returncode == 1  # the lost photo
    assert raw(tmp_path / "new") == raw(older)
    assert json.dumps(listed("samples", tmp_path / "new"))
