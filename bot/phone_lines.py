"""The lines to phones, built from settings: what they hand in goes to the desk, trouble to supervisors."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Coroutine
from datetime import datetime
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from storage import due, outbox
from storage.work import Store, Work

from .channels.sms_gateway import SmsGateway
from .desk import Desk
from .dialogue.turn import Trade
from .model.errors import AskedWrongly, StoreUnavailable
from .model.message import Outgoing
from .model.people import Unit
from .ports import Clock, Hands, Line, Secrets
from .pump import Pump
from .settings import Settings

log = logging.getLogger("coldjar.phones")

GATHER_S = 0.05  # reports that come together are kept in one transaction
LOOK_S = 1.0
DOWN_TOLD_S = 30.0  # a gateway that only starts again is nobody's trouble


class Trades(Protocol):
    """Gives the words and channels in force for a unit."""

    def of(self, unit: Unit) -> Trade:
        """What thinking is done with."""
        ...


class House(Protocol):
    """What the lines need of a running house."""

    @property
    def store(self) -> Store:
        """The open store."""

    @property
    def desk(self) -> Desk:
        """Takes messages in."""

    @property
    def pump(self) -> Pump:
        """Sends texts."""

    @property
    def clock(self) -> Clock:
        """Tells the time."""

    @property
    def trades(self) -> Trades:
        """Words and channels."""


def phone_lines(settings: Settings, clock: Clock, secrets: Secrets) -> list[Line]:
    """The lines that the settings name. Raises AskedWrongly where what one of them needs is missing."""
    lines: list[Line] = []
    if settings.sms_gateway is not None:
        if settings.sms_number is None:
            raise AskedWrongly("sms_gateway needs sms_number: set the number that texts come from.")
        host, port = place_of(settings.sms_gateway)
        lines.append(SmsGateway(host, port, settings.sms_box, settings.sms_number, clock, secrets))
    return lines


def place_of(told: str) -> tuple[str, int]:
    """Host and port of "host:port". Raises AskedWrongly."""
    host, _, port = told.rpartition(":")
    if not host or not port.isdecimal() or not 0 < int(port) < 65536:
        raise AskedWrongly(f"{told} is no place of a gateway; write host:port, like 127.0.0.1:13001.")
    return host.strip("[]"), int(port)


class Reports:
    """Delivery reports on their way to the store, those that come together in one transaction."""

    def __init__(self, store: Store, clock: Clock) -> None:
        self._store, self._clock = store, clock
        self._waiting: list[tuple[int, str, asyncio.Future[None]]] = []
        self._bell = asyncio.Event()

    async def __call__(self, row: int, report: str) -> None:
        """Return once the report is kept. Raises StoreUnavailable."""
        kept: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._waiting.append((row, report, kept))
        self._bell.set()
        await kept

    async def run(self) -> None:
        """Keep what waits, for ever."""
        while True:
            await self._bell.wait()
            await asyncio.sleep(GATHER_S)
            self._bell.clear()
            batch, self._waiting = self._waiting, []
            try:
                async with self._store.work() as work:
                    now_us = self._clock.now_us()
                    await outbox.report(work.tx, [(row, report, now_us) for row, report, _ in batch])
            except StoreUnavailable as refusal:
                _settle(batch, refusal)
                continue
            _settle(batch, None)


def _settle(batch: list[tuple[int, str, asyncio.Future[None]]], refusal: StoreUnavailable | None) -> None:
    for _, _, kept in batch:
        if kept.done():
            continue
        if refusal is None:
            kept.set_result(None)
        else:
            kept.set_exception(refusal)


def jobs_of(
    house: House, lines: list[Line], *, told_after_s: float = DOWN_TOLD_S
) -> list[Coroutine[Any, Any, None]]:
    """What must run for these lines to work, each for ever."""
    if not lines:
        return []
    reports = Reports(house.store, house.clock)

    def region() -> str | None:
        unit = house.store.unit
        return None if unit is None else unit.region

    hands = Hands(take=house.desk.take, reported=reports, region=region)
    return [reports.run(), watch_trouble(house, lines, told_after_s), *(line.run(hands) for line in lines)]


async def watch_trouble(house: House, lines: list[Line], told_after_s: float) -> None:
    """Supervisors hear once of a line that stays down, over whatever else reaches them."""
    troubles = [Trouble(house, line, told_after_s) for line in lines]
    while True:
        for trouble in troubles:
            try:
                await trouble.look()
            except StoreUnavailable as problem:
                log.warning("a line's trouble cannot be told: %s", problem)
        await asyncio.sleep(LOOK_S)


class Trouble:
    """One line's ups and downs. What was told is on file, so that a restart does not tell it again."""

    def __init__(self, house: House, line: Line, told_after_s: float) -> None:
        self._house, self._line = house, line
        self._wait_us = int(told_after_s * 1_000_000)
        self._since: int | None = None
        self._settled: bool | None = None  # what was last filed: True is up

    async def look(self) -> None:
        """The line's state is on file, and the supervisors' notice of a trouble in their outbox."""
        now_us = self._house.clock.now_us()
        if self._line.trouble is None:
            self._since = None
            if self._settled is not True:
                await self._file_up(now_us)
                self._settled = True
            return
        self._since = now_us if self._since is None else self._since
        if self._settled is not False and now_us - self._since >= self._wait_us:
            await self._file_down(now_us, self._line.trouble)
            self._settled = False

    async def _file_up(self, now_us: int) -> None:
        async with self._house.store.work() as work:
            if await self._is_told(work):
                await due.file(work.tx, f"{self._line.name} up", self._line.name, now_us, now_us)

    async def _file_down(self, now_us: int, problem: str) -> None:
        with self._house.pump.ride() as ride:
            async with self._house.store.work() as work:
                if await self._is_told(work):
                    return
                await due.file(work.tx, f"{self._line.name} down", self._line.name, now_us, now_us)
                notices = self._notices(work.snapshot.unit, problem, now_us)
                await ride.board(work, notices)
        if not notices:
            log.error("nobody can be told that %s is down", self._line.name)

    async def _is_told(self, work: Work) -> bool:
        """True where the last thing on file about this line is that it is down."""
        down_us = await due.last_done(work.tx, f"{self._line.name} down")
        up_us = await due.last_done(work.tx, f"{self._line.name} up")
        return down_us is not None and (up_us is None or up_us < down_us)

    def _notices(self, unit: Unit, problem: str, now_us: int) -> list[Outgoing]:
        since = datetime.fromtimestamp((self._since or now_us) / 1_000_000, ZoneInfo(unit.zone))
        trade = self._house.trades.of(unit)
        told = trade.words.say("line.down", since=f"{since:%H:%M}", problem=problem)
        notices = []
        for person in unit.reachable("supervisor", "deputy"):
            parts = (address.partition(":") for address in person.addresses)
            reached = ((c, a) for c, _, a in parts if c in trade.channels and c != self._line.name)
            for channel, account in list(reached)[:1]:
                notices.append(
                    Outgoing(
                        channel=channel, account=account, person=person.name, text=told, queued_us=now_us
                    )
                )
        return notices
