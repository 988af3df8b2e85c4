"""A migrated store of each test's own, for a line that runs by itself."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture
def url(migrated_file: Path, tmp_path: Path) -> str:
    (tmp_path / "coldjar.db").write_bytes(migrated_file.read_bytes())
    return f"sqlite:///{tmp_path / 'coldjar.db'}"
