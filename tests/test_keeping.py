"""A store kept safe: copied while it runs, put back on an empty machine, the same in both."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import httpx
import pytest
from PIL import Image

from tests.talk import SETUP
from tests.test_cli import ROOT, SCRIPT, coldjar, listed

LISTS = ("samples", "entries", "messages", "people", "alerts", "cooler", "photos")


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("kept")
    (made / "setup.toml").write_text(SETUP)
    said = [{"channel": "sms", **line} if len(line) > 1 else line for line in SCRIPT]
    (made / "script.jsonl").write_text("\n".join(map(json.dumps, said)))
    Image.new("RGB", (16, 16), "grey").save(made / "jar.jpg")
    for words in (("setup", made / "setup.toml"), ("replay", made / "script.jsonl")):
        done = coldjar(*words, "--store", made / "store")
        assert (done.returncode, done.stderr) == (0, "")
    return made / "store"


@pytest.fixture
def store(played: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(played, tmp_path / "store"))


@dataclass
class Running:
    """A line that runs by itself: where its pages are, and what its log said."""

    address: str = ""
    said: list[dict[str, str]] = field(default_factory=list)


@contextmanager
def serving(store: Path, **settings: str) -> Iterator[Running]:
    """The line running on this store by itself; all of its log is read when the block has ended."""
    command = [sys.executable, "-m", "bot", "serve", "--store", str(store)]
    environment = {"PYTHONPATH": str(ROOT), "COLDJAR_PORT": "0", "PATH": "/usr/bin:/bin", **settings}
    running = Running()
    with subprocess.Popen(command, cwd=ROOT, env=environment, stderr=subprocess.PIPE, text=True) as line:
        assert line.stderr is not None
        try:
            wanted = {"listening at", *(("health answers",) if settings else ())}
            while wanted:
                running.said.append(json.loads(line.stderr.readline()))
                wanted = {words for words in wanted if words not in running.said[-1]["event"]}
            listening = next(said["event"] for said in running.said if "listening at" in said["event"])
            running.address = listening.split("listening at ")[1].split()[0]
            yield running
        finally:
            line.terminate()
            running.said += [json.loads(said) for said in line.communicate(timeout=20)[1].splitlines()]


def lists_of(store: Path) -> dict[str, object]:
    return {what: listed(what, store) for what in LISTS}


def test_a_line_that_runs_is_backed_up_and_stands_again_on_an_empty_machine(store: Path, tmp_path: Path) -> None:
    with serving(store) as line:
        assert httpx.get(line.address).status_code in (200, 303, 401)  # standing work is done before it answers
        before = lists_of(store)
        done = coldjar("backup", tmp_path / "safe", "--store", store)
        assert (done.returncode, done.stderr) == (0, "")
        assert done.stdout.endswith("1 original, 1 of them copied now.\nVerified: nothing was altered.\n")
    shutil.rmtree(store)
    again = tmp_path / "again"
    restored = coldjar("restore", tmp_path / "safe", "--store", again)
    assert (restored.returncode, restored.stderr) == (0, "")
    assert restored.stdout.startswith(f"Restored to {again}: ")
    assert lists_of(again) == before
    assert (again / "key").stat().st_mode & 0o777 == 0o600
    assert coldjar("verify", "--store", again).returncode == 0


def test_originals_that_a_backup_holds_already_are_not_copied_again(store: Path, tmp_path: Path) -> None:
    assert "1 of them copied now" in coldjar("backup", tmp_path / "safe", "--store", store).stdout
    held = next((tmp_path / "safe" / "originals").glob("*/*"))
    stamp = held.stat().st_mtime_ns
    again = coldjar("backup", tmp_path / "safe", "--store", store)
    assert "1 original, 0 of them copied now" in again.stdout
    assert held.stat().st_mtime_ns == stamp
    assert len(list((tmp_path / "safe" / "stores").iterdir())) == 2


def test_a_photo_altered_before_the_backup_is_named_and_not_passed_off_as_kept(store: Path, tmp_path: Path) -> None:
    photo = next((store / "originals").glob("??/*"))
    photo.write_bytes(b"another")
    done = coldjar("backup", tmp_path / "safe", "--store", store)
    assert done.returncode == 1
    assert f"original {photo.name}: it is missing" in done.stdout


def test_a_photo_that_was_taken_away_is_named_by_whoever_verifies(store: Path) -> None:
    (photo,) = (store / "originals").glob("??/*")
    photo.unlink()
    done = coldjar("verify", "--silent", "--store", store)
    assert (done.returncode, done.stdout.splitlines()[1:]) == (1, [f"original {photo.name}: it is missing", "1 finding."])


def test_a_store_edited_by_hand_is_named_by_its_backup(store: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(store / "coldjar.db")) as hand, hand:
        hand.execute("UPDATE samples SET seal = '9999' WHERE number = '03'")
    done = coldjar("backup", tmp_path / "safe", "--store", store)
    assert done.returncode == 1
    assert "sample 03 is shown differently from its entries" in done.stdout


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("backup", "{store}/here", "--store", "{store}"), "A backup inside the store's own folder is lost with it"),
        (("restore", "{tmp}/nothing", "--store", "{tmp}/new"), "There is no whole backup in"),
        (("restore", "{tmp}/safe", "--store", "{store}"), "is not empty; name a new folder."),
        (("restore", "{tmp}/safe", "--store", "{tmp}/new", "--at", "2001"), "There is no backup 2001; there are: 20"),
        (("backup", "{tmp}/safe", "--store", "{tmp}/nowhere"), "There is no store"),
        (("upgrade", "--backup", "{tmp}/safe", "--store", "{tmp}/nowhere"), "There is no"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_sentence(
    words: tuple[str, ...], sentence: str, store: Path, tmp_path: Path
) -> None:
    coldjar("backup", tmp_path / "safe", "--store", store)
    done = coldjar(*(word.format(store=store, tmp=tmp_path) for word in words))
    assert done.returncode == 2
    assert sentence in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_backup_cut_short_is_no_backup(store: Path, tmp_path: Path) -> None:
    coldjar("backup", tmp_path / "safe", "--store", store)
    stands = next((tmp_path / "safe" / "stores").iterdir())
    (stands / "backup.json").unlink()
    done = coldjar("restore", tmp_path / "safe", "--store", tmp_path / "new")
    assert done.returncode == 2
    assert "There is no whole backup" in done.stderr


def test_a_store_on_postgresql_goes_to_a_backup_and_into_an_empty_database(
    store: Path, tmp_path: Path, postgres_pair: tuple[str, str]
) -> None:
    first, second = postgres_pair
    shutil.rmtree(store)
    (tmp_path / "setup.toml").write_text(SETUP)
    assert coldjar("setup", tmp_path / "setup.toml", "--store", store, database=first).returncode == 0
    done = coldjar("backup", tmp_path / "safe", "--store", store, database=first)
    assert (done.returncode, done.stderr) == (0, "")
    full = coldjar("restore", tmp_path / "safe", "--store", tmp_path / "full", database=first)
    assert full.returncode == 2
    assert full.stderr == "The database holds a store already; name an empty one.\n"
    restored = coldjar("restore", tmp_path / "safe", "--store", tmp_path / "new", database=second)
    assert (restored.returncode, restored.stderr) == (0, "")
    entries = [
        json.loads(coldjar("show", "entries", "--json", "--store", where, database=url).stdout)
        for where, url in ((store, first), (tmp_path / "new", second))
    ]
    assert entries[0] == entries[1] != []
