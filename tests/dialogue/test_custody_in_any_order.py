"""Three people in any order: a jar has one holder at every instant, and moves only when both have spoken."""

from __future__ import annotations

import asyncio
import shutil
import tempfile
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.model.entries import CustodyOffered, CustodyReceived, Draft, SealRead
from bot.model.times import MINUTE_US
from bot.rules.custody import Line, custody_lines
from bot.rules.limits import Limits
from storage import reading
from tests.talk import Talk, talk_to
from tests.walks.walker import MEMORY

PEOPLE = ("R1", "R2", "C1")
JARS = ("01", "02")


def own_times() -> st.SearchStrategy[str]:
    """Mostly none; else a clock time that may be long before or after everything else."""
    return st.sampled_from(("", "", "", "", " 1001", " 1015", " 1040"))


def sayings() -> st.SearchStrategy[str]:
    jar, seal = st.sampled_from(JARS), st.sampled_from(("5101", "5102", "5109"))
    how = st.sampled_from(("whole", "cut", "leaking"))
    return st.one_of(
        st.builds("offer {} to {}{}".format, jar, st.sampled_from(PEOPLE), own_times()),
        st.builds("offer 01-02 to {}{}".format, st.sampled_from(PEOPLE), own_times()),
        st.tuples(jar, how, own_times()).map(lambda told: f"{told[0]} 51{told[0]} {told[1]}{told[2]}"),
        st.builds("{} {} {}{}".format, jar, seal, how, own_times()),
        st.just("01 5101 whole 02 5102 whole"),
        st.builds("{} unread".format, jar),
        st.builds("dispose {} with R2 authority court letter 77".format, jar),
        st.builds("paper {} to Mate".format, jar),
        st.builds("paper {} from Mate".format, jar),
        st.builds("{} received was {}, wrong watch".format, jar, st.sampled_from(("1001", "1020"))),
        st.builds("{} offered was {}, wrong watch".format, jar, st.sampled_from(("1001", "1020"))),
        st.builds("explain {} in my van".format, jar),
        st.builds("store {} evidence fridge locked".format, jar),
        st.builds("reseal {} 5119 witness R2 cut on the ladder".format, jar),
        st.sampled_from(("box 1 seal 7001 jars 01-02", "offer box 1 to C1", "box 1 7001 whole", "box 1 opened")),
        st.builds("{} whole".format, jar),
        st.builds("NO {} lid leaks".format, jar),
        st.builds("withdraw {}".format, jar),
        st.builds("answer {} looked, {}".format, jar, seal),
        st.builds("{0} seal is {1}, misread".format, jar, seal),
    )


def steps() -> st.SearchStrategy[list[tuple[str, str]]]:
    """(who, what) in turn."""
    return st.lists(st.tuples(st.sampled_from(PEOPLE), sayings()), min_size=4, max_size=24)


@pytest.fixture(scope="module")
def template(migrated_file: Path) -> Iterator[Path]:
    """A store with two jars of R1's."""
    with tempfile.TemporaryDirectory(dir=MEMORY) as name:
        file = Path(name) / "coldjar.db"
        shutil.copy(migrated_file, file)
        asyncio.run(begin(file))
        yield file


async def begin(file: Path) -> None:
    async with talk_to(f"sqlite:///{file}", file.parent) as talk:
        for number in JARS:
            await talk.says("R1", f"{number} spill sheen 0902 47.2830N 19.9510W pad seal 51{number}")


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), print_blob=True)
@given(steps())
def test_no_order_of_texts_leaves_a_jar_with_two_holders_or_none_unexplained(
    template: Path, told: list[tuple[str, str]]
) -> None:
    folder = template.parent / "one"
    folder.mkdir(exist_ok=True)
    shutil.copy(template, folder / "coldjar.db")
    asyncio.run(play(folder, told))


async def play(folder: Path, told: list[tuple[str, str]]) -> None:
    async with talk_to(f"sqlite:///{folder / 'coldjar.db'}", folder, start="2026-10-12T09:30:00Z") as talk:
        for place, (who, text) in enumerate(told):
            sent = await talk.hears(who, text, message_id=f"any {place}")
            assert sent, "everything is answered"
        async with talk.house.store.database.read() as tx:
            samples = await reading.samples(tx, None)
            drafts = await reading.custody(tx, None)
        lines = custody_lines(samples, drafts, Limits())
        for line in lines.values():
            has_one_holder(line, talk)
            moved_when_both_had_spoken(line, drafts)
        assert await talk.rebuilds_the_same()


def has_one_holder(line: Line, talk: Talk) -> None:
    """Spans follow each other without a break, and end with whom the sample says."""
    assert line.spans[0].holder == line.sample.declared_by
    assert line.spans[-1].holder == line.sample.holder
    for before, after in pairwise(line.spans):
        assert before.to_us == after.from_us
    assert line.spans[-1].to_us is None
    moves = [link for link in line.links if link.ended == "received"]
    for before, after in pairwise(moves):
        assert after.giver == before.receiver, "only its holder can hand a jar on"
        backwards = (after.closed_us or 0) < (before.closed_us or 0)
        assert not backwards or any(gap.why == "two holders" for gap in line.gaps)
    for link in moves[1:]:
        late_us = (link.closed_us or 0) - (link.offered_us or 0)
        if link.offered_at is not None and (late_us < 0 or late_us > 15 * MINUTE_US):
            assert any({link.closed_us, link.offered_us} == {gap.from_us, gap.to_us} for gap in line.gaps)
    for us in range(line.spans[0].from_us, talk.clock.now_us(), 7 * MINUTE_US):
        at = line.at(us)
        assert at is not None
        assert at[0] in PEOPLE


def moved_when_both_had_spoken(line: Line, drafts: list[Draft]) -> None:
    """Before each receipt stand the holder's offer and, by the receiver, a reading with its condition."""
    offers = {d.body.offer: (d.author, d.body.to) for d in drafts if isinstance(d.body, CustodyOffered)}
    for place, draft in enumerate(drafts):
        if not isinstance(draft.body, CustodyReceived) or line.sample.id not in draft.body.samples:
            continue
        author, to = offers[draft.body.offer]
        assert (to, author != draft.author) == (draft.author, True)
        read = [
            one.body
            for one in drafts[:place]
            if isinstance(one.body, SealRead)
            and (one.body.offer, one.author, one.body.samples) == (draft.body.offer, draft.author, (line.sample.id,))
        ]
        assert read
        assert read[-1].condition is not None
