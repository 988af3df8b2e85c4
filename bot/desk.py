"""Takes messages in: a gulp of what waits, one transaction from raw message to queued reply."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Mapping
from typing import NamedTuple, TypeAlias

from storage.engine import Disk
from storage.ledger import words_kept
from storage.work import Store, Work

from .dialogue.foresee import foresee
from .dialogue.turn import Trade
from .gulp import Gulp
from .model.board import Board
from .model.errors import ColdjarError, StoreUnavailable
from .model.message import Incoming, MessageState, Receipt
from .model.people import Unit
from .pump import Pump, Ride
from .rules.escaped import storable
from .rules.flood import LONGEST, Admission, Flood
from .rules.safety import is_sos
from .sign_in import codes_in

log = logging.getLogger("coldjar.desk")


class _Letter(NamedTuple):
    """A message that waits, with what of it can be seen before its turn: its words as they are kept.

    `codes`: the commitment of each that may be one, by how it was typed. All is seen as it comes in, while
    the disk works: in its turn the whole gulp would wait for it.
    """

    message: Incoming
    codes: dict[str, str]
    kept: str


_Waiting: TypeAlias = tuple[_Letter, "asyncio.Future[Receipt]"]


class _Taken(NamedTuple):
    """A gulp that is committed and perhaps not on disk yet."""

    batch: list[_Waiting]
    receipts: list[Receipt]
    ride: Ride


GULP = 32  # small enough that one is thought about while the disk takes in the one before
GULPS = 2  # one on its way to the disk, one being thought about
WAITING = 10_000  # beyond this a channel is told to come again, so that memory stays bounded
UNSTORABLE = "This message could not be stored. Send it in other words, or call your supervisor."


class Desk:
    """The one writer of what people say; replies ride in the transaction of what they answer."""

    def __init__(
        self,
        store: Store,
        trade_of: Callable[[Unit], Trade],
        mail: Pump,
        commit_code: Callable[[str], str],
    ) -> None:
        """`commit_code` gives the keyed commitment under which the store knows a one-time code."""
        self._store = store
        self._trade_of = trade_of
        self._mail = mail
        self._commit_code = commit_code
        self._waiting: list[_Waiting] = []
        self._bell = asyncio.Event()
        self._thinking = asyncio.Lock()
        self._flood = Flood()

    async def take(self, message: Incoming) -> Receipt:
        """What became of the message, once it is on disk. Raises StoreUnavailable: send again.

        What is over the bounds of a flood is dropped, and never comes as far as the store.
        """
        if len(self._waiting) >= WAITING:
            raise StoreUnavailable("Too many messages wait at once. Send it again in a minute.")
        admission = self._admitted(message)
        if admission is Admission.OVER:
            return Receipt(state=MessageState.DROPPED)
        message = _bounded(message, last=admission is Admission.LAST)
        done: asyncio.Future[Receipt] = asyncio.get_running_loop().create_future()
        self._waiting.append((self._opened(message), done))
        self._bell.set()
        return await done

    def _admitted(self, message: Incoming) -> Admission:
        address, now_us = message.address, message.received_us
        known = self._store.knows(address)
        admission = self._flood.admit(address, known, now_us)
        if (
            admission is Admission.OVER
            and known
            and is_sos(message.text)
            and self._flood.spare(address, now_us)
        ):
            return Admission.TAKEN
        return admission

    @property
    def waiting(self) -> int:
        """How many messages came in and are not stored yet."""
        return len(self._waiting)

    async def run(self) -> None:
        """Gulp what waits, for ever; the next one while the disk takes in the one before."""
        seats = asyncio.Semaphore(GULPS)
        async with asyncio.TaskGroup() as gulps:
            while True:
                await self._bell.wait()
                self._bell.clear()
                while self._waiting:
                    await seats.acquire()
                    gulps.create_task(self.gulp()).add_done_callback(lambda _: seats.release())

    async def gulp(self) -> None:
        """Everything that waits, up to a gulp's size, is stored and acknowledged, or refused."""
        async with self._thinking:
            taken = await self._take_in() if self._waiting else None
        if taken is not None:
            await self._acknowledge(taken)

    async def _take_in(self) -> _Taken | None:
        """A gulp that is committed, None where it was answered already.

        What waits is counted once the store is open for writing: it grows meanwhile, and none waits for it.
        """
        batch: list[_Waiting] = []
        try:
            with self._mail.ride() as ride:
                async with self._store.work(disk=Disk.LATER) as work:
                    batch = self._claim()
                    receipts = await self._think_all(work, ride, [letter for letter, _ in batch])
        except StoreUnavailable as refusal:
            _refuse(batch or self._claim(), refusal)
        except Exception:
            log.exception("a gulp of %d failed; taking it one message at a time", len(batch))
            await self._one_at_a_time(batch or self._claim())
        else:
            return _Taken(batch, receipts, ride)
        return None

    async def _acknowledge(self, taken: _Taken) -> None:
        """Nobody is answered before what they said is on disk."""
        try:
            await self._store.on_disk()
        except StoreUnavailable as refusal:
            taken.ride.stay()
            _refuse(taken.batch, refusal)
            return
        taken.ride.depart()
        for (_, done), receipt in zip(taken.batch, taken.receipts, strict=True):
            _answer(done, receipt)

    def _claim(self) -> list[_Waiting]:
        batch, self._waiting = self._waiting[:GULP], self._waiting[GULP:]
        return batch

    async def _one_at_a_time(self, batch: list[_Waiting]) -> None:
        """A write that fails drops only its own message, which is parked with its error."""
        for letter, done in batch:
            try:
                receipts = await self._store_one(letter)
            except ColdjarError as refusal:
                _refuse([(letter, done)], refusal)
                continue
            except Exception:
                log.exception(
                    "message %s cannot be stored at all; its channel is told so", letter.message.key
                )
                _refuse([(letter, done)], StoreUnavailable(UNSTORABLE))
                continue
            _answer(done, receipts)

    async def _store_one(self, letter: _Letter) -> Receipt:
        try:
            return (await self._store_all([letter]))[0]
        except StoreUnavailable:
            raise
        except Exception:
            log.exception("message %s could not be written; it is parked", letter.message.key)
            return (await self._store_all([letter], poisoned=True))[0]

    async def _store_all(self, letters: list[_Letter], poisoned: bool = False) -> list[Receipt]:
        with self._mail.ride() as ride:
            async with self._store.work() as work:
                receipts = await self._think_all(work, ride, letters, poisoned)
        ride.depart()
        return receipts

    async def _think_all(
        self, work: Work, ride: Ride, letters: list[_Letter], poisoned: bool = False
    ) -> list[Receipt]:
        """The gulp's set is read at once, thought about message by message, and written at once."""
        board = work.board()
        unsent = self._mail.unsent_late(letter.message.address for letter in letters)
        await _supply(work, board, letters, unsent)
        gulp = Gulp(work, board, self._trade_of)
        receipts = [await _thought(gulp, board, _without_codes(one, board), poisoned) for one in letters]
        if gulp.writes.raws:
            writes = gulp.finish(unsent)
            with work.tx.together():
                await work.keep(board, writes)
                await ride.board(work, writes.texts)
        return receipts

    def _opened(self, message: Incoming) -> _Letter:
        codes = {typed: self._commit_code(code) for typed, code in codes_in(message.text).items()}
        return _Letter(message, codes, _words_of(message))


async def _supply(
    work: Work, board: Board, letters: list[_Letter], unsent: Mapping[str, tuple[str, ...]]
) -> None:
    """What the gulp will most likely need is on the board, read in one look."""
    messages = [letter.message for letter in letters]
    await work.supply_conversations(board, (message.address for message in messages))
    wanted = {key for message in messages for key in foresee(message, board)}
    wanted.update(("message", message.key) for message in messages)
    wanted.update(("code", one) for letter in letters for one in letter.codes.values())
    wanted.update(("id", jar) for jars in unsent.values() for jar in jars)
    await work.supply(board, wanted)


async def _thought(gulp: Gulp, board: Board, letter: _Letter, poisoned: bool) -> Receipt:
    key = letter.message.key
    if key in board.seen:
        return Receipt(board.seen[key], again=True)
    board.seen[key] = state = await gulp.think(letter.message, letter.kept, poisoned)
    return Receipt(state)


def _words_of(message: Incoming) -> str:
    try:
        return words_kept(message)
    except ValueError as problem:
        log.exception("message %s cannot be stored at all; its channel is told so", message.key)
        raise StoreUnavailable(UNSTORABLE) from problem


def _without_codes(letter: _Letter, board: Board) -> _Letter:
    """A code that the store knows is never kept in clear: a mark with its commitment takes its place."""
    known = {typed: one for typed, one in letter.codes.items() if one in board.codes}
    if not known:
        return letter
    text = letter.message.text
    for typed in sorted(known, key=len, reverse=True):
        text = text.replace(typed, f"[code {known[typed][:16]}]")
    message = letter.message.model_copy(update={"text": text, "codes": tuple(known.values())})
    return _Letter(message, {}, _words_of(message))


def _bounded(message: Incoming, last: bool) -> Incoming:
    """The message in what a store can hold; a text that is cut says how long it was."""
    text = storable(message.text)
    if len(text) > LONGEST:
        text = f"{text[:LONGEST]} [cut here, of {len(text)} characters]"
    if text is message.text and not last:
        return message
    return message.model_copy(update={"text": text, "last": last})


def _answer(done: asyncio.Future[Receipt], receipt: Receipt) -> None:
    if not done.done():
        done.set_result(receipt)


def _refuse(batch: list[_Waiting], refusal: ColdjarError) -> None:
    for _, done in batch:
        if not done.done():
            done.set_exception(refusal)
