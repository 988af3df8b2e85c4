"""Handing a case on: a bundle of 200 jars and 600 photos against a plain copy of the same files."""

from __future__ import annotations

import asyncio
import hashlib
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import UTC
from pathlib import Path

from load import Line, line, message

from bot.model.message import Attachment

ROOT = Path(__file__).resolve().parents[2]


def _photos(folder: Path, count: int, size: int) -> list[Attachment]:
    """That many files under their hashes, of bytes that no disk makes smaller."""
    draw, made = random.Random(7), []
    for _ in range(count):
        data = draw.randbytes(size)
        sha256 = hashlib.sha256(data).hexdigest()
        place = folder / sha256[:2] / sha256
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(data)
        made.append(Attachment(sha256=sha256, size=size, media_type="image/heic", name="jar.heic"))
    return made


async def _fill(one: Line, jars: int, photos: list[Attachment]) -> None:
    for jar in range(jars):
        text = f"L-{jar} spill sheen now 47.2830N 19.9510W pad seal {jar:05d}L cooler M 4.4C"
        await one.house.desk.take(message(0, text))
        for photo in photos[jar::jars]:
            said = message(0, f"L-{jar}").model_copy(update={"attachments": (photo,)})
            await one.house.desk.take(said)


def _run(*command: object) -> tuple[float, float]:
    """(seconds, largest resident MB) of a command of its own."""
    began = time.perf_counter()
    child = subprocess.Popen([*map(str, command)], cwd=ROOT, stdout=subprocess.DEVNULL)
    _, code, used = os.wait4(child.pid, 0)
    assert code == 0, command
    return time.perf_counter() - began, used.ru_maxrss / 1024


def _copied(source: Path, to: Path) -> float:
    """Seconds to copy every file, forced to disk as the bundle is."""
    began = time.perf_counter()
    for file in sorted(source.glob("??/*")):
        shutil.copyfile(file, to / file.name)
    os.sync()
    return time.perf_counter() - began


async def bundle(smoke: bool) -> dict[str, float]:
    """Export and verification of a whole case, each against a plain copy of its files."""
    jars, count, size = (10, 30, 1 << 20) if smoke else (200, 600, 3_400_000)
    with tempfile.TemporaryDirectory(prefix="coldjar-bench-") as made:
        folder, copy, to = Path(made) / "store", Path(made) / "copy", Path(made) / "b.zip"
        copy.mkdir()
        folder.mkdir()
        photos = _photos(folder / "originals", count, size)
        async with line(1, folder) as one:
            await _fill(one, jars, photos)
        os.sync()
        plain = await asyncio.to_thread(_copied, folder / "originals", copy)
        shutil.rmtree(copy)
        exported, mb = _run(sys.executable, "-m", "bot", "export", "CH-0", "--store", folder, "--out", to)
        verified, verify_mb = _run(sys.executable, "-I", "-S", ROOT / "bot/export/verify.py", to)
    return {
        "MB": count * size / 1e6, "copy s": plain, "export s": exported, "share of copying": plain / exported,
        "export MB resident": mb, "verify s": verified, "verify share": plain / verified,
        "verify MB resident": verify_mb,
    }  # fmt: skip


async def paper(smoke: bool) -> dict[str, float]:
    """Seconds for a custody sheet of 40 jars, its process and all, once it was set before."""
    from bot.printing import Order, make
    from bot.reports.papers import Facts

    seal = {"tape": None, "state": "whole"}
    blank = dict.fromkeys(("struck", "matrix", "event_time", "tube", "evidence_number"))
    jars = [
        {**blank, "number": f"{n:02d}", "collector": "R1", "seals": [seal | {"number": str(5100 + n)}], "more": {}}
        for n in range(1, 41)
    ]
    facts = Facts("CH-0", False, "Corrowby Haven", "now", "CH-0#1 0", "a4", UTC, jars)
    await make("custody", facts, Order())
    took = []
    for _ in range(1 if smoke else 5):
        began = time.perf_counter()
        await make("custody", facts, Order())
        took.append(time.perf_counter() - began)
    return {"median seconds": sorted(took)[len(took) // 2]}
