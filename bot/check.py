"""Says in plain words what is wrong with an installation, before people rely on it."""

from __future__ import annotations

import asyncio
import shutil
import socket
import subprocess
from collections.abc import Callable
from ipaddress import ip_address
from pathlib import Path

from storage.database import open_database
from storage.errands import undone_since
from storage.gammu import GammuDatabase
from storage.migrate import HEAD, version_of
from storage.views import read_unit
from storage.vitals import given_up_since, vitals

from .channels.sms_gammu import trouble_of
from .clock import SystemClock, SystemSecrets
from .model.errors import ColdjarError, StoreUnavailable
from .model.people import Unit
from .model.times import DAY_US, MINUTE_US, iso_utc
from .phone_lines import place_of, sms_line, telegram_line
from .ports import Clock
from .rules.roles import Action, who_may
from .settings import Settings, database_url
from .wiring import originals_of, store_key

REACH_S = 3.0
LEAST_FREE = (
    2_000_000_000  # bytes: a few hundred photos and a working day's record; common practice, no source
)


def check(store: Path, settings: Settings, clock: Clock) -> list[str]:
    """One sentence with its way out for each thing that is wrong; empty where nothing is."""
    found = [sentence for look in LOOKS for sentence in look(store, settings)]
    try:
        found += asyncio.run(_store(store, settings, clock)) if store.is_dir() else []
    except ColdjarError as problem:
        found.append(str(problem))
    return found


def _ports(store: Path, settings: Settings) -> list[str]:
    """Two things cannot listen in one place."""
    if settings.health_port is not None and settings.health_port == settings.port != 0:
        return [f"port and health_port are both {settings.port}: choose another health_port."]
    return []


def _address(store: Path, settings: Settings) -> list[str]:
    if settings.public_url is None:
        if _is_loopback(settings.host):
            return ["No phone can reach the web chat: set public_url and put an HTTPS proxy before it."]
        return [f"The web chat listens on {settings.host} without public_url: sign-in links would not work."]
    if not settings.public_url.startswith("https://"):
        return ["public_url is not https: phones share no position, and sign-ins can be overheard."]
    return []


def _is_loopback(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _folder(store: Path, settings: Settings) -> list[str]:
    if not store.is_dir():
        return [f"There is no folder {store}; make a store with: coldjar setup FILE --store {store}"]
    found = []
    free = shutil.disk_usage(store).free
    if free < LEAST_FREE:
        found.append(f"Only {free // 1_000_000} MB are free for the store; make room on its disk.")
    if store.stat().st_mode & 0o077:
        found.append(f"Others can look into {store}; run: chmod 700 {store}")
    try:
        store_key(store, SystemSecrets())
    except ColdjarError as problem:
        found.append(str(problem))
    return found


def _clock(store: Path, settings: Settings) -> list[str]:
    """Whether this machine's clock follows a time service, where the system can tell."""
    asked = shutil.which("timedatectl")
    if asked is None:
        return []
    command = [asked, "show", "--property=NTPSynchronized", "--value"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603 - nothing of a user's in it
    if done.returncode == 0 and done.stdout.strip() == "no":
        return ["This machine's clock follows no time service: received times may drift; set one up."]
    return []


def _gateway(store: Path, settings: Settings) -> list[str]:
    """Whether the SMS gateway that is named is there."""
    if settings.sms_gateway is None:
        return []
    try:
        sms_line(settings, SystemClock(), SystemSecrets(), b"")
        with socket.create_connection(place_of(settings.sms_gateway), timeout=REACH_S):
            return []
    except ColdjarError as problem:
        return [str(problem)]
    except OSError as problem:
        why = problem.strerror or "no answer"
        return [f"The SMS gateway {settings.sms_gateway} is not reached ({why}); start its bearerbox."]


def _modem(store: Path, settings: Settings) -> list[str]:
    """Whether the program of the modem that is named works, and keeps its texts to itself."""
    if settings.sms_gammu is None or settings.sms_gateway is not None:  # both at once is said above
        return []
    try:
        trouble = asyncio.run(trouble_of(GammuDatabase(settings.sms_gammu), SystemClock()))
    except ColdjarError as problem:
        return [f"No texts by SMS: {problem}."]
    found = [] if trouble is None else [f"No texts by SMS: {trouble}."]
    if settings.sms_gammu.stat().st_mode & 0o007:
        found.append(f"Others can read texts in {settings.sms_gammu}; run: chmod 660 {settings.sms_gammu}")
    return found


def _telegram(store: Path, settings: Settings) -> list[str]:
    """Whether Telegram takes the token, and gives no other line its messages."""
    try:
        line = telegram_line(settings, SystemClock())
        return [] if line is None else asyncio.run(line.check())
    except ColdjarError as problem:
        return [str(problem)]


def _originals(store: Path, settings: Settings) -> list[str]:
    """Whether the bucket for files that is named is there and takes the key."""
    try:
        asyncio.run(originals_of(store, settings).reached())
    except StoreUnavailable:
        return [f"The bucket {settings.originals_url} is not reached; see to it, or correct its key."]
    except ColdjarError as problem:
        return [str(problem)]
    return []


LOOKS: tuple[Callable[[Path, Settings], list[str]], ...] = (
    _folder,
    _address,
    _ports,
    _clock,
    _gateway,
    _modem,
    _telegram,
    _originals,
)


async def _store(store: Path, settings: Settings, clock: Clock) -> list[str]:
    """What its tables say."""
    url = database_url(store, settings)
    version = await version_of(url)
    if version is None:
        return [f"There is no store in {store}; make one with: coldjar setup FILE --store {store}"]
    if version != HEAD:
        way = f"coldjar upgrade --store {store} --backup BACKUP_FOLDER"
        return [f"The store's tables are of another release ({version}); run: {way}"]
    database = await open_database(url, busy_s=settings.busy_s)
    try:
        async with database.read() as tx:
            unit, last_us = await read_unit(tx), (await vitals(tx)).last_message_us
            stuck = await given_up_since(tx, clock.now_us() - DAY_US)
            undone = await undone_since(tx, clock.now_us() - DAY_US)
    finally:
        await database.close()
    found = _people(unit)
    if last_us is not None and clock.now_us() < last_us - MINUTE_US:
        found.append(f"The clock stands before the last message ({iso_utc(last_us)}); set the clock.")
    if stuck:
        found.append(
            f"{stuck} texts were given up in the last day; look at the log and at those people's addresses."
        )
    if undone:
        found.append(
            f"{undone} errands were not done: given up in the last day, or of no known kind; see the log."
        )
    return found


def _people(unit: Unit) -> list[str]:
    """Whether somebody hears of danger."""
    if who_may(unit, Action.HEAR_ALERTS):
        return []
    return ["Nobody would hear of danger: give a supervisor an address in the setup file."]
