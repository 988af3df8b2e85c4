"""One case for all tests of this folder: played once, exported once."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from tests.export.case import SCRIPT, line, unpacked
from tests.talk import SETUP
from tests.test_cli import coldjar


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store in which a case was played, two midnights and two photos in it."""
    made = tmp_path_factory.mktemp("case")
    (made / "setup.toml").write_text(SETUP)
    (made / "script.jsonl").write_text("\n".join(line(*one) for one in SCRIPT))
    for name, grey in (("one.jpg", 90), ("two.jpg", 160)):
        Image.new("RGB", (640, 480), (grey, grey, grey)).save(made / name)
    for words in (("setup", made / "setup.toml"), ("replay", made / "script.jsonl")):
        done = coldjar(*words, "--store", made / "store")
        assert done.returncode == 0, done.stderr
    return made / "store"


@pytest.fixture(scope="session")
def whole(store: Path) -> Path:
    """The case's bundle, as it was written."""
    to = store.parent / "whole.zip"
    done = coldjar("export", "CH-014", "--store", store, "--out", to)
    assert (done.returncode, done.stderr) == (0, "")
    return to


@pytest.fixture
def folder(whole: Path, tmp_path: Path) -> Path:
    """The bundle unpacked, for this test to touch."""
    return unpacked(whole, tmp_path)
