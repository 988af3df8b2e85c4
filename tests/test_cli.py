"""The command line from outside: what it prints, what it refuses and in which words, its exit codes."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.talk import SETUP

ROOT = Path(__file__).resolve().parent.parent
R1, C1 = "+447700900001", "+447700900003"
SCRIPT = [
    {"at": "2026-10-12T09:03:00Z", "from": R1, "text": "03 spill sheen 1002 47.2830N 19.9510W pad seal 5103"},
    {"at": "2026-10-12T09:03:30Z", "from": R1, "text": "03 cooler M 4.4C"},
    {"at": "2026-10-12T09:04:00Z", "from": R1, "photo": "jar.jpg", "caption": "03"},
    {"at": "2026-10-12T09:05:00Z", "from": R1, "text": "03 seal is 5104 not 5103, misread"},
    {"at": "2026-10-12T09:06:00Z", "from": R1, "text": "ok"},
    {"at": "2026-10-12T09:07:00Z", "from": R1, "text": "04 spill 47.8830N 20.0W fill 50% cooler M 5C"},
    {"at": "2026-10-12T09:08:00Z", "from": R1, "text": "the tide turned"},
    {"at": "2026-10-12T09:08:30Z", "from": R1, "text": "need number 03"},
    {"at": "2026-10-12T09:09:00Z", "from": C1, "text": "03 E-118"},
    {"at": "2026-10-12T09:10:00Z", "from": "+447700900099", "text": "hello"},
    {"at": "2026-10-12T09:11:00Z", "from": R1, "text": "going into the tank"},
    {"at": "2026-10-14T00:00:00Z"},
]  # fmt: skip


def coldjar(*words: object, cwd: Path = ROOT, **settings: str) -> subprocess.CompletedProcess[str]:
    """Run the command by itself; of Coldjar's settings only these are in its environment."""
    env = {name: value for name, value in os.environ.items() if not name.startswith("COLDJAR_")}
    env |= {f"COLDJAR_{name.upper()}": value for name, value in settings.items()}
    command = [sys.executable, "-m", "bot", *map(str, words)]
    env["PYTHONPATH"] = str(ROOT)
    return subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, timeout=60)


def listed(what: str, store: Path, *more: str) -> list[dict[str, Any]]:
    """What `show … --json` prints."""
    done = coldjar("show", what, "--store", store, "--json", *more)
    assert done.returncode == 0, done.stderr
    lines: list[dict[str, Any]] = json.loads(done.stdout)
    return lines


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a setup file, a script with its photo, and a store that was set up from the file."""
    made = tmp_path_factory.mktemp("line")
    (made / "setup.toml").write_text(SETUP)
    said = [{"channel": "sms", **line} if len(line) > 1 else line for line in SCRIPT]
    (made / "script.jsonl").write_text("\n".join(map(json.dumps, said)))
    Image.new("RGB", (16, 16), "grey").save(made / "jar.jpg")
    done = coldjar("setup", made / "setup.toml", "--store", made / "store")
    assert (done.returncode, done.stderr) == (0, "")
    return made


@pytest.fixture(scope="module")
def played(folder: Path) -> Path:
    """A store in which the script was played; the texts stand beside it."""
    shutil.copytree(folder / "store", folder / "played")
    done = coldjar("replay", folder / "script.jsonl", "--store", folder / "played")
    assert (done.returncode, done.stderr) == (0, "")
    (folder / "texts.jsonl").write_text(done.stdout)
    return folder / "played"


@pytest.fixture
def store(played: Path, tmp_path: Path) -> Path:
    """A store of this test's own, with the script played."""
    return Path(shutil.copytree(played, tmp_path / "store"))


def test_setup_says_how_many_changes_it_made_and_gives_each_web_address_a_link(tmp_path: Path) -> None:
    (tmp_path / "setup.toml").write_text(SETUP)
    store = tmp_path / "store"
    done = coldjar("setup", tmp_path / "setup.toml", "--store", store, public_url="https://line.example")
    first, link = done.stdout.splitlines()
    assert first.endswith(" changes on record.")
    assert link.startswith("R1: https://line.example/in/")
    assert (store / "key").stat().st_mode & 0o777 == 0o600


def test_setup_again_writes_no_entry(store: Path, folder: Path) -> None:
    before = listed("entries", store)
    done = coldjar("setup", folder / "setup.toml", "--store", store)
    assert (done.returncode, done.stdout) == (0, "0 changes on record.\n")
    assert listed("entries", store) == before


def test_a_changed_setup_file_writes_only_what_changed(store: Path, tmp_path: Path) -> None:
    (tmp_path / "setup.toml").write_text(SETUP.replace("numbers = [1, 19]", "numbers = [1, 25]"))
    before = listed("entries", store)
    assert coldjar("setup", tmp_path / "setup.toml", "--store", store).stdout == "1 changes on record.\n"
    assert [entry["kind"] for entry in listed("entries", store) if entry not in before] == ["KitSet"]
    assert listed("kit", store)[0]["numbers"] == [1, 25]


def test_the_same_script_gives_the_same_texts_and_the_same_record(folder: Path, tmp_path: Path) -> None:
    outputs, records = [], []
    for name in ("one", "two"):
        copy = shutil.copytree(folder / "store", tmp_path / name)
        outputs.append(coldjar("replay", folder / "script.jsonl", "--store", copy).stdout)
        records.append(listed("entries", copy))
    assert outputs[0] == outputs[1] != ""
    assert records[0] == records[1] != []


def test_a_script_played_again_on_the_same_store_doubles_no_fact(store: Path, folder: Path) -> None:
    before = listed("entries", store)
    again = coldjar("replay", folder / "script.jsonl", "--store", store)
    assert (again.returncode, again.stdout) == (0, "")
    assert listed("entries", store) == before


def test_a_text_out_has_the_fields_that_programs_read(played: Path) -> None:
    texts = [json.loads(line) for line in (played.parent / "texts.jsonl").read_text().splitlines()]
    for text in texts:
        assert text.keys() >= {"at", "channel", "to", "person", "text", "asks", "choices", "alert", "files"}
    alerts = [text["alert"] for text in texts if text["alert"]]
    assert [alert["kind"] for alert in alerts] == ["entry_stop"] * 2 + ["reading_overdue"] * 4
    assert alerts[0].keys() >= {"id", "kind", "subject", "level", "repeat"}


# The fields that programs read; more may be added, none renamed.
SHAPES = {
    "samples": "case number exercise kind matrix event_time offset_derived received_time position place"
    " collector told_by accounts witnesses method device_lot evidence_number seals fill gloves_changed cooler"
    " cooler_celsius in_cold_at tube with status confirmed flags photos queries corrections not_stated",
    "people": "name roles addresses out_till",
    "messages": "id channel from person sent_at received_at text sha256 state",
    "alerts": "id kind subject level raised_at pushes owner acknowledged_at closed_at",
    "cooler": "name class readings excursions forecast grade",
    "kit": "name ready_for_jars items numbers_left seals_left",
}
INNER = {
    ("samples", "position"): "lat lon raw source",
    ("samples", "seals"): "number state at",
    ("samples", "photos"): "sha256 state camera_time",
    ("samples", "queries"): "id field text raised_at open",
    ("samples", "corrections"): "field old new by at received_at why sort",
    ("people", "addresses"): "address state",
    ("alerts", "pushes"): "to at",
    ("cooler", "readings"): "at celsius raw by band",
}


@pytest.mark.parametrize("what", SHAPES)
def test_each_list_has_the_fields_that_programs_read(played: Path, what: str) -> None:
    lines = listed(what, played)
    assert lines
    assert all(line.keys() >= set(SHAPES[what].split()) for line in lines)
    for field, names in [(field, names) for (of, field), names in INNER.items() if of == what]:
        held = [one for line in lines for one in _each(line[field])]
        assert held
        assert all(one.keys() >= set(names.split()) for one in held)


def _each(value: Any) -> list[dict[str, Any]]:
    return value if isinstance(value, list) else [value]


def test_a_jar_as_programs_read_it(played: Path) -> None:
    jar = next(jar for jar in listed("samples", played, "--case", "CH-014") if jar["number"] == "03")
    # ISO 8601: 10:02 told in Lisbon's summer time, one hour ahead of UTC (IANA time zone data).
    assert (jar["event_time"], jar["offset_derived"]) == ("2026-10-12T10:02:00+01:00", True)
    assert jar["received_time"] == "2026-10-12T09:03:00Z"
    assert (jar["kind"], jar["matrix"], jar["method"], jar["cooler"]) == ("spill", "sheen", "pad", "M")
    assert [seal["number"] for seal in jar["seals"]] == ["5104"]
    assert jar["corrections"][0]["old"] == "5103"
    assert jar["evidence_number"] == "E-118"
    assert jar["photos"][0]["sha256"] == sha256((played.parent / "jar.jpg").read_bytes()).hexdigest()


def altered(store: Path, *statements: str) -> list[str]:
    """What `verify` finds after somebody with the store's file in hand ran these statements on it."""
    with closing(sqlite3.connect(store / "coldjar.db")) as file, file:
        for (trigger,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            file.execute(f'DROP TRIGGER "{trigger}"')
        for statement in statements:
            assert file.execute(statement).rowcount == 1
    done = coldjar("verify", "--store", store, "--json")
    assert done.returncode == 1
    found: list[str] = json.loads(done.stdout)["found"]
    return found


def first(store: Path, kind: str) -> tuple[str, int, str, str]:
    """Chain, sequence and text of the first entry of a kind, and SQL that picks it."""
    with closing(sqlite3.connect(store / "coldjar.db")) as file:
        sql = "SELECT chain, seq, text FROM entries WHERE kind = ? ORDER BY seq"
        chain, seq, text = file.execute(sql, (kind,)).fetchone()
    return chain, seq, text, f"chain = '{chain}' AND seq = {seq}"


def test_an_untouched_store_verifies_and_rebuilds_the_same(store: Path) -> None:
    # Whole figures are in it: RFC 8785, section 3.2.2.3, writes 5.0 as 5.
    done = coldjar("verify", "--store", store)
    assert (done.returncode, done.stdout.splitlines()[-1]) == (0, "Nothing was altered.")
    again = coldjar("rebuild", "--store", store)
    assert (again.returncode, again.stdout.splitlines()[-1]) == (0, "Same as before, bit for bit.")


def test_one_byte_of_an_entry_changed_is_named(store: Path) -> None:
    chain, seq, _, where = first(store, "NoteMade")
    change = f"UPDATE entries SET text = replace(text, 'turned', 'burned') WHERE {where}"
    assert altered(store, change) == [f"{chain}#{seq}: its text does not give its hash"]


def test_a_value_changed_is_named_with_the_jar_that_it_would_change(store: Path) -> None:
    chain, seq, _, where = first(store, "SampleTold")
    found = altered(store, f"UPDATE entries SET text = replace(text, '47.2830N', '47.2930N') WHERE {where}")
    assert found == [
        f"{chain}#{seq}: its text does not give its hash",
        f"{chain}: sample 03 is shown differently from its entries",
    ]


def test_an_entry_sealed_anew_is_named_by_the_one_after_it(store: Path) -> None:
    chain, seq, text, where = first(store, "NoteMade")
    forged = text.replace("turned", "burned")
    # FIPS 180-4, by Python's own hashlib.
    hashed = sha256(forged.encode()).hexdigest()
    found = altered(store, f"UPDATE entries SET text = '{forged}', hash = '{hashed}' WHERE {where}")
    assert found[0] == f"{chain}#{seq + 1}: it does not follow the entry before it"


def test_an_entry_taken_out_of_the_middle_is_named(store: Path) -> None:
    chain, seq, _, where = first(store, "NoteMade")
    assert altered(store, f"DELETE FROM entries WHERE {where}") == [
        f"{chain}: entries {seq} to {seq} are gone",
        f"{chain}#{seq + 1}: it does not follow the entry before it",
    ]


def test_the_words_of_a_message_changed_are_named(store: Path) -> None:
    change = "UPDATE raw_messages SET text = replace(text, 'turned', 'burned') WHERE text LIKE '%turned%'"
    key = next(one["id"] for one in listed("messages", store) if one["text"] == "the tide turned")
    assert altered(store, change) == [f"message {key}: its text does not give its hash"]


def test_one_byte_of_a_photo_changed_is_named(store: Path) -> None:
    (jar,) = [jar for jar in listed("samples", store) if jar["photos"]]
    name = jar["photos"][0]["sha256"]
    (photo,) = [path for path in (store / "originals").rglob("*") if path.name.startswith(name)]
    data = bytearray(photo.read_bytes())
    data[-3] ^= 1
    photo.chmod(0o600)
    photo.write_bytes(data)
    done = coldjar("verify", "--store", store)
    assert (done.returncode, name in done.stdout) == (1, True)


def test_a_jar_changed_only_in_the_tables_is_named_and_a_rebuild_puts_it_right(store: Path) -> None:
    found = altered(store, "UPDATE samples SET seal = '5199' WHERE number = '03'")
    assert found == ["CH-014: sample 03 is shown differently from its entries"]
    assert coldjar("rebuild", "--store", store).returncode == 1
    assert coldjar("verify", "--store", store).returncode == 0


ONE_LINE = {"at": "2026-10-12T09:03:00Z", "channel": "sms", "from": R1, "text": "status"}
SCRIPTS = {
    "out_of_order": ([ONE_LINE, {**ONE_LINE, "at": "2026-10-12T09:02:00Z"}], "Line 2"),
    "no_photo": ([{**ONE_LINE, "photo": "none.jpg"}], "none.jpg"),
    "no_offset": ([{**ONE_LINE, "at": "2026-10-12T09:03:00"}], "offset"),
    "no_channel": ([{"at": "2026-10-12T09:03:00Z", "text": "status"}], "channel"),
}
SETUPS = {
    "not_toml": ("unit = = 1", "TOML"),
    "unknown_zone": ('[unit]\nname = "X"\nzone = "Moon/Tycho"', "Moon/Tycho"),
    "unknown_limit": ('[unit]\nname = "X"\n[limits]\nnone_such = 1', "none_such"),
}


def refused(done: subprocess.CompletedProcess[str], word: str) -> None:
    """Asked wrongly: exit 2, nothing on stdout, one sentence on stderr that names what is wrong."""
    assert (done.returncode, done.stdout) == (2, "")
    (sentence,) = done.stderr.splitlines()
    assert word in sentence
    assert sentence[-1] == "." or "coldjar" in sentence
    assert "Error" not in sentence


@pytest.mark.parametrize("command", ["show people", "verify", "rebuild", "serve", "replay script.jsonl"])
def test_a_missing_store_is_said_in_one_sentence(command: str, folder: Path, tmp_path: Path) -> None:
    refused(coldjar(*command.split(), "--store", tmp_path / "none", cwd=folder), "none")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["setup", "replay"])
def test_a_missing_file_is_said_in_one_sentence_and_leaves_no_store(command: str, tmp_path: Path) -> None:
    refused(coldjar(command, tmp_path / "none.toml", "--store", tmp_path / "store"), "none.toml")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", SETUPS)
def test_a_wrong_setup_file_is_said_in_one_sentence_and_leaves_no_store(name: str, tmp_path: Path) -> None:
    text, word = SETUPS[name]
    (tmp_path / "setup.toml").write_text(text)
    refused(coldjar("setup", tmp_path / "setup.toml", "--store", tmp_path / "store"), word)
    assert not (tmp_path / "store").exists()


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_wrong_script_is_said_in_one_sentence(name: str, folder: Path, tmp_path: Path) -> None:
    lines, word = SCRIPTS[name]
    (tmp_path / "script.jsonl").write_text("\n".join(map(json.dumps, lines)))
    refused(coldjar("replay", tmp_path / "script.jsonl", "--store", folder / "store"), word)


def test_a_setup_file_that_names_nobody_known_changes_nothing(store: Path, tmp_path: Path) -> None:
    (tmp_path / "setup.toml").write_text(f'{SETUP}[[coolers]]\nname = "N"\n[watch]\nladder = ["S9"]')
    refused(coldjar("setup", tmp_path / "setup.toml", "--store", store), "S9")
    assert [cooler["name"] for cooler in listed("cooler", store)] == ["M"]


def test_an_unknown_list_or_case_is_answered_with_those_that_there_are(played: Path) -> None:
    refused(coldjar("show", "nothing", "--store", played), "samples")
    refused(coldjar("show", "samples", "--store", played, "--case", "CH-099"), "CH-014")


@pytest.mark.parametrize(("to", "said"), [("Q", "There is no Q here"), ("R1", "these do: S1.")])
def test_a_digest_of_nobody_or_of_who_gets_none_is_refused(store: Path, to: str, said: str) -> None:
    refused(coldjar("digest", "--to", to, "--store", store), said)


def test_a_wrong_setting_is_said_in_one_sentence(played: Path) -> None:
    refused(coldjar("show", "people", "--store", played, port="harbour"), "port")
    refused(coldjar("show", "people", "--store", played, log_level="LOUD"), "log_level")
    refused(coldjar("show", "people", "--store", played, database="file:x"), "sqlite:///")


def test_a_command_that_there_is_not_is_asked_wrongly() -> None:
    assert coldjar("dig").returncode == 2
    assert coldjar("show").returncode == 2
