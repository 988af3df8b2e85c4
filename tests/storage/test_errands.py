"""Slow work: asked for with what asks for it, done once, tried again in time, given up aloud.

That its fruits stand once however often it was tried is the line's own promise; there is no outside source.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from bot.errands import FIRST_WAIT_S, LIMIT_S, TRIES, Errands, Finish, nothing
from bot.model.entries import UNIT_CHAIN, CoolerRead, Draft
from bot.model.errand import Errand
from bot.model.errors import ErrandFailed, ErrandHopeless
from bot.model.message import Outgoing
from storage.errands import LEASE_US
from storage.work import Work
from tests.talk import Talk, talk_to

SECOND_US = 1_000_000


class Worker:
    """Does errands as the test says: fails with what `problems` holds, then writes one reading and tells R1."""

    def __init__(self, talk: Talk) -> None:
        self.talk = talk
        self.tried: list[tuple[float, str]] = []
        self.problems: list[Exception] = []
        self.started_us = talk.clock.now_us()

    async def __call__(self, errand: Errand) -> Finish:
        self.tried.append(((self.talk.clock.now_us() - self.started_us) / SECOND_US, errand.subject))
        if self.problems:
            raise self.problems.pop(0)

        async def finish(work: Work) -> list[Outgoing]:
            now_us = self.talk.clock.now_us()
            body = CoolerRead(
                cooler=errand.subject, celsius=4.4, raw="4.4C", at="2026-10-12T09:00:00+01:00", at_us=0
            )
            draft = Draft(
                chain=UNIT_CHAIN, body=body, author="", channel="", said_us=now_us, received_us=now_us
            )
            await work.record([draft])
            return [
                Outgoing(channel="sms", account="+447700900001", person="R1", text="done", queued_us=now_us)
            ]

        return finish


@asynccontextmanager
async def worked(url: str, folder: Path) -> AsyncIterator[tuple[Talk, Worker, Errands]]:
    async with talk_to(url, folder) as talk:
        worker = Worker(talk)
        yield talk, worker, doer(talk, worker)


def doer(talk: Talk, worker: Worker, name: str = "first") -> Errands:
    def gave_up(errand: Errand, problem: str) -> list[Outgoing]:
        text = f"{errand.subject}: {problem}"
        return [Outgoing(channel="sms", account="+447700900004", person="S1", text=text, queued_us=1)]

    return Errands(talk.house.store, talk.house.pump, talk.clock, name, {"look": worker}, gave_up)


async def ask(talk: Talk, *subjects: str, kind: str = "look", in_s: int = 0) -> None:
    async with talk.house.store.work() as work:
        due_us = talk.clock.now_us() + in_s * SECOND_US
        await work.ask([Errand(kind=kind, subject=one, due_us=due_us, doc={"of": one}) for one in subjects])


async def ask_and_fail(talk: Talk) -> None:
    async with talk.house.store.work() as work:
        await work.ask([Errand(kind="look", subject="N", due_us=1)])
        raise ZeroDivisionError


async def rows(talk: Talk) -> list[tuple[str, str, int, str]]:
    async with talk.house.store.database.read() as tx:
        sql = "SELECT subject, state, attempts, COALESCE(problem, '') FROM due ORDER BY subject"
        return await tx.rows(sql)


async def seconds_go_by(talk: Talk, errands: Errands, count: int, step: int = 1) -> None:
    for _ in range(0, count, step):
        talk.clock.move_to(talk.clock.now_us() + step * SECOND_US)
        await errands.drain()


async def test_an_errand_is_done_once_and_its_fruits_stand(database_url: str, tmp_path: Path) -> None:
    async with worked(database_url, tmp_path) as (talk, _worker, errands):
        await ask(talk, "M")
        await ask(talk, "M")
        assert await errands.drain() == 1
        assert await errands.drain() == 0
        await talk.house.pump.drain()
        assert [one.text for one in talk.sent] == ["done"]
        assert [one["celsius"] for one in (await talk.show("cooler"))[0]["readings"]] == [4.4]
        assert await rows(talk) == [("M", "done", 1, "")]
        assert await talk.rebuilds_the_same()


async def test_errands_are_done_in_the_order_in_which_they_are_due(database_url: str, tmp_path: Path) -> None:
    async with worked(database_url, tmp_path) as (talk, worker, errands):
        await ask(talk, "later", in_s=5)
        await ask(talk, "b", "a")
        assert await errands.next_us() == talk.clock.now_us()
        await seconds_go_by(talk, errands, 6)
        assert worker.tried == [(1, "a"), (1, "b"), (5, "later")]


async def test_what_fails_is_tried_again_after_twice_the_time_each_time(
    database_url: str, tmp_path: Path
) -> None:
    async with worked(database_url, tmp_path) as (talk, worker, errands):
        worker.problems = [ErrandFailed("no line"), ZeroDivisionError(), ErrandFailed("slow down", 37)]
        await ask(talk, "M")
        await errands.drain()
        assert await rows(talk) == [("M", "asked", 1, "no line")]
        await seconds_go_by(talk, errands, 80)
        at = [0, FIRST_WAIT_S, 3 * FIRST_WAIT_S, 3 * FIRST_WAIT_S + 37]
        assert [when for when, _ in worker.tried] == at
        assert await rows(talk) == [("M", "done", 4, "")]


@pytest.mark.parametrize(
    ("problem", "tries"),
    [(lambda: ErrandFailed("no line"), TRIES), (lambda: ErrandHopeless("it is gone"), 1)],
)
async def test_what_cannot_be_done_is_given_up_aloud(
    database_url: str,
    tmp_path: Path,
    caplog: pytest.LogCaptureFixture,
    problem: Callable[[], Exception],
    tries: int,
) -> None:
    async with worked(database_url, tmp_path) as (talk, worker, errands):
        worker.problems = [problem() for _ in range(20)]
        await ask(talk, "M")
        await errands.drain()
        await seconds_go_by(talk, errands, 3 * FIRST_WAIT_S * 2**TRIES, FIRST_WAIT_S)
        await talk.house.pump.drain()
        assert len(worker.tried) == tries
        assert [(one.person, one.text.split(",")[0]) for one in talk.sent] == [("S1", f"M: {problem()}")]
        assert "errand look M was given up" in caplog.text
        assert [row[1] for row in await rows(talk)] == ["given_up"]


async def test_a_kind_that_nobody_does_is_parked_until_somebody_does(
    database_url: str, tmp_path: Path
) -> None:
    async with worked(database_url, tmp_path) as (talk, worker, errands):
        await ask(talk, "M", kind="new")
        await errands.drain()
        assert await rows(talk) == [("M", "parked", 1, "nobody does this kind")]
        newer = Errands(
            talk.house.store, talk.house.pump, talk.clock, "newer", {"new": worker}, lambda *_: []
        )
        await newer.start()
        assert await newer.drain() == 1
        assert await rows(talk) == [("M", "done", 2, "")]


async def test_what_a_killed_process_was_doing_is_done_by_the_next(database_url: str, tmp_path: Path) -> None:
    async with worked(database_url, tmp_path) as (talk, worker, errands):
        await ask(talk, "M")
        assert len(await errands._lease(1)) == 1  # and then it is killed
        second = doer(talk, worker, "second")
        assert await second.drain() == 0
        talk.clock.move_to(talk.clock.now_us() + LEASE_US)
        await ask(talk, "N")
        assert await second.drain() == 2
        assert {subject for _, subject in worker.tried} == {"M", "N"}


async def test_the_next_process_waits_for_no_lease_of_one_that_is_gone(
    database_url: str, tmp_path: Path
) -> None:
    async with worked(database_url, tmp_path) as (talk, worker, errands):
        await ask(talk, "M")
        await errands._lease(1)
        second = doer(talk, worker, "second")
        await second.start()
        assert await second.drain() == 1


async def test_fruits_that_cannot_be_written_leave_nothing_behind(database_url: str, tmp_path: Path) -> None:
    async with worked(database_url, tmp_path) as (talk, worker, _errands):

        async def breaks(errand: Errand) -> Finish:
            good = await worker(errand)

            async def finish(work: Work) -> list[Outgoing]:
                await good(work)
                raise ZeroDivisionError

            return finish

        broken = Errands(talk.house.store, talk.house.pump, talk.clock, "b", {"look": breaks}, lambda *_: [])
        await ask(talk, "M")
        await broken.drain()
        assert (await talk.show("cooler"))[0]["readings"] == []
        assert await rows(talk) == [("M", "asked", 1, "it broke")]


async def test_what_is_asked_for_in_a_transaction_that_fails_is_never_done(database_url: str, tmp_path: Path) -> None:
    async with worked(database_url, tmp_path) as (talk, _worker, _errands):
        assert not talk.house.store.asked.is_set()
        await ask(talk, "M")
        assert talk.house.store.asked.is_set()
        talk.house.store.asked.clear()
        with pytest.raises(ZeroDivisionError):
            await ask_and_fail(talk)
        assert not talk.house.store.asked.is_set()
        assert [row[0] for row in await rows(talk)] == ["M"]


async def test_the_loop_is_woken_by_what_is_asked_for_and_does_a_few_at_once(
    database_url: str, tmp_path: Path
) -> None:
    async with worked(database_url, tmp_path) as (talk, _worker, _):
        going, most, gate = set(), [0], asyncio.Event()
        done: list[str] = []

        async def slow(errand: Errand) -> Finish:
            going.add(errand.subject)
            most[0] = max(most[0], len(going))
            if len(going) == 2:
                gate.set()
            await gate.wait()
            going.discard(errand.subject)
            done.append(errand.subject)
            return nothing

        errands = Errands(
            talk.house.store, talk.house.pump, talk.clock, "loop", {"look": slow}, lambda *_: []
        )
        loop = asyncio.create_task(errands.run())
        try:
            await asyncio.sleep(0)
            await ask(talk, "a", "b", "c", "d", "e")
            async with asyncio.timeout(LIMIT_S / 60):
                while [row[1] for row in await rows(talk)] != ["done"] * 5:  # noqa: ASYNC110 - a store rings no bell
                    await asyncio.sleep(0)
        finally:
            loop.cancel()
            await asyncio.gather(loop, return_exceptions=True)
        assert sorted(done) == ["a", "b", "c", "d", "e"]
        assert most == [2]
