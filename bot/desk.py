"""Takes messages in: a gulp of what waits, one transaction from raw message to queued reply."""

from __future__ import annotations

import asyncio
import logging
import re
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple, TypeAlias

from storage.database import Disk
from storage.ledger import raw_text, seal, sha256_of
from storage.work import Store, Work, WriteSet

from .dialogue.catch_up import catch_up
from .dialogue.engine import think
from .dialogue.foresee import foresee
from .dialogue.outcome import Outcome, Say
from .dialogue.turn import Trade
from .model.board import Board, Conversation, LoosePhoto, Missing
from .model.entries import PhotoKept
from .model.errors import ColdjarError, StoreUnavailable
from .model.message import Incoming, MessageState, Outgoing, Receipt
from .model.people import Unit
from .pump import Pump, Ride
from .rules.checks import came_late
from .watch.follow import concerns, follow
from .watch.scene import Scene, Watched, outgoing

log = logging.getLogger("coldjar.desk")

_Waiting: TypeAlias = tuple[Incoming, "asyncio.Future[Receipt]"]


class _Taken(NamedTuple):
    """A gulp that is committed and perhaps not on disk yet."""

    batch: list[_Waiting]
    receipts: list[Receipt]
    ride: Ride


GULP = 32  # small enough that one is thought about while the disk takes in the one before
GULPS = 2  # one on its way to the disk, one being thought about
WAITING = 10_000  # beyond this a channel is told to come again, so that memory stays bounded
CODE = re.compile(r"\b[0-9A-Fa-f]{40}\b")  # the form of every one-time code (`sign_in.LINK_BYTES`)
UNSTORABLE = "This message could not be stored. Send it in other words, or call your supervisor."
LOOKS = 40  # a message that needs more look-ups than this is broken, not thorough


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

    async def take(self, message: Incoming) -> Receipt:
        """What became of the message, once it is on disk. Raises StoreUnavailable: send again."""
        if len(self._waiting) >= WAITING:
            raise StoreUnavailable("Too many messages wait at once. Send it again in a minute.")
        done: asyncio.Future[Receipt] = asyncio.get_running_loop().create_future()
        self._waiting.append((message, done))
        self._bell.set()
        return await done

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
                    receipts = await self._think_all(work, ride, [message for message, _ in batch])
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
        for message, done in batch:
            try:
                receipts = await self._store_one(message)
            except ColdjarError as refusal:
                _refuse([(message, done)], refusal)
                continue
            except Exception:
                log.exception("message %s cannot be stored at all; its channel is told so", message.key)
                _refuse([(message, done)], StoreUnavailable(UNSTORABLE))
                continue
            _answer(done, receipts)

    async def _store_one(self, message: Incoming) -> Receipt:
        try:
            return (await self._store_all([message]))[0]
        except StoreUnavailable:
            raise
        except Exception:
            log.exception("message %s could not be written; it is parked", message.key)
            return (await self._store_all([message], poisoned=True))[0]

    async def _store_all(self, messages: list[Incoming], poisoned: bool = False) -> list[Receipt]:
        with self._mail.ride() as ride:
            async with self._store.work() as work:
                receipts = await self._think_all(work, ride, messages, poisoned)
        ride.depart()
        return receipts

    async def _think_all(
        self, work: Work, ride: Ride, messages: list[Incoming], poisoned: bool = False
    ) -> list[Receipt]:
        """The gulp's set is read at once, thought about message by message, and written at once."""
        messages = [await self._without_codes(work, message) for message in messages]
        seen = await work.seen(message.key for message in messages)
        board = work.board()
        await work.supply_conversations(board, (message.address for message in messages))
        wanted = {key for message in messages for key in foresee(message, board)}
        await work.supply(board, wanted)
        gulp = _Gulp(work, board, self._trade_of(board.unit))
        receipts = []
        for message in messages:
            if message.key in seen:
                receipts.append(Receipt(state=seen[message.key], again=True))
                continue
            state = await gulp.think(message, poisoned)
            seen[message.key] = state
            receipts.append(Receipt(state=state))
        if gulp.writes.raws:
            writes = gulp.finish()
            async with work.tx.together():
                await work.keep(board, writes)
                await ride.board(work, writes.texts)
        return receipts

    async def _without_codes(self, work: Work, message: Incoming) -> Incoming:
        """A one-time code that the store knows is never kept in clear: its commitment takes its place."""
        codes = CODE.findall(message.text)
        if not codes:
            return message
        commitments = {code: self._commit_code(code.lower()) for code in codes}
        known = await work.known_codes(commitments.values())
        text = message.text
        for code, commitment in commitments.items():
            if commitment in known:
                text = text.replace(code, f"[code {commitment[:16]}]")
        return message.model_copy(update={"text": text})


NOTHING_SEEN = Watched()
_Thought: TypeAlias = tuple[Outcome, Watched]


class _Gulp:
    """The working copies of one gulp."""

    def __init__(self, work: Work, board: Board, trade: Trade) -> None:
        self._work = work
        self._board = board
        self._trade = trade
        self._says: list[tuple[Say, int, bool]] = []
        self._unasked: list[Outgoing] = []
        self.writes = WriteSet()

    async def think(self, message: Incoming, poisoned: bool) -> MessageState:
        """The message and all that follows from it are in the write set."""
        text = raw_text(message, self._board.commitments[message.address])
        sha256 = sha256_of(text)
        outcome, watched = self._parked(message) if poisoned else await self._thought(message, sha256)
        self._absorb(message, outcome, watched)
        self.writes.raws.append((message, outcome.state, sha256, text))
        return outcome.state

    async def _thought(self, message: Incoming, sha256: str) -> _Thought:
        try:
            return await self._with_all_it_needs(message, sha256)
        except ColdjarError:
            raise
        except Exception:
            log.exception("message %s could not be thought about; it is parked", message.key)
            return self._parked(message)

    async def _with_all_it_needs(self, message: Incoming, sha256: str) -> _Thought:
        """Thinking and watching, asked again each time they named what the board lacked."""
        for _ in range(LOOKS):
            try:
                outcome = think(message, sha256, self._board, self._trade)
                return outcome, self._watched(outcome, message.received_us)
            except Missing as missing:
                await self._work.supply(self._board, missing.keys)
        raise RuntimeError("thinking never had what it needed")

    def _watched(self, outcome: Outcome, now_us: int) -> Watched:
        """What the watch makes of what was told; most of what is told does not concern it."""
        if not concerns(outcome.drafts):
            return NOTHING_SEEN
        trade = self._trade
        scene = Scene(self._board, trade.words.say, trade.limits, trade.zone, now_us)
        return follow(scene, outcome.drafts, outcome.unit or self._board.unit, outcome.samples, outcome.cases)

    def _parked(self, message: Incoming) -> _Thought:
        """A poison message is kept, marked, and answered in words."""
        conversation = self._board.conversations.get(message.address) or Conversation(address=message.address)
        person = self._board.people_by_address.get(message.address)
        say = Say(message.address, person, self._trade.words.say("parked"))
        return Outcome(MessageState.PARKED, conversation, says=[say]), NOTHING_SEEN

    def _absorb(self, message: Incoming, outcome: Outcome, watched: Watched) -> None:
        board, writes = self._board, self.writes
        entries = seal((*outcome.drafts, *watched.drafts), board.heads)
        writes.entries.extend(entries)
        for sample in outcome.samples.values():
            board.put(sample)
        board.cases.update(outcome.cases)
        if outcome.unit is not None:
            board.unit = outcome.unit
        writes.samples.update(outcome.samples)
        writes.errands.extend(outcome.errands)
        writes.cases.update(outcome.cases)
        board.conversations[message.address] = outcome.conversation
        writes.conversations[message.address] = (outcome.conversation, message.received_us)
        late = came_late(message.said_us, message.received_us, self._trade.limits)
        self._says.extend((say, message.received_us, late) for say in outcome.says)
        sent = outgoing(watched.tells, board.unit, self._trade.channels, message.received_us)
        self._unasked.extend(sent)
        board.alerts.update(watched.alerts)
        writes.alerts.update(watched.alerts)
        writes.due.extend(watched.due)
        loose = board.loose.get(entries[0].draft.author) if entries else None
        if loose is not None:
            for photo_id in outcome.used_photos:
                loose.pop(photo_id, None)
            for entry in entries:
                body = entry.draft.body
                if isinstance(body, PhotoKept) and body.sample is None:
                    loose[entry.id] = LoosePhoto(
                        id=entry.id,
                        chain=entry.chain,
                        photo=body.photo,
                        received_us=entry.draft.received_us,
                    )

    def finish(self) -> WriteSet:
        """The write set with its texts, late ones of a conversation as one."""
        if not self._says:
            self.writes.texts.extend(self._unasked)
            return self.writes
        now_us = self._says[-1][1]
        says = [say if late else replace(say, catch_up=None) for say, _, late in self._says]
        caught_up = catch_up(says, self._board, self._trade, now_us)
        for address, waiting in caught_up.waiting.items():
            conversation, touched_us = self.writes.conversations[address]
            self.writes.conversations[address] = (
                replace(conversation, waiting=waiting),
                touched_us,
            )
        self.writes.texts.extend(_outgoing(say, now_us) for say in caught_up.says)
        self.writes.texts.extend(self._unasked)
        return self.writes


def _outgoing(say: Say, now_us: int) -> Outgoing:
    channel, _, account = say.address.partition(":")
    return Outgoing(
        channel=channel,
        account=account,
        person=say.person,
        text=say.text,
        asks=say.asks,
        choices=say.choices,
        alert=say.alert,
        queued_us=now_us,
    )


def _answer(done: asyncio.Future[Receipt], receipt: Receipt) -> None:
    if not done.done():
        done.set_result(receipt)


def _refuse(batch: list[_Waiting], refusal: ColdjarError) -> None:
    for _, done in batch:
        if not done.done():
            done.set_exception(refusal)
