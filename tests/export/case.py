"""A case to hand on, its bundle unpacked, and what a forger does to it."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import zipfile
from pathlib import Path

R1, C1 = "+447700900001", "+447700900003"
SECRET = "07700 900555"
SCRIPT = [
    ("2026-10-12T09:03:00Z", R1, "03 spill sheen 1002 47.2830N 19.9510W pad seal 5103"),
    ("2026-10-12T09:03:30Z", R1, "03 cooler M 4.4C"),
    ("2026-10-12T09:03:40Z", R1, "cooler M 44C at 0945"),
    ("2026-10-12T09:03:50Z", R1, "cooler M 4.4 not 44, misread"),
    ("2026-10-12T09:04:00Z", R1, "photo one.jpg"),
    ("2026-10-12T09:05:00Z", R1, "03 seal is 5104 not 5103, misread"),
    ("2026-10-12T09:06:00Z", R1, "ok"),
    ("2026-10-12T09:07:00Z", R1, "need number 03"),
    ("2026-10-12T09:08:00Z", C1, "03 E-118"),
    ("2026-10-12T09:09:00Z", R1, f"05 source tank 2P 1009 place north quay, ask the mate on {SECRET}"),
    ("2026-10-12T09:10:00Z", R1, "photo two.jpg"),
    ("2026-10-12T09:11:00Z", R1, "offer 03 05 to C1"),
    ("2026-10-12T09:12:00Z", C1, "03 5104 whole"),
    ("2026-10-13T09:00:00Z", R1, "06 spill thick 0955 47.2850N 19.9520W jar seal 5106 cooler M 4.2C"),
    ("2026-10-14T00:00:00Z", None, ""),
]


def line(at: str, who: str | None, text: str) -> str:
    if who is None:
        return json.dumps({"at": at})
    said = {"photo": text[6:], "caption": "03"} if text.startswith("photo ") else {"text": text}
    return json.dumps({"at": at, "channel": "sms", "from": who, **said})


def unpacked(bundle: Path, to: Path) -> Path:
    with zipfile.ZipFile(bundle) as opened:
        opened.extractall(to)
    return to / "CH-014"


def bare(place: Path, script: Path) -> tuple[int, list[str]]:
    """What the bundle's own script says where Python has nothing but itself: its code, and its findings."""
    done = subprocess.run([sys.executable, "-I", "-S", script, place], capture_output=True, text=True)
    assert done.stderr == ""
    return done.returncode, done.stdout.splitlines()[1:]


def mend(folder: Path) -> None:
    """What a careful forger does: the bag's lists fit its files again."""
    for name in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        paths = [one.split("  ")[1] for one in (folder / name).read_text().splitlines()]
        lines = [f"{hashlib.sha256((folder / path).read_bytes()).hexdigest()}  {path}\n" for path in paths]
        (folder / name).write_text("".join(lines))


def forget(folder: Path, chain: str) -> None:
    """A forger's: the note of where the chain ended goes too."""
    head = json.loads((folder / "data/head.json").read_text())
    del head["heads"][chain]
    (folder / "data/head.json").write_text(json.dumps(head))


def entries(folder: Path) -> list[str]:
    return (folder / "data/entries.jsonl").read_text().splitlines(keepends=True)


def photos(folder: Path) -> list[Path]:
    return sorted((folder / "data/originals").iterdir())
