"""Who is told of an alert, when again, who next, and who no more.

Ladder and quiet hours are common practice, no source; clock changes are those of the IANA data.
"""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from bot.model.message import Outgoing
from storage.database import open_database
from tests.talk import SETUP, Talk, talk_to
from tests.watch.conftest import LADDER

DANGER = "going down the pump room for it"


def pushes(sent: list[Outgoing]) -> list[tuple[str, int]]:
    """(person, repeat) of each text of the watch that is no reminder."""
    return [
        (one.person or "", one.alert.repeat)
        for one in sent
        if one.alert is not None and one.alert.level != "reminder"
    ]


def marked(sent: list[Outgoing]) -> list[Outgoing]:
    """What the watch sent of alerts and reminders; the digest is neither."""
    return [one for one in sent if one.alert is not None]


async def test_an_alert_that_nobody_takes_climbs_the_ladder_to_its_end(night: Talk) -> None:
    assert pushes(await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")) == [("S1", 0)]
    assert pushes(await night.waits("2026-10-12T10:09:59Z")) == []
    assert pushes(await night.waits("2026-10-12T10:10:00Z")) == [("S1", 1), ("S2", 1)]
    assert pushes(await night.waits("2026-10-12T10:20:00Z")) == [("D1", 2)]
    assert pushes(await night.waits("2026-10-13T11:20:00Z")) == []


async def test_after_an_acknowledgement_only_the_owner_is_told(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    await night.waits("2026-10-12T10:10:00Z")
    answer = await night.says("S2", "mine R1", at="2026-10-12T10:12:00Z")
    assert answer == "Yours. Nobody else is woken for R1."
    sent = await night.waits("2026-10-12T12:30:00Z")
    assert [(one.person, one.alert.level) for one in sent if one.alert] == [("S2", "reminder"), ("S2", "reminder")]
    assert sent[0].text.startswith("Yours, not solved: R1 texted of going in")
    (alert,) = await night.show("alerts")
    assert (alert["owner"], alert["acknowledged_at"]) == ("S2", "2026-10-12T10:12:00Z")
    assert [push["to"] for push in alert["pushes"]] == ["S1", "S1", "S2", "S2", "S2"]


async def test_a_solved_alert_says_how_and_is_silent(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    await night.says("S1", "mine", at="2026-10-12T10:01:00Z")
    assert "How was it solved?" in await night.says("S1", "solved R1")
    assert await night.says("S1", "solved R1 spoke to them") == 'R1 solved, on record: "spoke to them".'
    assert marked(await night.waits("2026-10-12T16:30:00Z")) == []
    (alert,) = await night.show("alerts")
    assert alert["closed_at"] == "2026-10-12T10:03:00Z"
    assert await night.rebuilds_the_same()
    assert (await night.verdict()).found == ()


async def test_who_was_told_and_waits_hears_that_it_is_over(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    await night.waits("2026-10-12T10:10:00Z")
    sent = await night.hears("S2", "solved R1 they are ashore", at="2026-10-12T10:11:00Z")
    told = [(one.person, one.alert.level if one.alert else None) for one in sent]
    assert told == [("S1", "reminder"), ("S2", None)]


async def test_one_who_is_not_on_the_ladder_takes_nothing(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    assert "only those whom this alert goes to" in await night.says("R2", "mine R1")
    assert pushes(await night.waits("2026-10-12T10:10:00Z")) == [("S1", 1), ("S2", 1)]


async def test_mine_names_its_object_where_several_wait(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    await night.hears("R2", DANGER, at="2026-10-12T10:01:00Z")
    assert await night.says("S1", "mine") == "Which? Waiting: R1, R2. Send like: mine R1"
    assert await night.says("S1", "mine r2") == "Yours. Nobody else is woken for R2."
    assert await night.says("S1", "mine M") == "No alert of M waits."
    sent = await night.waits("2026-10-12T10:20:00Z")
    assert {one.alert.subject for one in sent if one.alert} == {"R1"}


async def test_a_line_that_slept_sends_what_is_late_once_and_says_so(night: Talk) -> None:
    await night.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
    night.clock.move_to(night.clock.now_us() + 45 * 60_000_000)
    night.sent.clear()
    assert await night.house.ticker.tick() == 1
    await night.house.drain()
    assert [(one.person, one.text[:30]) for one in night.sent] == [
        ("S1", "Late, was due 11:10: Again: R1"),
        ("S2", "Late, was due 11:10: Again: R1"),
    ]
    night.clock.move_to(night.clock.now_us() - 40 * 60_000_000)  # a clock set back
    assert await night.house.ticker.tick() == 0
    assert pushes(await night.waits("2026-10-12T10:55:00Z")) == [("D1", 2)]


async def test_a_restart_changes_nothing(migrated_url: str, tmp_path: Path) -> None:
    """The same night told by one process and by another after each text gives the same texts."""
    sent: list[tuple[str, int]] = []
    times = ["2026-10-12T10:05:00Z", "2026-10-12T10:10:00Z", "2026-10-12T10:20:00Z"]
    async with talk_to(migrated_url, tmp_path, SETUP + LADDER) as talk:
        sent += pushes(await talk.hears("R1", DANGER, at="2026-10-12T10:00:00Z"))
    for start, until in itertools.pairwise(times):
        async with talk_to(migrated_url, tmp_path, SETUP + LADDER, start) as talk:
            sent += pushes(await talk.waits(until))
    assert sent == [("S1", 0), ("S1", 1), ("S2", 1), ("D1", 2)]


@pytest.fixture
def migrated_url(migrated_file: Path, tmp_path: Path) -> str:
    (tmp_path / "coldjar.db").write_bytes(migrated_file.read_bytes())
    return f"sqlite:///{tmp_path / 'coldjar.db'}"


async def test_an_unknown_kind_of_due_work_is_parked_and_done_once_somebody_does_it(night: Talk) -> None:
    async with night.house.store.database.write() as tx:
        await tx.run("INSERT INTO due (kind, subject, due_us, state) VALUES ('tide', 'M', 5, 'waiting')")
    assert await night.house.ticker.tick() >= 1
    async with night.house.store.database.read() as tx:
        assert await tx.rows("SELECT state FROM due WHERE kind = 'tide'") == [("parked",)]
    async with night.house.store.database.write() as tx:
        await tx.run("UPDATE due SET kind = 'ladder' WHERE kind = 'tide'")
    await night.house.ticker.start()
    assert await night.house.ticker.tick() == 1


async def test_sos_reaches_all_at_once_and_then_climbs_until_somebody_owns_it(night: Talk) -> None:
    sent = await night.hears("R1", "SOS", at="2026-10-12T01:30:00Z")
    assert {one.person for one in sent if one.alert} == {"R2", "C1", "S1", "S2", "D1"}
    assert pushes(await night.waits("2026-10-12T01:40:00Z")) == [("S1", 1), ("S2", 1)]
    await night.says("S1", "mine R1", at="2026-10-12T01:41:00Z")
    assert pushes(await night.waits("2026-10-12T03:00:00Z")) == []


async def test_two_tickers_of_one_store_file_nothing_twice(database_url: str, tmp_path: Path) -> None:
    async with talk_to(database_url, tmp_path, SETUP + LADDER) as talk:
        await talk.hears("R1", DANGER, at="2026-10-12T10:00:00Z")
        talk.clock.move_to(talk.clock.now_us() + 10 * 60_000_000)
        async with talk_to(database_url, tmp_path, SETUP + LADDER, "2026-10-12T10:10:00Z") as other:
            assert await talk.house.ticker.tick() + await other.house.ticker.tick() == 1
        database = await open_database(database_url)
        async with database.read() as tx:
            rows = await tx.rows("SELECT COUNT(*) FROM entries WHERE kind = 'AlertTold'")
        await database.close()
        assert rows == [(1,)]
