"""kill -9 at every step of desk and pump: no acknowledged message is lost, no fact is doubled.

What must hold after a kill is the project's own promise; SIGKILL is the kernel's (POSIX kill(2)).
"""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.talk import talk_to

ROOT = Path(__file__).resolve().parents[2]
# What the kernel was given SIGKILL does not take back, be it for a disk or not.
MEMORY = Path("/dev/shm") if Path("/dev/shm").is_dir() else None


async def kills(url: str, template: str, work: Path) -> list[dict[str, Any]]:
    """Every kill, with what was wrong after it; the last one never came."""
    async with talk_to(url, work):
        pass  # the store is set up
    command = [sys.executable, "-m", "tests.crash.lives", url.partition(":")[0].removesuffix("ql"), template, str(work)]
    done = await asyncio.to_thread(
        subprocess.run, command, cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


async def test_a_kill_at_any_step_loses_no_acknowledged_message_and_doubles_no_fact(
    database_url: str, tmp_path: Path
) -> None:
    on_sqlite = database_url.startswith("sqlite")
    template = database_url.removeprefix("sqlite:///") if on_sqlite else database_url
    with tempfile.TemporaryDirectory(dir=MEMORY) as work:
        told = await kills(database_url, template, Path(work))
    print(f"{len(told) - 1} kills")
    assert [one for one in told if one["problems"]] == []
    assert told[-1]["kill"] is None
    assert len(told) > (250 if on_sqlite else 20)
