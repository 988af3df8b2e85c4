"""The whole line in one process: web chat, desk, pump and ticker, until it is told to stop."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
import tempfile
from collections.abc import AsyncIterator, Iterator
from importlib.resources import files
from pathlib import Path
from types import FrameType
from zoneinfo import ZoneInfo

import uvicorn
from apscheduler.schedulers.asyncio import AsyncIOScheduler
from starlette.applications import Starlette

from storage.work import Store

from .channels.webchat import WebChat
from .chat_log import StoredLog
from .clock import SystemClock, SystemSecrets
from .handing import makers
from .install import apply_setup
from .logs import begin_log
from .model.errors import AskedWrongly, StoreUnavailable
from .model.message import Attachment
from .model.times import utc
from .page import StoredRegister
from .page.links import PageLinks, WithLinks
from .phone_lines import FetchFiles, hooks_of, jobs_of, named_files, paces_of, phone_lines
from .ports import Channel, Line
from .rules.photo import describe
from .settings import Settings, read_settings
from .sign_in import SignIn
from .verifier import Verifier
from .vital import Vital
from .watch.due import VERIFY
from .web.app import build_app
from .web.health import build_health
from .web.parts import ReceiveFile, WebLimits
from .wiring import House, build, open_store, originals_of, settle_memory, store_key

log = logging.getLogger("coldjar.serve")

TICK_S = 15
STANDBY_S = 2
GATHER_LATE_S = 2.0  # phones send what a dead zone held back one after the other
SWEEP_AGE_S = 86_400  # far longer than any upload and its commit take
DEMO_ADDRESS = "web:r1"
DEMO_SUPERVISOR = "web:s1"
DEMO = {"database": None, "log_level": "WARNING", "sms_gateway": None, "telegram_token": None}


def run_serve(folder: Path, settings: Settings) -> None:
    """Serve the store until a signal; what waits to be sent is settled first."""
    asyncio.run(_serve(folder, settings, None, None))


def run_demo(port: int, folder: Path | None) -> None:
    """Serve an invented harbour on this machine only, in a folder of its own."""
    listening = _socket("127.0.0.1", port)
    with contextlib.ExitStack() as stack:
        if folder is None:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="coldjar-demo-")))
        settings = read_settings(folder).model_copy(update=DEMO)
        begin_log(settings.log_level)
        asyncio.run(_demo(folder, settings, listening))


async def _demo(folder: Path, settings: Settings, listening: socket.socket) -> None:
    opened = await open_store(folder, settings, SystemSecrets(), make=True)
    key = store_key(folder, SystemSecrets(), make=True)
    text = (files("bot") / "demo.toml").read_text(encoding="utf-8")
    await apply_setup(opened, text, SystemClock(), SystemSecrets(), key)
    await opened.close()
    print(f"Open http://127.0.0.1:{listening.getsockname()[1]}/ in a browser. Ctrl-C ends it.", flush=True)  # noqa: T201 - the one line a newcomer needs
    await _serve(folder, settings, listening, DEMO_ADDRESS)


def _socket(host: str, port: int) -> socket.socket:
    """A listening socket. Raises AskedWrongly where the address is taken."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
        made.listen(128)
    except OSError as problem:
        made.close()
        raise AskedWrongly(
            f"Nothing can listen on {host}:{port} ({problem.strerror}); choose another port."
        ) from None
    return made


async def _serve(folder: Path, settings: Settings, listening: socket.socket | None, demo: str | None) -> None:
    clock, secrets = SystemClock(), SystemSecrets()
    store = await open_store(folder, settings, secrets)
    try:
        key = store_key(folder, secrets)
        async with _answering_health(store, folder, clock, settings.health_port) as vital:
            await _until_writer(store)
            await _write(folder, settings, store, key, vital, listening, demo)
    finally:
        await store.close()  # else its threads keep the process alive


async def _write(
    folder: Path,
    settings: Settings,
    store: Store,
    key: bytes,
    vital: Vital,
    listening: socket.socket | None,
    demo: str | None,
) -> None:
    """The whole line over a store whose one writer this process is."""
    clock, secrets = SystemClock(), SystemSecrets()
    webchat = WebChat()
    here = listening or _socket(settings.host, settings.port)
    links = PageLinks(store, clock, secrets, key, _origins(settings, here)[0])
    lines = phone_lines(settings, clock, secrets, key)
    phones = {line.name: WithLinks(line, links) for line in lines}
    channels: dict[str, Channel] = {"web": webchat, **phones}
    name = f"serve-{secrets.token(4)}"
    originals = originals_of(folder, settings)
    house = build(store, folder, channels, clock, name, key, paces_of(lines), originals)
    vital.at_desk = lambda: house.desk.waiting
    house.pump.gather_late_s = GATHER_LATE_S
    house.errands.learn("fetch", FetchFiles(house, lines))
    house.errands.learn(VERIFY, Verifier(folder, clock))
    house.ticker.verifies = True
    await house.pump.start()
    await house.errands.start()
    await house.ticker.start()
    await _sweep(house)
    sign_in = SignIn(store, clock, secrets, key)
    app = await _app(house, settings, webchat, sign_in, links, here, demo)
    app.routes.extend(hook.route() for hook in hooks_of(settings, lines))
    log.info("listening at %s", " ".join(_origins(settings, here)))
    await _run(house, lines, _Server(webchat, app), here)


@contextlib.asynccontextmanager
async def _answering_health(
    store: Store, folder: Path, clock: SystemClock, port: int | None
) -> AsyncIterator[Vital]:
    """Monitoring is answered on loopback, where a port for it is set, while standing by as well."""
    vital = Vital(store, folder, clock)
    if port is None:
        yield vital
        return
    here = _socket("127.0.0.1", port)
    log.info("health answers at http://127.0.0.1:%d/health", here.getsockname()[1])
    config = uvicorn.Config(build_health(vital.look), log_config=None, access_log=False, lifespan="off")
    server = _Beside(config)
    serving = asyncio.create_task(server.serve(sockets=[here]))
    try:
        yield vital
    finally:
        server.should_exit = True
        await serving


async def _run(house: House, lines: list[Line], server: _Server, listening: socket.socket) -> None:
    """Everything works until the server ends; what was sent is settled then."""
    own = [asyncio.create_task(one) for one in (house.desk.run(), house.pump.run(), house.errands.run())]
    scheduler = AsyncIOScheduler(timezone="UTC")
    ticks = scheduler.add_job(
        _tick, "interval", args=[house], seconds=TICK_S, coalesce=True, misfire_grace_time=None
    )
    scheduler.start()

    def stepped() -> None:
        """The scheduler waits for an instant: after a clock set back it would, for as long as that was."""
        ticks.modify(next_run_time=utc(house.clock.now_us()))

    to_phones = [asyncio.create_task(one) for one in jobs_of(house, lines, stepped=stepped)]
    await _tick(house)
    settle_memory()
    try:
        await _until_stopped(server, [*own, *to_phones], listening)
    finally:
        scheduler.shutdown(wait=False)
        await _ended(own)
        await house.pump.stop()
        await _ended(to_phones)  # last: what is being sent still needs its line


async def _ended(jobs: list[asyncio.Task[None]]) -> None:
    for job in jobs:
        job.cancel()
    await asyncio.gather(*jobs, return_exceptions=True)


class _Server(uvicorn.Server):
    """Ends open pages when it is told to stop: they would keep it waiting."""

    def __init__(self, webchat: WebChat, app: Starlette) -> None:
        super().__init__(
            uvicorn.Config(
                app,
                log_config=None,
                access_log=False,
                lifespan="off",
                server_header=False,
                timeout_graceful_shutdown=3,
            )
        )
        self._webchat = webchat

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """A signal came."""
        self._webchat.close()
        super().handle_exit(sig, frame)


class _Beside(uvicorn.Server):
    """A second server in the process: signals are the first one's."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Nothing is taken over."""
        yield


async def _until_writer(store: Store) -> None:
    """This process is the store's one writer; while another is, it stands by."""
    if await store.database.claim_writer():
        return
    log.warning("another service writes this store; standing by")
    while not await _claimed(store):  # noqa: ASYNC110 - another process's lock rings no bell
        await asyncio.sleep(STANDBY_S)


async def _claimed(store: Store) -> bool:
    """Whether this process writes now; a database server that is away is asked again."""
    try:
        return await store.database.claim_writer()
    except StoreUnavailable as problem:
        log.warning("standing by: %s", problem)
        return False


async def _sweep(house: House) -> None:
    """Files that no message and no entry names, and that no upload can still be about, are gone."""
    swept = await house.originals.sweep(
        await named_files(house.store), SWEEP_AGE_S, house.clock.now_us() / 1_000_000
    )
    if swept:
        log.info("%d files that nothing names were removed", len(swept))


async def _until_stopped(
    server: uvicorn.Server, jobs: list[asyncio.Task[None]], listening: socket.socket
) -> None:
    """Ends at a signal; a desk or pump that ends by itself is a fault and stops the service aloud."""
    serving = asyncio.create_task(server.serve(sockets=[listening]))
    await asyncio.wait([serving, *jobs], return_when=asyncio.FIRST_COMPLETED)
    for job in jobs:
        if job.done() and not job.cancelled() and job.exception() is not None:
            log.error("the line stopped working", exc_info=job.exception())
            server.should_exit = True
    await serving


async def _tick(house: House) -> None:
    """Standing work; a store that is busy is met again at the next tick."""
    try:
        await house.ticker.tick()
    except StoreUnavailable as problem:
        log.warning("standing work waits: %s", problem)


async def _app(
    house: House,
    settings: Settings,
    webchat: WebChat,
    sign_in: SignIn,
    links: PageLinks,
    listening: socket.socket,
    demo: str | None,
) -> Starlette:
    """The pages over this house, under the addresses by which browsers reach it."""
    async with house.store.work() as work:
        unit = work.snapshot.unit
    words = house.trades.of(unit).words
    limit = settings.file_limit_mb * 1_000_000
    return build_app(
        take=house.desk.take,
        log=StoredLog(house.store.database, links.link_of),
        bell=webchat,
        sign_in=sign_in,
        end_session=sign_in.end,
        receive_file=_receiver(house, limit),
        clock=house.clock,
        secrets=SystemSecrets(),
        title=unit.name,
        notice=words.say("exercise") if demo else "",
        zone=ZoneInfo(unit.zone),
        origins=_origins(settings, listening),
        limits=WebLimits(photo_bytes=limit, request_bytes=3 * limit + 5_000_000),
        open_address=demo,
        landing=(words.say("demo.first"), words.say("demo.second")) if demo else (),
        register=_register(house),
        page_sign_in=links,
        open_page_address=DEMO_SUPERVISOR if demo else None,
    )


def _register(house: House) -> StoredRegister:
    """The register over this house, with how it has papers and bundles made."""
    folder = house.originals.folder
    made_by = makers(house.store.database, folder, house.clock)
    return StoredRegister(house.store, house.clock, folder, house.trades.of, made_by)


def _receiver(house: House, limit: int) -> ReceiveFile:
    async def receive(chunks: AsyncIterator[bytes], name: str | None) -> Attachment:
        sha256, _ = await house.originals.keep(chunks, limit)
        data = await house.originals.read(sha256)
        return await asyncio.to_thread(describe, data, name)

    return receive


def _origins(settings: Settings, listening: socket.socket) -> tuple[str, ...]:
    if settings.public_url:
        return (settings.public_url,)
    host, port = listening.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host
    return tuple(f"http://{one}:{port}" for one in dict.fromkeys((shown, "127.0.0.1", "localhost")))
