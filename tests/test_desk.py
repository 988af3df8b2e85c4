"""The desk acknowledges what is on disk and nothing else, whatever becomes of a message or of the store.

The promises are the line's own; what locks a store is the engines' (SQLite: BEGIN IMMEDIATE; PostgreSQL
manual, 13.3: ACCESS EXCLUSIVE).
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from bot.desk import GULP, WAITING, Desk
from bot.dialogue.turn import Trade
from bot.dialogue.wording import Words
from bot.model.errors import StoreUnavailable, StoreUnfit
from bot.model.message import MessageState, Receipt
from bot.model.people import Unit
from bot.trades import catalogue
from storage.engine import Session, Statement
from tests.lines import START_US, Line, line_to
from tests.storage.conftest import outsider
from tests.talk import ADDRESSES


async def kept(line: Line) -> list[tuple[str, str]]:
    """(key, state) of every message on record, in order."""
    async with line.house.store.database.read() as tx:
        return await tx.rows("SELECT key, state FROM raw_messages ORDER BY row")


async def facts(line: Line) -> dict[str, Any]:
    """The facts of the store's one jar."""
    async with line.house.store.database.read() as tx:
        [(doc,)] = await tx.rows("SELECT doc FROM samples")
    return json.loads(doc)["facts"]  # type: ignore[no-any-return]  # as the model dumps it


def states(told: list[Receipt | BaseException]) -> list[str]:
    return [str(one.state) if isinstance(one, Receipt) else type(one).__name__ for one in told]


# --- a store that does not take a write ---------------------------------------------------------


@asynccontextmanager
async def locked(url: str) -> AsyncIterator[None]:
    """Another program holds the store while the block runs."""
    lock = "BEGIN IMMEDIATE" if url.startswith("sqlite") else "BEGIN"
    async with outsider(url) as ask:
        await ask(lock)
        if lock == "BEGIN":
            await ask("LOCK TABLE store_state, raw_messages IN ACCESS EXCLUSIVE MODE")
        try:
            yield
        finally:
            await ask("ROLLBACK")


async def test_a_locked_store_acknowledges_nothing_and_works_afterwards(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path, busy_s=0.2) as line:
        messages = [line.message("R1", "01 spill"), line.message("R2", "02 spill")]
        async with locked(database_url):
            told = await line.hears(*messages)
        assert states(told) == ["StoreUnavailable", "StoreUnavailable"]
        assert await kept(line) == []
        await line.house.pump.drain()
        assert line.far.sent == []
        assert states(await line.hears(*messages)) == ["taken", "taken"]
        await line.house.pump.drain()
        assert len(line.far.to("R1")) == len(line.far.to("R2")) == 1


async def test_a_full_desk_sends_away_what_it_cannot_hold_and_keeps_what_it_holds(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        slowly = (
            line.message("R1", "?", received_us=START_US + place * 4_000_000) for place in range(WAITING)
        )
        waiting = [asyncio.ensure_future(line.house.desk.take(message)) for message in slowly]  # no flood
        await asyncio.sleep(0)
        with pytest.raises(StoreUnavailable, match="minute"):
            await line.house.desk.take(line.message("R2", "?"))
        await line.house.desk.gulp()
        assert sum(task.done() for task in waiting) == 0  # their callers hear at the next turn of the loop
        await asyncio.sleep(0)
        assert sum(task.done() for task in waiting) == GULP
        for task in waiting:
            task.cancel()


class Failing:
    """A session of the real engine that fails at one call, while it is told how."""

    def __init__(self, session: Session, at: str, problems: list[Exception]) -> None:
        self._session, self._at, self._problems = session, at, problems

    def __getattr__(self, name: str) -> Any:
        if name == self._at and self._problems:
            raise self._problems[0]
        return getattr(self._session, name)


def failing(at: str, problems: list[Exception]) -> Callable[[Session], Session]:
    def wrap(session: Session) -> Session:
        failing_one: Any = Failing(session, at, problems)
        return failing_one  # type: ignore[no-any-return]  # it answers as the session it wraps

    return wrap


async def test_a_commit_that_fails_acknowledges_nothing_and_loses_no_answer(
    database_url: str, tmp_path: Path
) -> None:
    problems: list[Exception] = []
    async with line_to(database_url, tmp_path, wrap=failing("commit", problems)) as line:
        assert states(await line.hears(line.message("R1", "01 spill"))) == ["taken"]
        problems.append(StoreUnavailable("The store's disk is full; free some space and send again."))
        lost = line.message("R2", "02 spill")
        assert states(await line.hears(lost)) == ["StoreUnavailable"]
        problems.clear()
        assert [key for key, _ in await kept(line)] == ["sms:m1"]
        assert states(await line.hears(lost)) == ["taken"]
        await line.house.pump.drain()
        assert len(line.far.to("R1")) == len(line.far.to("R2")) == 1
        assert [state for state, _, _ in await line.outbox()] == ["sent", "sent"]


@pytest.mark.parametrize("at", ["begin", "rows", "commit"])
async def test_a_damaged_store_refuses_and_the_desk_waits_for_the_next_message(
    at: str, database_url: str, tmp_path: Path
) -> None:
    problems: list[Exception] = []
    async with line_to(database_url, tmp_path, wrap=failing(at, problems)) as line:
        problems.append(StoreUnfit("The store is damaged; restore the last backup."))
        message = line.message("R1", "01 spill")
        assert states(await line.hears(message)) == ["StoreUnfit"]
        problems.clear()
        assert states(await line.hears(message)) == ["taken"]


# --- a message that breaks thinking or writing --------------------------------------------------


class Broken(Words):
    """The catalogue, with one sentence that cannot be said."""

    def __init__(self, key: str, say: Callable[[], str]) -> None:
        self._words, self._key, self._broken = catalogue("en"), key, say
        self.language = self._words.language

    def say(self, key: str, **values: object) -> str:
        return self._broken() if key == self._key else self._words.say(key, **values)

    def has(self, key: str) -> bool:
        return self._words.has(key)


def with_broken_help(line: Line, say: Callable[[], str]) -> None:
    """From now on the desk cannot say what "?" asks for."""

    def trade_of(unit: Unit) -> Trade:
        return replace(line.house.trades.of(unit), words=Broken("help", say))

    line.house.desk = Desk(line.house.store, trade_of, line.house.pump, lambda code: code)


def raises() -> str:
    raise ZeroDivisionError("no help today")


UNSTORABLE = "a sentence that no table takes"
POISON = {"thinking": raises, "writing": lambda: UNSTORABLE}


class Choosy:
    """A session of the real engine that takes anything but that sentence."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def __getattr__(self, name: str) -> Any:
        return getattr(self._session, name)

    async def commit(self, statements: Sequence[Statement]) -> None:
        if any(UNSTORABLE in str(value) for _, rows in statements for row in rows for value in row):
            raise ValueError(UNSTORABLE)
        await self._session.commit(statements)


def choosy(session: Session) -> Session:
    choosy_one: Any = Choosy(session)
    return choosy_one  # type: ignore[no-any-return]  # it answers as the session it wraps


@pytest.mark.parametrize("breaks", POISON)
async def test_a_message_that_breaks_is_parked_and_answered_and_stops_no_other(
    breaks: str, database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path, wrap=choosy) as line:
        with_broken_help(line, POISON[breaks])
        told = await line.hears(
            line.message("R1", "01 spill sheen"), line.message("R2", "?"), line.message("C1", "status")
        )
        assert states(told) == ["taken", "parked", "taken"]
        assert [state for _, state in await kept(line)] == ["taken", "parked", "taken"]
        await line.house.pump.drain()
        assert line.far.to("R2") == [catalogue("en").say("parked")]
        assert len(line.far.to("R1")) == len(line.far.to("C1")) == 1
        assert states(await line.hears(line.message("R2", "02 spill"))) == ["taken"]


async def test_a_parked_message_that_comes_again_is_not_thought_about_again(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        with_broken_help(line, raises)
        message = line.message("R2", "?")
        await line.hears(message)
        assert await line.hears(message) == [Receipt(state=MessageState.PARKED, again=True)]
        await line.house.pump.drain()
        assert len(line.far.to("R2")) == 1


async def test_a_message_that_cannot_be_stored_at_all_is_refused_and_the_desk_works_on(
    database_url: str, tmp_path: Path
) -> None:
    """Its time is past what 64 bits hold, so that no table takes it, parked or not."""
    async with line_to(database_url, tmp_path) as line:
        working = asyncio.create_task(line.house.desk.run())
        messages = [
            line.message("R1", "01 spill"),
            line.message("R2", "02 spill", received_us=2**63),
            line.message("C1", "status"),
        ]
        told = await asyncio.gather(*map(line.house.desk.take, messages), return_exceptions=True)
        assert states(told) == ["taken", "StoreUnavailable", "taken"]
        assert [key for key, _ in await kept(line)] == ["sms:m1", "sms:m3"]
        assert not working.done()
        working.cancel()


# --- what was written lately is at hand -----------------------------------------------------------


async def test_what_another_program_stored_is_what_the_next_message_meets(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path / "one") as one:
        await one.hears(
            one.message("R1", "jar"), one.message("R1", "mate, cleared"), one.message("R1", "yes")
        )
        await one.hears(one.message("R1", "01"))
        async with line_to(
            database_url, tmp_path / "two"
        ) as other:  # by itself it would ask for the kind of 01 still
            await other.hears(*(other.message("R1", "1", message_id=f"other {n}") for n in (1, 2)))
        await one.hears(one.message("R1", "shut now pad"))
        await one.house.pump.drain()
        assert (await facts(one)).keys() >= {"kind", "matrix", "time", "method"}


async def test_what_was_never_committed_is_not_at_hand(database_url: str, tmp_path: Path) -> None:
    problems: list[Exception] = []
    async with line_to(database_url, tmp_path, wrap=failing("commit", problems)) as line:
        await line.hears(line.message("R1", "01 spill"))
        problems.append(StoreUnavailable("The store's disk is full; free some space and send again."))
        assert states(await line.hears(line.message("R1", "01 seal 5103"))) == ["StoreUnavailable"]
        problems.clear()
        await line.hears(line.message("R1", "01 pad"))
        assert (await facts(line)).keys() == {"kind", "method"}


# --- once, and in order -------------------------------------------------------------------------


async def test_a_message_delivered_twice_is_one_message(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path) as line:
        message = line.message("R1", "01 spill")
        taken, again = Receipt(state=MessageState.TAKEN), Receipt(state=MessageState.TAKEN, again=True)
        assert await line.hears(message, message) == [taken, again]
        assert await line.hears(message) == [again]
        await line.house.pump.drain()
        assert await kept(line) == [("sms:m1", "taken")]
        assert len(line.far.to("R1")) == 1


async def test_what_each_phone_sends_is_taken_and_answered_in_its_order(
    database_url: str, tmp_path: Path
) -> None:
    """Four phones at once, thirty texts each, while desk and pump work; the loop may run them in any order."""
    people = ("R1", "R2", "C1", "S1")
    async with line_to(database_url, tmp_path) as line:
        working = [asyncio.create_task(line.house.desk.run()), asyncio.create_task(line.house.pump.run())]
        sent = {who: [line.message(who, f"{number:02d} spill") for number in range(1, 31)] for who in people}
        turns = [sent[who][place] for place in range(30) for who in people]
        told = await asyncio.gather(*map(line.house.desk.take, turns))
        assert {str(one.state) for one in told} == {"taken"}
        order = [key for key, _ in await kept(line)]
        for who in people:
            keys = [message.key for message in sent[who]]
            assert [key for key in order if key in keys] == keys
        for task in working:
            task.cancel()
        await asyncio.gather(*working, return_exceptions=True)
        await line.house.pump.stop()
        await line.house.pump.drain()
        for who in people:
            rows = [text.row for text in line.far.sent if text.address == ADDRESSES[who]]
            assert len(rows) == 30
            assert rows == sorted(rows)


async def test_a_gulp_takes_what_waits_up_to_its_size(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path) as line:
        waiting = [
            asyncio.ensure_future(line.house.desk.take(line.message("R1", "?"))) for _ in range(GULP + 1)
        ]
        await asyncio.sleep(0)
        await line.house.desk.gulp()
        assert len(await kept(line)) == GULP
        await line.house.desk.gulp()
        assert len(await kept(line)) == GULP + 1
        await asyncio.gather(*waiting)
