"""The one place that builds everything: tables, catalogue, store, desk, pump, ticker, channels."""

from __future__ import annotations

import asyncio
import gc
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from storage.database import open_database
from storage.migrate import ensure_migrated, is_older
from storage.originals import FolderOriginals
from storage.work import Store

from .desk import Desk
from .dialogue.forecast_asked import FORECAST
from .dialogue.wording import Words
from .digests import ASKED, Digests
from .errands import Errands, Handler
from .forecaster import Forecaster
from .instructor import SCORE, TEXT, Instructor
from .model.errand import Errand
from .model.errors import AskedWrongly, StoreUnfit
from .model.message import Outgoing
from .photo_codes import PhotoCodes
from .ports import Channel, Clock, Pace, Secrets
from .pump import Pump
from .settings import Settings, database_url
from .sign_in import keyed
from .ticker import Ticker
from .trades import Trades, drills
from .watch.due import DIGEST

log = logging.getLogger("coldjar")

KEY_BYTES = 32
_DAMAGED = "The store's key {} is damaged: nobody can sign in by it; restore it from a backup."


@dataclass
class House:
    """Everything of one running line."""

    store: Store
    originals: FolderOriginals
    desk: Desk
    pump: Pump
    ticker: Ticker
    errands: Errands
    digests: Digests
    clock: Clock
    trades: Trades
    mark: Callable[[str], str]  # what stands for words where they must not: nobody without the key finds them

    async def drain(self) -> None:
        """Nothing that may be sent or done now waits any more: where time is moved by hand."""
        await self.pump.drain()
        while await self.errands.drain():
            await self.pump.drain()

    async def close(self) -> None:
        """Nothing is open any more."""
        await self.store.close()


async def open_store(folder: Path, settings: Settings, secrets: Secrets, *, make: bool = False) -> Store:
    """The store of a folder, migrated. Raises StoreUnfit where there is none, unless it is to be made."""
    await asyncio.to_thread(_see_to, folder, settings, make)
    url = database_url(folder, settings)
    if await is_older(url):
        raise StoreUnfit(
            f"The store is of an older release; run: coldjar upgrade --store {folder} --backup BACKUP_FOLDER"
        )
    await ensure_migrated(url)
    database = await open_database(url, busy_s=settings.busy_s)
    return Store(database, lambda: secrets.token(16))


def _see_to(folder: Path, settings: Settings, make: bool) -> None:
    """The folder is there, and a store in it unless one is to be made."""
    if make:
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as problem:
            raise StoreUnfit(f"{folder} cannot be made: {problem.strerror}; name another.") from problem
    elif not folder.is_dir() or (settings.database is None and not (folder / "coldjar.db").exists()):
        raise StoreUnfit(f"There is no store in {folder}; make one with: coldjar setup FILE --store {folder}")


def build(
    store: Store,
    folder: Path,
    channels: Mapping[str, Channel],
    clock: Clock,
    name: str,
    key: bytes,
    paces: Mapping[str, Pace] | None = None,
    originals: FolderOriginals | None = None,
) -> House:
    """A house over an open store, whose one-time codes are kept under this key.

    Its originals are in the store's folder, unless others are given.
    """
    trades = Trades(channels)

    def gave_up(text: Outgoing, problem: str) -> list[Outgoing]:
        return _notice(store, trades, text, problem, clock.now_us())

    def not_done(errand: Errand, problem: str) -> list[Outgoing]:
        what = f"{errand.kind} {errand.subject}"
        return _told_supervisors(
            store,
            trades,
            clock.now_us(),
            lambda words: words.say("errands.gave_up", what=what, problem=problem),
        )

    pump = Pump(store, channels, clock, name, gave_up, paces)

    def mark(words: str) -> str:
        return keyed(words, key)

    desk = Desk(store, trades.of, pump, mark)
    originals = originals or FolderOriginals(folder / "originals")
    digests = Digests(store, trades.of, clock)
    doers = {**handlers(store, originals, trades, clock), DIGEST: digests.send, ASKED: digests.send}
    errands = Errands(store, pump, clock, name, doers, not_done)
    return House(
        store=store,
        originals=originals,
        desk=desk,
        pump=pump,
        ticker=Ticker(store, clock, pump, trades.of),
        errands=errands,
        digests=digests,
        clock=clock,
        trades=trades,
        mark=mark,
    )


def originals_of(folder: Path, settings: Settings) -> FolderOriginals:
    """Where files are kept. Raises AskedWrongly where a bucket is named without its key."""
    if settings.originals_url is None:
        return FolderOriginals(folder / "originals")
    if settings.originals_key_id is None or settings.originals_secret is None:
        raise AskedWrongly("originals_url needs originals_key_id and originals_secret: set the bucket's key.")
    from storage.s3 import BucketOriginals  # its library is loaded only where it is used

    return BucketOriginals(
        folder / "originals",
        settings.originals_url,
        settings.originals_region,
        settings.originals_key_id,
        settings.originals_secret.get_secret_value(),
    )


def handlers(store: Store, originals: FolderOriginals, trades: Trades, clock: Clock) -> dict[str, Handler]:
    """Who does which kind of errand."""
    instructor = Instructor(trades.of, drills(), clock)
    codes = PhotoCodes(originals, trades.of, clock)
    return {
        TEXT: instructor.text,
        SCORE: instructor.score,
        "photo_code": codes,
        FORECAST: Forecaster(store, clock, trades.of),
    }


def settle_memory() -> None:
    """What lives as long as the process is not searched for garbage again and again.

    Values are frozen and hold no cycles, so the collector finds next to nothing; it took 7 % of the time.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


def _notice(store: Store, trades: Trades, text: Outgoing, problem: str, now_us: int) -> list[Outgoing]:
    """Supervisors hear that a text could not be sent; a notice of a notice is never made."""
    if text.asks == "gave_up":
        return []
    said = text.text[:60]
    person = text.person or text.channel
    return _told_supervisors(
        store,
        trades,
        now_us,
        lambda words: words.say("pump.gave_up", person=person, problem=problem, text=said),
        but=text.address,
    )


def _told_supervisors(
    store: Store, trades: Trades, now_us: int, say: Callable[[Words], str], but: str = ""
) -> list[Outgoing]:
    """One text to each supervisor; none to the address `but`, whose own text failed."""
    unit = store.unit
    if unit is None:
        return []
    trade = trades.of(unit)
    notices = []
    for person in unit.with_role("supervisor"):
        for address in person.addresses[:1]:
            channel, _, account = address.partition(":")
            if address != but:
                notices.append(
                    Outgoing(
                        channel=channel,
                        account=account,
                        person=person.name,
                        text=say(trade.spoken(person.language).words),
                        asks="gave_up",
                        queued_us=now_us,
                    )
                )
    return notices


def store_key(folder: Path, secrets: Secrets, *, make: bool = False) -> bytes:
    """The store's own key, mode 0600. Raises AskedWrongly where it is missing, damaged or open to others."""
    path = folder / "key"
    if make and not path.exists():
        path.touch(mode=0o600)
        path.write_text(secrets.token(KEY_BYTES) + "\n", encoding="ascii")
    if not path.exists():
        raise AskedWrongly(f"The store's key {path} is missing; restore it, or run coldjar setup again.")
    if path.stat().st_mode & 0o077:
        raise AskedWrongly(f"Others can read the store's key; run: chmod 600 {path}")
    try:
        key = bytes.fromhex(path.read_text(encoding="ascii").strip())
    except (ValueError, OSError) as problem:
        raise AskedWrongly(_DAMAGED.format(path)) from problem
    if len(key) != KEY_BYTES:
        raise AskedWrongly(_DAMAGED.format(path))
    return key
