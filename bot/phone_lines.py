"""The lines to phones, built from settings: what they hand in goes to the desk, trouble to supervisors."""

from __future__ import annotations

import asyncio
import logging
import re
from collections.abc import AsyncIterator, Awaitable, Callable, Coroutine
from typing import TYPE_CHECKING, Any, Protocol, cast, runtime_checkable

from storage import outbox, reading
from storage.gammu import GammuDatabase
from storage.work import Store

from .channels.sms_gammu import SmsGammu
from .channels.sms_gateway import SmsGateway
from .desk import Desk
from .dialogue.turn import Trade
from .errands import Errands, Finish, nothing
from .model.entries import UNIT_CHAIN, AddressesEnrolled, AddressesRevoked, Draft
from .model.errand import Errand
from .model.errors import AskedWrongly, ErrandFailed, ErrandHopeless, StoreUnavailable
from .model.message import Attachment, Declared, Fetched, Incoming
from .model.people import Unit
from .ports import Clock, Hands, Line, Originals, Pace, Secrets
from .pump import Pump
from .rules.photo import describe
from .settings import Settings
from .troubles import Teller, troubles_of, watch
from .web.hook import Hook

if TYPE_CHECKING:
    from .channels.telegram import Telegram

log = logging.getLogger("coldjar.phones")

GATHER_S = 0.05  # reports that come together are kept in one transaction
HOOK_PATH = "/telegram/hook"
HOOK_HEADER = "x-telegram-bot-api-secret-token"  # the Bot API's own
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
    def originals(self) -> Originals:
        """Keeps files."""

    @property
    def errands(self) -> Errands:
        """Does slow work."""

    @property
    def trades(self) -> Trades:
        """Words and channels."""


def phone_lines(settings: Settings, clock: Clock, secrets: Secrets, key: bytes) -> list[Line]:
    """The lines that the settings name. Raises AskedWrongly where what one of them needs is missing."""
    found = (sms_line(settings, clock, secrets, key), telegram_line(settings, clock))
    return [line for line in found if line is not None]


def sms_line(settings: Settings, clock: Clock, secrets: Secrets, key: bytes) -> Line | None:
    """The one way to texts that the settings name. Raises AskedWrongly."""
    if settings.sms_gammu is not None:
        if settings.sms_gateway is not None:
            raise AskedWrongly("sms_gateway and sms_gammu are two ways for SMS: leave one of them out.")
        return SmsGammu(GammuDatabase(settings.sms_gammu), clock, key)
    if settings.sms_gateway is None:
        return None
    if settings.sms_number is None:
        raise AskedWrongly("sms_gateway needs sms_number: set the number that texts come from.")
    host, port = place_of(settings.sms_gateway)
    return SmsGateway(host, port, settings.sms_box, settings.sms_number, clock, secrets)


def telegram_line(settings: Settings, clock: Clock) -> Telegram | None:
    """The bot that the settings name. Raises AskedWrongly where its token or webhook cannot be used."""
    if settings.telegram_token is None:
        return None
    token, secret = settings.telegram_token.get_secret_value(), settings.telegram_webhook_secret
    if not re.fullmatch(r"[0-9]+:[\w-]+", token):
        raise AskedWrongly("telegram_token is no bot's token; copy it whole, like 123456:letters.")
    from .channels.telegram import Telegram  # its library takes long to load

    if secret is None:
        return Telegram(token, clock, settings.telegram_api, None)
    if settings.public_url is None:
        raise AskedWrongly("telegram_webhook_secret needs public_url: Telegram pushes to it.")
    if not re.fullmatch(r"[\w-]{16,256}", secret.get_secret_value(), re.ASCII):
        raise AskedWrongly("telegram_webhook_secret must be 16 to 256 letters, digits, _ or -.")
    place = settings.public_url.rstrip("/") + HOOK_PATH
    return Telegram(token, clock, settings.telegram_api, (place, secret.get_secret_value()))


def hooks_of(settings: Settings, lines: list[Line]) -> list[Hook]:
    """Where messengers push to, for those lines that are pushed to."""
    secret = settings.telegram_webhook_secret
    if secret is None:
        return []
    told = secret.get_secret_value()
    return [Hook(HOOK_PATH, HOOK_HEADER, told, line.hear_pushed) for line in _bots(lines)]


def _bots(lines: list[Line]) -> list[Telegram]:
    return [cast("Telegram", line) for line in lines if line.name == "telegram"]


def paces_of(lines: list[Line]) -> dict[str, Pace]:
    """The limits of those lines that have published ones."""
    return {line.name: line.pace for line in lines if line.pace is not None}


class FetchFiles:
    """Does the errand "fetch": what a channel only spoke of is on disk, and comes in as a message."""

    def __init__(self, house: House, lines: list[Line]) -> None:
        self._house = house
        self._lines = {line.name: line for line in _bots(lines)}

    async def __call__(self, errand: Errand) -> Finish:
        """The files are at the desk. Raises ErrandFailed, or ErrandHopeless where one will never come."""
        doc: Any = errand.doc
        line = self._lines.get(doc["channel"])
        if line is None:
            raise ErrandFailed(f"there is no {doc['channel']} line here now")
        kept, hopeless = [], None
        for told in doc["files"]:
            try:
                kept.append(await self._keep(line, Declared.model_validate(told)))
            except ErrandHopeless as problem:
                hopeless = problem
        if kept:
            await self._house.desk.take(self._message(errand, doc, tuple(kept)))
        if hopeless is not None:
            raise hopeless
        return nothing

    async def _keep(self, line: Telegram, told: Declared) -> Attachment:
        data = await line.fetch(told.file)
        await self._house.originals.keep(_chunks(data), len(data) + 1)
        found = await asyncio.to_thread(describe, data, told.name)
        if told.kind == "voice":
            return found.model_copy(update={"problem": "voice", "media_type": told.media_type or "audio/ogg"})
        return found

    def _message(self, errand: Errand, doc: Any, files: tuple[Attachment, ...]) -> Incoming:
        return Incoming(
            channel=doc["channel"],
            account=doc["account"],
            message_id=f"{errand.subject.partition(':')[2]}/files",
            received_us=self._house.clock.now_us(),
            text=doc["caption"],
            attachments=files,
            fetched=Fetched(sample=doc["sample"], by=doc.get("by")),
        )


async def _chunks(data: bytes) -> AsyncIterator[bytes]:
    yield data


def place_of(told: str) -> tuple[str, int]:
    """Host and port of "host:port". Raises AskedWrongly."""
    host, _, port = told.rpartition(":")
    if not host or not port.isdecimal() or not 0 < int(port) < 65536:
        raise AskedWrongly(f"{told} is no place of a gateway; write host:port, like 127.0.0.1:13001.")
    return host.strip("[]"), int(port)


@runtime_checkable
class Tended(Protocol):
    """Originals that need looking after."""

    def tend(self, named: Callable[[], Awaitable[set[str]]]) -> Coroutine[Any, Any, None]:
        """See to them, for ever."""
        ...


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
    house: House,
    lines: list[Line],
    *,
    told_after_s: float = DOWN_TOLD_S,
    stepped: Callable[[], None] = lambda: None,
) -> list[Coroutine[Any, Any, None]]:
    """What must run for these lines to work and for trouble to be told, each for ever.

    `stepped` is called when the machine's clock was set back.
    """
    teller = Teller(house.store, house.pump, house.clock, house.trades.of)
    watching = watch(troubles_of(teller, lines, house.originals, told_after_s, stepped))
    beside = [watching]
    if isinstance(house.originals, Tended):
        beside.append(house.originals.tend(lambda: named_files(house.store)))
    if not lines:
        return beside
    reports = Reports(house.store, house.clock)

    def region() -> str | None:
        unit = house.store.unit
        return None if unit is None else unit.region

    async def moved(old: str, new: str) -> None:
        await follow(house.store, house.clock, old, new)

    hands = Hands(take=house.desk.take, reported=reports, moved=moved, region=region)
    return [reports.run(), *beside, *(line.run(hands) for line in lines)]


async def named_files(store: Store) -> set[str]:
    """Every file that a message or an entry names."""
    async with store.database.read() as tx:
        return await reading.named_files(tx)


async def follow(store: Store, clock: Clock, old: str, new: str) -> None:
    """Whoever was enrolled under the old address is under the new one, by an entry."""
    async with store.work() as work:
        for person in work.snapshot.unit.people.values():
            if old not in person.addresses:
                continue
            commitments = await work.commitments((old, new))
            now_us = clock.now_us()
            moved = (
                AddressesEnrolled(name=person.name, addresses=(commitments[new],), how="moved"),
                AddressesRevoked(name=person.name, addresses=(commitments[old],), why="moved"),
            )
            told = ("", "", now_us, now_us)
            await work.change_unit([Draft(UNIT_CHAIN, body, *told) for body in moved])
            log.info("%s is reached under another address from now on", person.name)
            return
