"""Orders of whoever runs the unit, by text and at the shell: each change an entry, nothing of a case lost."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from bot.administer import give_order
from bot.model.errors import AskedWrongly
from bot.trades import Trades
from tests.dialogue.test_strangers import code_for, kinds, people
from tests.talk import SETUP, Talk

ROOT = Path(__file__).resolve().parents[2]


async def test_a_person_comes_by_text_gets_a_phone_by_code_and_goes_again(talk: Talk) -> None:
    assert await talk.says("S1", "add person R9 responder, custodian") == (
        "R9 is in service: responder, custodian. For their phone: ENROL R9."
    )
    phone = "sms:+447700900009"
    await talk.hears(phone, await code_for(talk, "R9"))
    await talk.hears(phone, "05 spill sheen 0855 seal 5105")
    assert (await talk.jar("05"))["told_by"] == "R9"
    assert await talk.says("S1", "retire person r9") == "R9 is out of service. What is on record stays."
    assert await talk.says(phone, "status") == "This line is for enrolled crews. If you have a code, send it."
    assert (await people(talk))["R9"]["addresses"] == [{"address": phone, "state": "retired"}]
    assert (await talk.jar("05"))["told_by"] == "R9"
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_kits_and_coolers_come_and_go_by_text_and_what_they_hold_stays(talk: Talk) -> None:
    assert await talk.says("S1", "add kit B 20-39 seals 5201-5221") == "Kit B: numbers 20 to 39."
    assert await talk.says("S1", "add cooler K 25 L basic") == "Cooler K: 25 L basic."
    assert {kit["name"] for kit in await talk.show("kit")} == {"A", "B"}
    assert await talk.says("S1", "retire kit b") == "B is out of service. What is on record stays."
    assert await talk.says("S1", "retire cooler K") == "K is out of service. What is on record stays."
    assert {kit["name"] for kit in await talk.show("kit")} == {"A"}
    assert (await kinds(talk))[-4:] == ["KitSet", "CoolerSet", "KitRetired", "CoolerRetired"]
    assert await talk.rebuilds_the_same()


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("add person R9 captain", "Like: ADD PERSON R9 responder."),
        ("add kit B twenty", "Like: ADD KIT B 20-39 seals 5201-5221."),
        ("add case CH-015 soon", "Like: ADD CASE CH-015"),
        ("add person R/9", "R/9 cannot be a name here"),
        ("add case ch-014", "ch-014 "),
        ("retire kit Z", "There is no Z. There are: A."),
        ("retire person R9", "There is no R9 here."),
        ("close CH-999", "There is no case CH-999. Open: CH-014."),
        ("reopen CH-999", "There is no case CH-999. Open: CH-014."),
        ("address R1 sms:12", "12 is no number that can be called."),
        ("address R1 sms:07700 900002", "Not"),
        ("address R2 sms:+447700900001", "That address is R1's."),
        ("people", "In service: C1 custodian, R1 responder, R2 responder, S1 supervisor."),
    ],
)
async def test_an_order_that_cannot_be_followed_says_the_way(talk: Talk, text: str, answer: str) -> None:
    before = await kinds(talk)
    said = await talk.says("S1", text)
    if answer != "Not":
        assert answer in said
    assert await kinds(talk) == before


async def test_a_closed_case_is_not_offered_and_reopened_it_goes_on_on_the_same_chain(talk: Talk) -> None:
    await talk.hears("R1", "03 spill sheen 0855 47.2830N 19.9510W pad seal 5103")
    assert await talk.says("S1", "close CH-014 all handed on") == (
        "CH-014 is closed. Nothing of it is lost. To go on: REOPEN CH-014."
    )
    assert (await talk.says("R1", "jar")).startswith("You are on no open case.")
    assert (await talk.says("R1", "CH-014 04 spill sheen 0858 seal 5104")).startswith("CH-014 is closed. Your text is kept")
    assert len(await talk.show("samples")) == 1
    assert await talk.says("S1", "close CH-014") == "CH-014 is closed already. To go on: REOPEN CH-014."
    assert await talk.says("S1", "add case CH-014") != ""
    assert await talk.says("S1", "reopen ch-014") == "CH-014 goes on where it stood."
    await talk.hears("R1", "04 spill sheen 0858 seal 5104")
    entries = await talk.show("entries", "CH-014")
    assert [entry["seq"] for entry in entries] == list(range(1, len(entries) + 1))
    assert [one["kind"] for one in entries if one["kind"].startswith("Case")] == ["CaseOpened", "CaseClosed", "CaseReopened"]
    assert (await talk.jar("04"))["case"] == "CH-014"
    assert (await talk.verdict()).found == ()
    assert await talk.rebuilds_the_same()


async def test_a_new_case_by_order_is_an_exercise_only_where_that_was_said(talk: Talk) -> None:
    await talk.hears("S1", "add case CH-015")
    assert (await talk.says("S1", "add case CH-901 exercise")).startswith("EXERCISE ")
    assert {case["name"]: case["exercise"] for case in await talk.show("cases")} == {
        "CH-014": False, "CH-015": False, "CH-901": True,
    }  # fmt: skip


@pytest.mark.parametrize("who", ["R1", "C1"])
async def test_nobody_else_gives_such_orders(talk: Talk, who: str) -> None:
    before = await kinds(talk)
    for text in ("add person R9 responder", "retire person R2", "close CH-014", "address R1 web:x", "add case CH-015"):
        await talk.hears(who, text)
    assert await kinds(talk) == before
    assert [case["state"] for case in await talk.show("cases")] == ["open"]


async def test_an_order_at_the_shell_is_the_same_order_and_tells_others_by_their_own_lines(talk: Talk) -> None:
    house = talk.house
    say = await give_order(house.store, Trades().of, "S1", "close CH-014", house.clock)
    assert say == ["CH-014 is closed. Nothing of it is lost. To go on: REOPEN CH-014."]
    (closed,) = [entry for entry in await talk.show("entries", "CH-014") if entry["kind"] == "CaseClosed"]
    assert (closed["author"], closed["channel"], closed["message"]) == ("S1", "shell", None)
    with pytest.raises(AskedWrongly, match="no order that R1 may give; these may: S1"):
        await give_order(house.store, Trades().of, "R1", "reopen CH-014", house.clock)
    with pytest.raises(AskedWrongly, match="There is no R77"):
        await give_order(house.store, Trades().of, "R77", "reopen CH-014", house.clock)
    assert (await talk.verdict()).found == ()


def coldjar(*words: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "bot", *map(str, words)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)


def test_the_commands_show_a_code_once_and_keep_none(tmp_path: Path) -> None:
    (tmp_path / "unit.toml").write_text(SETUP)
    store = tmp_path / "store"
    assert coldjar("setup", tmp_path / "unit.toml", "--store", store).returncode == 0
    shown = coldjar("code", "R1", "--enrol", "--store", store)
    code = shown.stdout.split()[1]
    assert len(code.replace("-", "")) == 12
    personal = coldjar("code", "R1", "--personal", "--store", store).stdout.split()[1]
    assert (len(personal), personal.isdecimal()) == (6, True)
    assert coldjar("code", "R1", "--store", store).returncode == 2
    assert coldjar("code", "R9", "--enrol", "--store", store).returncode == 2
    told = coldjar("admin", "add", "person", "R9", "responder", "--store", store, "--as", "S1")
    assert told.stdout == "R9 is in service: responder. For their phone: ENROL R9.\n"
    kept = b"".join(path.read_bytes() for path in store.iterdir() if path.name.startswith("coldjar.db"))
    for said in (code, code.replace("-", ""), personal):
        assert re.search(rf"(?<![0-9a-f]){said}(?![0-9a-f])".encode(), kept) is None
    listed = json.loads(coldjar("show", "people", "--store", store, "--json").stdout)
    assert "R9" in {one["name"] for one in listed}


def test_setup_run_again_keeps_a_phone_that_a_code_brought_and_brings_no_revoked_one_back(tmp_path: Path) -> None:
    (tmp_path / "unit.toml").write_text(SETUP)
    store = tmp_path / "store"
    coldjar("setup", tmp_path / "unit.toml", "--store", store)
    for order in ("address R2 sms:+447700900055", "revoke R1 0001"):
        assert coldjar("admin", *order.split(), "--store", store, "--as", "S1").returncode == 0
    again = coldjar("setup", tmp_path / "unit.toml", "--store", store)
    assert again.returncode == 2
    assert "sms:+447700900001 of R1 was revoked" in again.stderr
    (tmp_path / "unit.toml").write_text(SETUP.replace('"sms:+447700900001", ', ""))
    assert coldjar("setup", tmp_path / "unit.toml", "--store", store).returncode == 0
    listed = {one["name"]: one for one in json.loads(coldjar("show", "people", "--store", store, "--json").stdout)}
    assert {one["address"] for one in listed["R2"]["addresses"]} == {"sms:+447700900002", "sms:+447700900055"}
    states = {one["address"]: one["state"] for one in listed["R1"]["addresses"]}
    assert states == {"web:r1": "enrolled", "sms:+447700900001": "revoked"}
