"""A phone goes overboard: from the last text to the new phone nothing is leaked and nothing is lost."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from bot.model.errors import SendFailed
from tests.lines import line_to
from tests.talk import SETUP

ROOT = Path(__file__).resolve().parent.parent
OLD, MATE, LEAD, NEW = (f"+4477009000{end}" for end in ("01", "02", "04", "77"))
FIXED = "This line is for enrolled crews. If you have a code, send it."
BEFORE = (
    ("10:00", OLD, "01 spill sheen 0958 47.2830N 19.9510W pad seal 5101"),
    ("10:01", OLD, "ok"),
    ("10:10", MATE, "R1's phone went over the side"),
    ("10:12", NEW, "R1 here, on the skipper's phone"),
    ("10:14", NEW, "02 spill thick 1008 seal 5102"),
    ("10:16", LEAD, "revoke R1 0001"),
    ("10:20", OLD, "status"),
    ("10:21", OLD, "03 spill sheen 1019 seal 5103"),
    ("10:22", OLD, "who is on CH-014?"),
    ("10:24", NEW, "03 spill sheen 1023 seal 5103"),
)


def coldjar(*words: object) -> str:
    command = [sys.executable, "-m", "bot", *map(str, words)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True, timeout=60).stdout


def replay(tmp_path: Path, store: Path, said: tuple[tuple[str, str, str], ...]) -> list[dict[str, Any]]:
    lines = [
        {"at": f"2026-10-12T{at}:00+01:00", "channel": "sms", "from": phone, "text": text} for at, phone, text in said
    ]
    script = tmp_path / "script.jsonl"
    script.write_text("".join(json.dumps(line) + "\n" for line in lines))
    return [json.loads(line) for line in coldjar("replay", script, "--store", store).splitlines()]


def test_a_lost_phone_from_overboard_to_revoked_leaks_nothing_and_loses_nothing(tmp_path: Path) -> None:
    store = tmp_path / "store"
    (tmp_path / "unit.toml").write_text(SETUP)
    coldjar("setup", tmp_path / "unit.toml", "--store", store)
    sent = replay(tmp_path, store, BEFORE)
    code = coldjar("code", "R1", "--enrol", "--store", store).split()[1]
    wrong = code.translate(str.maketrans("0123456789", "1234567890"))
    after = (("10:40", OLD, wrong), ("10:41", NEW, code), ("10:42", NEW, "ok"), ("10:50", OLD, code))
    sent += replay(tmp_path, store, after)

    revoked = next(place for place, text in enumerate(sent) if "revoked" in text["text"])
    to_old = [text["text"] for text in sent[revoked:] if text["to"] == OLD]
    assert to_old == [FIXED]  # once a day, and nothing of any case or person
    before_code = [text["text"] for text in sent if text["to"] == NEW and text["at"] < "2026-10-12T09:41:00Z"]
    assert before_code == [FIXED]

    def shown(what: str) -> list[dict[str, Any]]:
        listed: list[dict[str, Any]] = json.loads(coldjar("show", what, "--store", store, "--json"))
        return listed

    jars = {jar["number"]: (jar["told_by"], jar["received_time"], jar["confirmed"]) for jar in shown("samples")}
    assert jars == {
        "01": ("R1", "2026-10-12T09:00:00Z", True),
        "02": ("R1", "2026-10-12T09:14:00Z", True),
        "03": ("R1", "2026-10-12T09:24:00Z", True),
    }
    said = [(message["from"], message["text"]) for message in shown("messages")]
    assert [text for _, text in said[: len(BEFORE)]] == [text for _, _, text in BEFORE]
    assert len(said) == len(BEFORE) + len(after)
    assert not any(code in text for _, text in said)
    assert coldjar("verify", "--store", store).endswith("Nothing was altered.\n")


async def test_what_waits_to_go_to_a_lost_phone_never_goes_once_it_is_revoked(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = lambda text: SendFailed("no answer") if text.address == f"sms:{OLD}" else None
        await line.hears(line.message("R1", "01 spill sheen 0855 seal 5101"))
        await line.seconds_go_by(1)
        assert ("waiting", "no answer") in {(state, why) for state, why, _ in await line.outbox()}
        await line.hears(line.message("S1", "revoke R1 0001"))
        line.far.answer = lambda text: None
        await line.seconds_go_by(1200, step=60)
        assert line.far.to("R1") == []
        assert ("given_up", "revoked") in {(state, why) for state, why, _ in await line.outbox()}
