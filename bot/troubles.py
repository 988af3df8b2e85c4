"""What is wrong outside the line is told to its supervisors, once a trouble until it is over.

What was told is on file, so that a restart does not tell it again. While the store itself takes nothing
the notice goes past it, straight to a phone; where no phone is reached it is told once the store works.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Collection, Sequence
from contextlib import AbstractContextManager
from typing import Protocol, TypeAlias
from zoneinfo import ZoneInfo

from storage import due, outbox
from storage.vitals import vitals
from storage.work import Store, Work

from .dialogue.turn import Trade
from .dialogue.wording import Words
from .model.errors import SendFailed, StoreUnavailable
from .model.message import Outgoing
from .model.times import MINUTE_US
from .ports import Clock, Line, Originals
from .rules.civil_time import local

log = logging.getLogger("coldjar.troubles")

Say: TypeAlias = Callable[[Words, str, str], str]  # in which words, since when, what is wrong

LOOK_S = 1.0
PROBE_LOOKS = 3  # a store that refuses is tried at every third look: a try may wait for a lock
STEP_US = MINUTE_US  # a clock put right by less is nobody's trouble


class Ride(Protocol):
    """One transaction's mail."""

    async def board(self, work: Work, texts: list[Outgoing]) -> None:
        """Queue these texts in the transaction."""
        ...

    def depart(self) -> None:
        """Send them, once the transaction is on disk."""
        ...


class Mail(Protocol):
    """Who sends texts."""

    def ride(self) -> AbstractContextManager[Ride]:
        """Take a transaction's texts along."""
        ...


class Teller:
    """Says a trouble to each supervisor and deputy, in their language, over a way of theirs that works."""

    def __init__(self, store: Store, mail: Mail, clock: Clock, trade_of: Callable[..., Trade]) -> None:
        self.store, self.mail, self.clock = store, mail, clock
        self._trade_of = trade_of

    def ways(self, but: str) -> frozenset[str]:
        """Every channel that the line has, except this one."""
        unit = self.store.unit
        return frozenset() if unit is None else self._trade_of(unit).channels - {but}

    def notices(self, ways: Collection[str], say: Callable[[Words], str]) -> list[Outgoing]:
        """One text for each person who is reached over these channels."""
        unit = self.store.unit
        if unit is None:
            return []
        trade, now_us = self._trade_of(unit), self.clock.now_us()
        told = []
        for person in unit.reachable("supervisor", "deputy"):
            text = say(trade.spoken(person.language).words)
            reached = (way.partition(":") for way in person.addresses if way.partition(":")[0] in ways)
            for channel, _, account in list(reached)[:1]:
                one = Outgoing(channel=channel, account=account, person=person.name, text=text)
                told.append(one.model_copy(update={"queued_us": now_us}))
        return told

    def shown(self, us: int) -> str:
        """The instant by the unit's clocks."""
        unit = self.store.unit
        return "" if unit is None else f"{local(us, ZoneInfo(unit.zone)):%H:%M}"

    async def queue(self, work: Work, ride: Ride, told: list[Outgoing], what: str) -> None:
        """These are in the outbox; where they are none, the log says so."""
        await ride.board(work, told)
        if not told:
            log.error("nobody can be told: %s", what)


class Trouble:
    """One trouble's beginning and end, both on file. `wrong` says what is wrong, None where nothing is."""

    def __init__(
        self, teller: Teller, name: str, wrong: Callable[[], str | None], say: Say, after_s: float
    ) -> None:
        """`name` is also the channel that cannot tell it, where it is a channel's."""
        self._teller, self._name, self._wrong, self._say = teller, name, wrong, say
        self._wait_us = int(after_s * 1_000_000)
        self._since: int | None = None
        self._settled: bool | None = None  # what was last filed: True is over

    async def look(self) -> None:
        """How it stands is on file, and the notice of a trouble that lasts in the outbox."""
        problem, now_us = self._wrong(), self._teller.clock.now_us()
        if problem is None:
            self._since = None
            if self._settled is not True:
                await self._file_over(now_us)
                self._settled = True
            return
        self._since = now_us if self._since is None else min(self._since, now_us)  # the clock may step back
        if self._settled is not False and now_us - self._since >= self._wait_us:
            await self._file_begun(now_us, problem, self._since)
            self._settled = False

    async def _file_over(self, now_us: int) -> None:
        async with self._teller.store.work() as work:
            down_us, up_us = await self._last(work)
            if down_us > up_us:
                await due.file(work.tx, f"{self._name} up", self._name, max(now_us, down_us + 1), now_us)

    async def _file_begun(self, now_us: int, problem: str, since_us: int) -> None:
        with self._teller.mail.ride() as ride:
            async with self._teller.store.work() as work:
                down_us, up_us = await self._last(work)
                if down_us > up_us:
                    return
                await due.file(work.tx, f"{self._name} down", self._name, max(now_us, up_us + 1), now_us)
                since = self._teller.shown(since_us)
                told = self._teller.notices(
                    self._teller.ways(self._name), lambda words: self._say(words, since, problem)
                )
                await self._teller.queue(work, ride, told, problem)
        ride.depart()

    async def _last(self, work: Work) -> tuple[int, int]:
        """When it last began and was last over, on file: in that order also where the clock was not."""
        began_us = await due.last_done(work.tx, f"{self._name} down")
        over_us = await due.last_done(work.tx, f"{self._name} up")
        return began_us or 0, over_us or 0


class StoreTrouble:
    """The store's own ups and downs, which cannot be on file while it is down."""

    def __init__(self, teller: Teller, lines: Sequence[Line], after_s: float) -> None:
        self._teller, self._lines = teller, lines
        self._wait_us = int(after_s * 1_000_000)
        self._since: int | None = None
        self._told = False
        self._looks = 0

    async def look(self) -> None:
        """A store that refuses for long was told of past it, or is told of once it works again."""
        problem, now_us = self._teller.store.database.refused, self._teller.clock.now_us()
        if problem is None:
            await self._over(now_us)
            return
        if self._since is None:
            self._since, self._why = now_us, str(problem)
            log.warning("the store refuses: %s", problem)
        self._since = min(self._since, now_us)
        if not self._told and now_us - self._since >= self._wait_us:
            self._told = await self._past_the_store(str(problem), self._since)
        self._looks += 1
        if self._looks % PROBE_LOOKS == 0:
            async with self._teller.store.work():
                pass

    async def _over(self, now_us: int) -> None:
        if self._since is None:
            return
        if not self._told and now_us - self._since >= self._wait_us:
            since, until = self._teller.shown(self._since), self._teller.shown(now_us)
            with self._teller.mail.ride() as ride:
                async with self._teller.store.work() as work:
                    told = self._teller.notices(
                        self._teller.ways(""),
                        lambda words: words.say(
                            "store.was_away", since=since, until=until, problem=self._why
                        ),
                    )
                    await self._teller.queue(work, ride, told, self._why)
            ride.depart()
        log.warning("the store takes writes again")
        self._since, self._told, self._looks = None, False, 0

    async def _past_the_store(self, problem: str, since_us: int) -> bool:
        """True where somebody has it. It stands in no outbox: there is none just now."""
        lines = {line.name: line for line in self._lines if line.trouble is None}
        told, since = False, self._teller.shown(since_us)
        for text in self._teller.notices(
            lines, lambda words: words.say("store.away", since=since, problem=problem)
        ):
            try:
                await lines[text.channel].send(text)
                told = True
            except SendFailed as failed:
                told = told or failed.maybe_sent
                log.warning("that the store refuses could not be told by %s: %s", text.channel, failed)
        return told


class Steps:
    """Whether the clock was set back: it stands before an instant that was seen or is on record."""

    def __init__(self, teller: Teller, stepped: Callable[[], None]) -> None:
        """`stepped` is called when it happens, for whoever waits by this clock."""
        self._teller, self._stepped = teller, stepped
        self._highest_us: int | None = None
        self._before_us = 0

    async def look(self) -> None:
        """What waited for an instant that is now an hour off waits no longer than it would have."""
        now_us, store = self._teller.clock.now_us(), self._teller.store
        if self._highest_us is None:
            async with store.database.read() as tx:
                self._highest_us = (await vitals(tx)).last_message_us or 0
        if now_us < self._before_us - STEP_US:
            log.error("the clock stepped back by %d s", (self._before_us - now_us) // 1_000_000)
            self._stepped()
            async with store.work() as work:
                await outbox.bring_forward(work.tx, now_us)
        self._before_us = now_us
        self._highest_us = max(self._highest_us, now_us)

    def wrong(self) -> str | None:
        """By how many minutes, None where it is not."""
        back_us = (self._highest_us or 0) - self._teller.clock.now_us()
        return None if back_us < STEP_US else str(back_us // MINUTE_US)


def _line_down(words: Words, since: str, problem: str) -> str:
    return words.say("line.down", since=since, problem=problem)


def _files_refused(words: Words, since: str, problem: str) -> str:
    return words.say("files.refused", since=since, problem=problem)


def _clock_back(words: Words, since: str, minutes: str) -> str:
    return words.say("clock.back", since=since, minutes=minutes)


class Looks(Protocol):
    """Something looked at again and again."""

    async def look(self) -> None:
        """See to it. Raises StoreUnavailable: it is looked at again."""
        ...


def troubles_of(
    teller: Teller,
    lines: Sequence[Line],
    originals: Originals,
    told_after_s: float,
    stepped: Callable[[], None],
) -> list[Looks]:
    """Everything outside that is watched."""
    steps = Steps(teller, stepped)
    of_lines = [Trouble(teller, line.name, _of(line), _line_down, told_after_s) for line in lines]
    clock = Trouble(teller, "clock", steps.wrong, _clock_back, 0)
    files = Trouble(teller, "originals", lambda: originals.trouble, _files_refused, told_after_s)
    return [StoreTrouble(teller, lines, told_after_s), steps, clock, files, *of_lines]


def _of(line: Line) -> Callable[[], str | None]:
    return lambda: line.trouble


async def watch(troubles: list[Looks]) -> None:
    """Supervisors hear once of each trouble, for ever."""
    while True:
        for trouble in troubles:
            try:
                await trouble.look()
            except StoreUnavailable as problem:
                log.warning("a trouble cannot be told: %s", problem)
        await asyncio.sleep(LOOK_S)
