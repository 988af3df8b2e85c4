"""Texts on their way: in order to each address, tried again in time, given up aloud, marked where they repeat.

That a text may repeat only where it was being sent is the line's own promise; there is no outside source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from bot.limits import Limit
from bot.model.errors import AddressGone, SendFailed
from bot.model.message import Outgoing
from bot.pump import BATCH, FIRST_WAIT_S, LONGEST_WAIT_S, TRIES
from storage.outbox import LEASE_US
from tests.lines import SECOND_US, line_to
from tests.talk import ADDRESSES, SETUP

R1 = ADDRESSES["R1"]


def failing(times: int, problem: Callable[[], Exception], address: str = R1) -> Callable[[Outgoing], Exception | None]:
    """The far end fails so many times for this address, then takes everything."""
    left = [times]

    def answer(text: Outgoing) -> Exception | None:
        if text.address != address or not left[0]:
            return None
        left[0] -= 1
        return problem()

    return answer


async def test_a_text_goes_out_once(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path) as line:
        await line.hears(line.message("R1", "?"))
        await line.house.pump.drain()
        await line.seconds_go_by(200, 20)
        assert len(line.far.tried) == 1
        assert await line.outbox() == [("sent", "", 1)]
        assert not line.far.sent[0].again


async def test_a_text_that_fails_is_tried_again_after_twice_the_time_each_time(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = failing(4, lambda: SendFailed("no signal"))
        await line.hears(line.message("R1", "?"))
        await line.house.pump.drain()
        assert (await line.outbox())[0][1] == "no signal"
        await line.seconds_go_by(40)
        waits = [FIRST_WAIT_S * 2**tried for tried in range(4)]
        assert [at for at, _, _ in line.far.tried] == [sum(waits[:tries]) for tries in range(5)]
        assert await line.outbox() == [("sent", "", 5)]


async def test_a_channel_that_names_a_time_is_obeyed(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = failing(2, lambda: SendFailed("slow down", retry_after_s=37))
        await line.hears(line.message("R1", "?"))
        await line.house.pump.drain()
        await line.seconds_go_by(80)
        assert [at for at, _, _ in line.far.tried] == [0, 37, 74]


async def test_a_channel_that_breaks_is_tried_again(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = failing(1, lambda: ZeroDivisionError())
        await line.hears(line.message("R1", "?"))
        await line.house.pump.drain()
        await line.seconds_go_by(3)
        assert await line.outbox() == [("sent", "", 2)]


async def test_a_text_that_gets_no_answer_in_time_is_tried_again_and_marked_as_perhaps_a_repeat(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.house.pump.limit = Limit(0.05)
        line.far.silent.clear()
        await line.hears(line.message("R1", "?"))
        await line.house.pump.drain()
        assert await line.outbox() == [("waiting", "no answer within 0.05 s", 1)]
        line.far.silent.set()
        await line.seconds_go_by(3)
        assert await line.outbox() == [("sent", "", 2)]
        assert line.far.sent[0].again


async def test_a_text_is_given_up_after_the_last_try_and_the_supervisor_hears_it_once(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = failing(1000, lambda: SendFailed("no signal"))
        await line.hears(line.message("R1", "?"))
        await line.seconds_go_by(2 * TRIES * LONGEST_WAIT_S, LONGEST_WAIT_S)
        assert sum(1 for _, address, _ in line.far.tried if address == R1) == TRIES
        assert (await line.outbox())[0] == ("given_up", f"no signal, {TRIES} tries", TRIES)
        (told,) = line.far.to("S1")
        assert "R1" in told
        assert "no signal" in told


async def test_an_address_that_is_gone_is_not_tried_again_and_the_supervisor_hears_it_once(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = failing(1000, lambda: AddressGone("unknown number"))
        await line.hears(line.message("R1", "?"))
        await line.house.pump.drain()
        await line.seconds_go_by(2000, 100)
        assert sum(1 for _, address, _ in line.far.tried if address == R1) == 1
        assert (await line.outbox())[0] == ("given_up", "unknown number", 1)
        assert len(line.far.to("S1")) == 1


async def test_of_a_notice_that_cannot_be_sent_no_notice_is_made(database_url: str, tmp_path: Path) -> None:
    two = SETUP.replace('roles = ["custodian"]', 'roles = ["custodian", "supervisor"]')
    async with line_to(database_url, tmp_path, setup=two) as line:
        line.far.answer = lambda text: AddressGone("unknown number")
        await line.hears(line.message("R1", "?"))
        await line.seconds_go_by(2000, 100)
        assert [state for state, _, _ in await line.outbox()] == ["given_up"] * 3


async def test_a_text_for_a_channel_that_is_not_there_is_given_up_aloud(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path) as line:
        message = line.message("R1", "?").model_copy(update={"channel": "web", "account": "r1"})
        await line.hears(message)
        await line.house.pump.drain()
        assert (await line.outbox())[0][0] == "given_up"
        assert len(line.far.to("S1")) == 1


async def test_later_texts_to_an_address_wait_behind_an_earlier_one(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = failing(2, lambda: SendFailed("no signal"))
        await line.hears(line.message("R1", "01 spill"), line.message("R1", "02 spill"))
        await line.house.pump.drain()
        await line.hears(line.message("R1", "03 spill"), line.message("R2", "04 spill"))
        await line.house.pump.drain()
        assert line.far.to("R1") == []
        assert len(line.far.to("R2")) == 1
        await line.seconds_go_by(10)
        assert [text[:2] for text in line.far.to("R1")] == ["01", "02", "03"]
        assert sum(1 for _, address, _ in line.far.tried if address == R1) == 5  # the first three times
        assert {tries for _, _, tries in (await line.outbox())[1:]} == {1}


async def test_more_texts_than_one_turn_takes_go_in_order(database_url: str, tmp_path: Path) -> None:
    """A phone out of reach: everything said meanwhile follows once it is back."""
    many = BATCH + 40
    async with line_to(database_url, tmp_path) as line:
        line.far.answer = failing(1, lambda: SendFailed("no signal", retry_after_s=60))
        for _ in range(0, many, 50):
            await line.hears(*(line.message("R1", "?") for _ in range(50)))
        await line.seconds_go_by(120, 60)
        rows = [text.row for text in line.far.sent]
        assert len(rows) >= many
        assert rows == sorted(rows)
        assert len(set(rows)) == len(rows)


async def test_what_was_being_sent_at_a_restart_goes_again_and_is_marked(database_url: str, tmp_path: Path) -> None:
    async with line_to(database_url, tmp_path, "first") as first:
        first.far.silent.clear()
        await first.hears(first.message("R1", "?"), first.message("R2", "?"))
        async with line_to(database_url, tmp_path, "second") as second:
            second.clock.move_to(first.clock.now_us() + SECOND_US)
            await second.house.pump.drain()
            assert [text.again for text in second.far.sent] == [True, True]
            assert [text.row for text in second.far.sent] == [1, 2]
            assert {state for state, _, _ in await second.outbox()} == {"sent"}
        first.far.silent.set()


async def test_a_possible_repeat_stays_marked_when_it_has_to_be_tried_again(
    database_url: str, tmp_path: Path
) -> None:
    async with line_to(database_url, tmp_path, "first") as first:
        first.far.silent.clear()
        await first.hears(first.message("R1", "?"))
        async with line_to(database_url, tmp_path, "second") as second:
            second.far.answer = failing(1, lambda: SendFailed("no signal"))
            second.clock.move_to(first.clock.now_us() + SECOND_US)
            await second.house.pump.drain()
            await second.seconds_go_by(10)
            assert [text.again for text in second.far.sent] == [True]
        first.far.silent.set()


@pytest.mark.parametrize(("seconds", "taken"), [(59, False), (61, True)])
async def test_another_service_takes_a_lease_over_only_when_it_has_run_out(
    seconds: int, taken: bool, database_url: str, tmp_path: Path
) -> None:
    assert LEASE_US == 60 * SECOND_US
    async with line_to(database_url, tmp_path, "first") as first, line_to(database_url, tmp_path, "second") as second:
        first.far.silent.clear()
        await first.hears(first.message("R1", "?"))
        second.clock.move_to(first.clock.now_us() + seconds * SECOND_US)
        await second.house.pump.drain()
        assert [text.again for text in second.far.sent] == ([True] if taken else [])
        first.far.silent.set()
