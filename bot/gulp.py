"""What one transaction thinks about: message by message, on a working copy, all of it kept or none."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypeAlias

from storage.ledger import Entry, raw_text, seal, sha256_of
from storage.work import Work, WriteSet

from .dialogue.catch_up import catch_up
from .dialogue.engine import think
from .dialogue.outcome import Outcome, Say
from .dialogue.strangers import adoptable, adopted, as_adopted
from .dialogue.tickets import ticket_of
from .dialogue.turn import Trade
from .model.board import Board, Conversation, LoosePhoto, Missing
from .model.cold import Row, cold_rows
from .model.entries import PhotoAssigned, PhotoKept
from .model.errors import ColdjarError
from .model.keys import Key
from .model.message import Incoming, MessageState, Outgoing
from .model.people import Unit
from .rules.checks import came_late
from .rules.escaped import escaped
from .watch.follow import concerns, follow
from .watch.scene import Scene, Watched, outgoing

log = logging.getLogger("coldjar.desk")

LOOKS = 40  # a message that needs more look-ups than this is broken, not thorough
NOTHING_SEEN = Watched()
_Thought: TypeAlias = tuple[Outcome, Watched]


class Gulp:
    """The working copies of one gulp."""

    def __init__(self, work: Work, board: Board, trade_of: Callable[[Unit], Trade]) -> None:
        self._work = work
        self._board = board
        self._trade_of = trade_of
        self._trade = trade_of(board.unit)
        self._says: list[tuple[Say, int, bool]] = []
        self._unasked: list[Outgoing] = []
        self.writes = WriteSet()

    async def think(self, message: Incoming, kept: str, poisoned: bool) -> MessageState:
        """The message, whose words as kept are `kept`, and all that follows from it are in the write set."""
        text = raw_text(kept, self._board.commitments[message.address])
        sha256 = sha256_of(text)
        outcome, watched = (
            self._parked(message) if poisoned or message.unread else await self._thought(message, sha256)
        )
        self.absorb(message, outcome, watched)
        self.writes.raws.append((message, outcome.state, sha256, text))
        if outcome.adopts:
            await self._adopt(message, sha256)
        return outcome.state

    async def _adopt(self, message: Incoming, sha256: str) -> None:
        """What waited from this address is thought about as if its person had always been known there."""
        board = self._board
        if message.address not in board.quarantined:
            await self._read((("quarantined", message.address),))
        waited = adoptable(board.quarantined[message.address], message, self._trade)
        jars: list[str] = []
        for early, early_sha256 in waited:
            outcome, watched = await self._thought(early, early_sha256)
            jars.extend(outcome.samples)
            self.absorb(early, as_adopted(outcome, message.address), watched)
        self.absorb(message, adopted(message, sha256, board, self._trade, waited, tuple(dict.fromkeys(jars))))

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
                await self._read(missing.keys)
        raise RuntimeError("thinking never had what it needed")

    async def _read(self, keys: Iterable[Key]) -> None:
        """These are on the board, with what the gulp's earlier messages said of them: no row holds it yet."""
        await self._work.supply(self._board, keys)
        for key in keys if self.writes.raws else ():
            if key[0] in ("cooler", "lately"):
                for row in _cold(self.writes.entries):
                    if row[1] == key[1]:
                        self._board.hear_cold_under(key, row)
            elif key[0] == "loose":
                self._loosen(key[1], [one for one in self.writes.entries if one.draft.author == key[1]])
            elif key[0] == "quarantined":
                raws = (raw for raw in self.writes.raws if raw[0].address == key[1])
                waited = ((m, sha256) for m, state, sha256, _ in raws if state is MessageState.QUARANTINED)
                self._board.quarantined[key[1]].extend(waited)

    def _watched(self, outcome: Outcome, now_us: int) -> Watched:
        """What the watch makes of what was told; most of what is told does not concern it."""
        if not concerns(outcome.drafts):
            return NOTHING_SEEN
        trade = self._trade
        tables = (trade.holding, trade.plan_table)
        scene = Scene(self._board, trade.words.say, trade.limits, trade.zone, now_us, *tables)
        return follow(scene, outcome.drafts, outcome.unit or self._board.unit, outcome.samples, outcome.cases)

    def _parked(self, message: Incoming) -> _Thought:
        """A poison message is kept, marked, and answered in words."""
        conversation = self._board.conversations.get(message.address) or Conversation(address=message.address)
        person = self._board.people_by_address.get(message.address)
        known = self._board.person_at(message.address)
        words = self._trade.spoken(None if known is None else known.language).words
        says = [Say(message.address, person, words.say("parked"))]
        if message.unread is not None and person is None:
            says = []  # it may be nobody's at all
        return Outcome(MessageState.PARKED, conversation, says=says), NOTHING_SEEN

    def absorb(self, message: Incoming, outcome: Outcome, watched: Watched = NOTHING_SEEN) -> None:
        """What follows from a message is in the write set, and on the board for the next one."""
        entries = seal((*outcome.drafts, *watched.drafts), self._board.heads)
        self.writes.entries.extend(entries)
        self._change(outcome)
        if outcome.used_codes:
            self._use_codes(outcome.used_codes, message.received_us)
        self._talk(message, outcome)
        if watched is not NOTHING_SEEN:
            self._watch(watched, message.received_us)
        if entries:
            _hear_cold(self._board, entries)
            self._loosen(entries[0].draft.author, entries)

    def _change(self, outcome: Outcome) -> None:
        board, writes = self._board, self.writes
        for sample in outcome.samples.values():
            board.put(sample)
        writes.samples.update(outcome.samples)
        if outcome.unit is not None:
            board.change_unit(outcome.unit)
            self._trade = self._trade_of(board.unit)
        for name, case in outcome.cases.items():
            board.put_case(name, case)
            writes.cases[name] = case
        writes.errands.extend(outcome.errands)

    def _talk(self, message: Incoming, outcome: Outcome) -> None:
        address, told_us = message.address, message.received_us
        self._board.conversations[address] = outcome.conversation
        self.writes.conversations[address] = (outcome.conversation, told_us)
        late = came_late(message.said_us, told_us, self._trade.limits)
        self._says.extend((say, told_us, late or self._is_old(say, told_us)) for say in outcome.says)

    def _watch(self, watched: Watched, now_us: int) -> None:
        board, trade = self._board, self._trade
        sent = outgoing(watched.tells, board.unit, trade.channels, now_us, trade.say_again)
        self._unasked.extend(sent)
        board.alerts.update(watched.alerts)
        self.writes.alerts.update(watched.alerts)
        self.writes.due.extend(watched.due)

    def _loosen(self, author: str, entries: list[Entry]) -> None:
        """Of their author's files without a jar, where the board holds them, these are gone or new."""
        loose = self._board.loose.get(author)
        if loose is None:
            return
        for entry in entries:
            draft, body = entry.draft, entry.draft.body
            if isinstance(body, PhotoAssigned):
                loose.pop(body.photo_id, None)
            elif isinstance(body, PhotoKept) and body.sample is None and not body.of_card:
                loose[entry.id] = LoosePhoto(
                    id=entry.id, chain=entry.chain, photo=body.photo, received_us=draft.received_us
                )

    def _use_codes(self, commitments: tuple[str, ...], now_us: int) -> None:
        for commitment in commitments:
            self._board.codes[commitment] = self._board.codes[commitment].model_copy(
                update={"used_us": now_us}
            )
            self.writes.used_codes.append((commitment, now_us))

    def _is_old(self, say: Say, received_us: int) -> bool:
        """True for a jar taken long before its text came: gateways tell when they got it."""
        jar = self._board.shelf.samples.get(say.catch_up) if say.catch_up is not None else None
        taken_us = None if jar is None else jar.event_us
        return taken_us is not None and came_late(taken_us, received_us, self._trade.limits)

    def _ticket(self, say: Say) -> str | None:
        """Which state of the conversation the buttons of this text belong to."""
        held = self.writes.conversations.get(say.address) if say.asks or say.choices else None
        return None if held is None else ticket_of(held[0])

    def finish(self, unsent: Mapping[str, tuple[str, ...]] | None = None) -> WriteSet:
        """The write set with its texts, late ones of a conversation as one, with those not sent yet."""
        if not self._says:
            self.writes.texts.extend(self._unasked)
            return self.writes
        now_us = self._says[-1][1]
        says = [
            say if late or say.catch_up is None else say._replace(catch_up=None)
            for say, _, late in self._says
        ]
        caught_up = catch_up(says, self._board, self._trade, now_us, unsent)
        for address, waiting in caught_up.waiting.items():
            conversation, touched_us = self.writes.conversations[address]
            self.writes.conversations[address] = (
                replace(conversation, waiting=waiting),
                touched_us,
            )
        for row, say in enumerate(caught_up.says, self._work.snapshot.last_text + 1):
            late = () if say.catch_up is None else caught_up.waiting.get(say.address, (say.catch_up,))
            self.writes.texts.append(_outgoing(say, self._ticket(say), late, now_us, row))
        self.writes.texts.extend(self._unasked)
        return self.writes


def _outgoing(say: Say, ticket: str | None, late: tuple[str, ...], now_us: int, row: int) -> Outgoing:
    """The text as it is queued; `row` is where it will most likely stand, so that none is copied for it."""
    channel, _, account = say.address.partition(":")
    return Outgoing(
        row=row,
        channel=channel,
        account=account,
        person=say.person,
        text=escaped(say.text),
        asks=say.asks,
        choices=say.choices,
        ticket=ticket,
        late=late,
        alert=say.alert,
        queued_us=now_us,
    )


def _hear_cold(board: Board, entries: list[Entry]) -> None:
    """The coolers that the board holds have heard these entries too."""
    if board.cold or board.lately:
        board.hear_cold(_cold(entries))


def _cold(entries: list[Entry]) -> Iterator[Row]:
    return (row for one in entries for row in cold_rows(one.id, one.draft))
