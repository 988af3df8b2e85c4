"""A night and a quiet day played by the command: every text that anybody got stands here.

Bands: 40 CFR 136 table II (at or below 6 C), seen in a state SOP; clocks that change: the IANA data; the ladder and
its minutes are common practice, no source.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.talk import ADDRESSES, SETUP
from tests.test_cli import coldjar, listed
from tests.watch.conftest import LADDER

R2, S1 = ADDRESSES["R2"], ADDRESSES["S1"]
JARS = [("20:50", R2, "cooler M 4.1C")] + [
    (f"21:0{n}", R2, f"0{n} spill sheen 20{n}0 seal 510{n} cooler M 4.0C") for n in range(1, 6)
]
NIGHT = [
    ("21:50", R2, "cooler M 4.4C ice plenty"),
    ("03:02", R2, "cooler M 8.4C"),
    ("03:15", S1, "mine M"),
    ("03:31", R2, "cooler M 7.1C second thermometer"),
    ("04:00", R2, "cooler M 5.2C"),
    ("04:29", R2, "cooler M 4.6C"),
    ("05:59", None, ""),
]
# What the watch sends unasked in that night, by the clock on the wall: to whom, at which level, what.
WARM = "Cooler M 8.4 C at 03:02, limit 6.0. Jars 01-05. R2 is with it. Reply MINE M to take this."
AGAIN = (
    "Yours, not solved: Cooler M 5.2 C at 04:00, in range once; a second reading closes it. Jars 01-05. Solved? Text SOLVED M and how."
)
TOLD = [
    ("03:12", "S1", "critical", WARM),  # ten minutes without an answer: at risk, unconfirmed, at night
    ("04:15", "S1", "reminder", AGAIN),  # an hour after the last text about it, its owner alone
    ("04:29", "S1", "reminder", "Cooler M in range, 4.6 C at 04:29. Out for at least 29 min, at most 6 h 10, peak read 8.4 C."),
]


def script(evening: str, morning: str, offsets: tuple[str, str]) -> list[dict[str, Any]]:
    lines = []
    for clock, who, text in [*JARS, *NIGHT]:
        day, offset = (morning, offsets[1]) if clock < "12:00" else (evening, offsets[0])
        line = {"at": f"{day}T{clock}:00{offset}"}
        lines.append(line if who is None else {**line, "channel": "sms", "from": who.partition(":")[2], "text": text})
    return lines


def replayed(folder: Path, lines: list[dict[str, Any]], name: str = "script") -> list[dict[str, Any]]:
    """Everything that went out, by the command in a process of its own."""
    file = folder / f"{name}.jsonl"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines))
    done = coldjar("replay", file, "--store", folder / "store")
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def set_up(folder: Path, opened: str = "2026-10-10T08:00:00+01:00") -> None:
    (folder / "unit.toml").write_text((SETUP + LADDER).replace("2026-10-12T08:00:00+01:00", opened))
    done = coldjar("setup", folder / "unit.toml", "--store", folder / "store")
    assert done.returncode == 0, done.stderr


def unasked(sent: list[dict[str, Any]], hours: int) -> list[tuple[str, str, str, str]]:
    """(clock on the wall, to whom, level, text) of all that the watch sent, of whatever kind, to whomever."""
    told = [one for one in sent if one["alert"] is not None]
    wall = [f"{(int(one['at'][11:13]) + hours) % 24:02}{one['at'][13:16]}" for one in told]
    return [(at, one["person"], one["alert"]["level"], one["text"]) for at, one in zip(wall, told, strict=True)]


def test_the_night_sends_exactly_what_the_ladder_allows_and_closes_by_itself(tmp_path: Path) -> None:
    set_up(tmp_path)
    sent = replayed(tmp_path, script("2026-10-11", "2026-10-12", ("+01:00", "+01:00")))
    assert unasked(sent, 1) == TOLD
    (alert,) = listed("alerts", tmp_path / "store")
    assert (alert["kind"], alert["owner"], alert["closed_at"]) == ("cooler_warm", "S1", "2026-10-12T03:29:00Z")
    (cooler,) = listed("cooler", tmp_path / "store")
    (run,) = cooler["excursions"]
    assert (run["at_least_minutes"], run["at_most_minutes"], run["peak_celsius"], run["open"]) == (29, 370, 8.4, False)
    assert run["samples"] == ["01", "02", "03", "04", "05"]
    assert coldjar("verify", "--store", tmp_path / "store").returncode == 0


@pytest.mark.parametrize("at", [8, 9, 11])  # after the warm reading, after MINE, after the first in range
def test_the_same_night_over_a_restart_at_any_point_is_the_same(tmp_path: Path, at: int) -> None:
    set_up(tmp_path)
    lines = script("2026-10-11", "2026-10-12", ("+01:00", "+01:00"))
    sent = replayed(tmp_path, lines[:at], "before") + replayed(tmp_path, lines[at:], "after")
    assert unasked(sent, 1) == TOLD


def test_the_same_night_over_a_change_of_clocks_is_the_same_by_the_minute(tmp_path: Path) -> None:
    # 25 Oct 2026, Europe/Lisbon: 02:00 WEST becomes 01:00 WET; an hour more lies before the warm reading.
    set_up(tmp_path)
    sent = replayed(tmp_path, script("2026-10-24", "2026-10-25", ("+01:00", "+00:00")))
    longer = [
        (at, who, level, text.replace(":02,", ":02+00,").replace(":00,", ":00+00,").replace(":29.", ":29+00.").replace("6 h 10", "7 h 10"))
        for at, who, level, text in TOLD
    ]
    assert unasked(sent, 0) == longer
    (cooler,) = listed("cooler", tmp_path / "store")
    assert [(one["at_least_minutes"], one["at_most_minutes"]) for one in cooler["excursions"]] == [(29, 430)]


def test_the_day_after_has_the_excursion_in_its_digest_and_on_its_page(tmp_path: Path) -> None:
    set_up(tmp_path)
    lines = script("2026-10-11", "2026-10-12", ("+01:00", "+01:00"))
    lines += [{"at": "2026-10-12T09:00:00+01:00", "channel": "sms", "from": R2.partition(":")[2], "text": "cooler M 4.3C"}]
    sent = replayed(tmp_path, [*lines, {"at": "2026-10-12T18:01:00+01:00"}])
    (text,) = [one["text"] for one in sent if one["person"] == "S1" and "Mon 12 Oct" in one["text"]]
    run = "cooler M out of range at least 29 min, at most 6 h 10, peak 8.4 C, jars 01-05"
    assert run in text
    page = tmp_path / "digest.pdf"
    assert coldjar("digest", "--date", "2026-10-12", "--store", tmp_path / "store", "--pdf", page).returncode == 0
    pages = PdfReader(page).pages
    assert len(pages) in (1, 2)
    assert run in " ".join(pages[0].extract_text().split())


def test_a_quiet_day_says_first_that_nothing_needs_them_in_text_and_on_its_page(tmp_path: Path) -> None:
    set_up(tmp_path)
    r1, c1 = ADDRESSES["R1"], ADDRESSES["C1"]
    said = [("08:30", r1, "out till 1300"), ("08:40", r1, "cooler M 3.9C ice plenty")]
    for n in range(1, 6):
        line = f"0{n} spill sheen 09{n}0 47.2830N 19.9510W pad gloves changed seal 510{n} cooler M 4.0C"
        said += [(f"09:{n}2", r1, line), (f"09:{n}3", r1, f"0{n} is shut and wiped")]
    said += [("11:30", r1, "all well, lunch"), ("12:20", r1, "back"), ("13:00", r1, "offer 01-05 to C1 place evidence fridge")]
    said += [("13:05", c1, " ".join(f"0{n} 510{n} whole" for n in range(1, 6)))]
    lines = [
        {"at": f"2026-10-12T{at}:00+01:00", "channel": "sms", "from": who.partition(":")[2], "text": text}
        for at, who, text in said
    ]
    sent = replayed(tmp_path, [*lines, {"at": "2026-10-12T18:01:00+01:00"}])
    (text,) = [one["text"] for one in sent if one["person"] == "S1"]
    assert text.splitlines()[0] == "Corrowby Haven, Mon 12 Oct. Nothing needs you."
    assert unasked(sent, 1) == []
    page = tmp_path / "digest.pdf"
    assert coldjar("digest", "--date", "2026-10-12", "--store", tmp_path / "store", "--pdf", page).returncode == 0
    first = PdfReader(page).pages[0].extract_text()
    assert "Nothing needs you." in first.split("\n")[0]
