"""SMS through Kannel's bearerbox, by its own box protocol: a text is acknowledged only after its commit.

What the gateway was not acknowledged it gives again under the same id, which is the message's key.
"""

from __future__ import annotations

import asyncio
import logging
from contextlib import suppress

from ..model.errors import ChannelDown, SendFailed, StoreUnavailable
from ..model.message import Incoming, Outgoing
from ..ports import Clock, Hands, Secrets
from .box_frames import (
    NONE,
    Ack,
    Admin,
    BadFrame,
    Coding,
    Command,
    Frame,
    Kind,
    Nack,
    Sms,
    acknowledge,
    identify,
    length_of,
    read,
    submit,
)  # fmt: skip
from .sms_line import SmsLine, worded

log = logging.getLogger("coldjar.sms")

AGAIN_S = 1.0  # between two tries to reach the gateway, and before a text that was not stored comes again
ANSWER_S = 10.0  # how long the gateway may take to say what became of a text
BUSY_S = 5.0  # when the gateway says later
REPORTS = 1 | 2 | 8 | 16  # delivered, not delivered, taken by the network, refused by it
SAID = {1: "delivered", 2: "undelivered", 8: "accepted", 16: "refused"}


class SmsGateway(SmsLine):
    """Channel and Line over one connection to the bearerbox; made again whenever it ends."""

    def __init__(self, host: str, port: int, box: str, number: str, clock: Clock, secrets: Secrets) -> None:
        """`box` is the name under which the gateway routes texts here, `number` the sender of ours."""
        super().__init__(clock)
        self._place = (host, port)
        self._box, self._number = box.encode(), number.encode()
        self._secrets = secrets
        self._writer: asyncio.StreamWriter | None = None
        self._open: dict[bytes, asyncio.Future[int]] = {}
        self._hearing: set[asyncio.Task[None]] = set()

    async def run(self, hands: Hands) -> None:
        """Take in what the gateway gives, for ever."""
        while True:
            try:
                await self._connection(hands)
            except (OSError, EOFError, BadFrame) as problem:
                why = getattr(problem, "strerror", None) or str(problem) or "it closed the connection"
                self._lost(f"the SMS gateway at {self._place[0]}:{self._place[1]} cannot be used: {why}")
            await asyncio.sleep(AGAIN_S)

    async def send(self, text: Outgoing) -> None:
        """The gateway has the text on its own disk. Raises ChannelDown or SendFailed."""
        writer = self._writer
        if writer is None:
            raise ChannelDown(self.trouble or "the SMS gateway is not connected", AGAIN_S)
        id_ = _uuid(self._secrets.token(16))
        answered: asyncio.Future[int] = asyncio.get_running_loop().create_future()
        self._open[id_] = answered
        try:
            writer.write(submit(self._sms(text, id_)))
            async with asyncio.timeout(ANSWER_S):
                await writer.drain()
                nack = await answered
        except TimeoutError:
            raise SendFailed("the SMS gateway did not answer", maybe_sent=True) from None
        except OSError:
            raise SendFailed("the SMS gateway went away", AGAIN_S, maybe_sent=True) from None
        finally:
            self._open.pop(id_, None)
        if nack == Nack.LATER:
            raise SendFailed("the SMS gateway has no room", BUSY_S)
        if nack == Nack.FAILED:
            raise SendFailed("the SMS gateway refused it")

    def _sms(self, text: Outgoing, id_: bytes) -> Sms:
        words, plain = worded(text.text)
        return Sms(
            sender=self._number,
            receiver=text.account.encode(),
            data=words.encode() if plain else words.encode("utf-16-be", "replace"),
            id=id_,
            time=self._clock.now_us() // 1_000_000,
            coding=Coding.GSM if plain else Coding.UCS2,
            charset=b"UTF-8" if plain else b"UTF-16BE",
            report_mask=REPORTS,
            report_key=str(text.row).encode(),
            box=self._box,
        )

    async def _connection(self, hands: Hands) -> None:
        """One connection from its first frame to its end."""
        reader, writer = await asyncio.open_connection(*self._place)
        try:
            writer.write(identify(self._box))
            self._writer = writer
            self._found(f"the SMS gateway at {self._place[0]}:{self._place[1]}")
            while True:
                self._hear(await _frame(reader), writer, hands)
        finally:
            self._writer = None
            self._end_open()
            writer.close()
            with suppress(OSError):
                await writer.wait_closed()

    def _hear(self, frame: Frame, writer: asyncio.StreamWriter, hands: Hands) -> None:
        match frame:
            case Ack():
                answered = self._open.get(frame.id)
                if answered is not None and not answered.done():
                    answered.set_result(frame.nack)
            case Sms():
                # Tasks begin in this order, so texts come to the desk in the order they were given.
                task = asyncio.create_task(self._take(frame, writer, hands))
                self._hearing.add(task)
                task.add_done_callback(self._hearing.discard)
            case Admin(command=Command.SHUTDOWN | Command.RESTART):
                raise EOFError("it is shutting down")  # it waits for its boxes to close

    async def _take(self, sms: Sms, writer: asyncio.StreamWriter, hands: Hands) -> None:
        try:
            if sms.kind in (Kind.REPORT_IN, Kind.REPORT_OUT):
                await self._report(sms, hands)
            else:
                await hands.take(self._heard(sms, hands.region()))
        except StoreUnavailable as problem:
            log.warning("a text was not stored; the gateway gives it again: %s", problem)
            await asyncio.sleep(AGAIN_S)
            _answer(writer, acknowledge(sms.id, Nack.LATER, sms.time))
            return
        _answer(writer, acknowledge(sms.id, Nack.TAKEN, sms.time))

    async def _report(self, sms: Sms, hands: Hands) -> None:
        said, row = SAID.get(sms.report_mask), sms.report_key.decode("ascii", "replace")
        if said is not None and row.isdecimal() and len(row) < 19:
            await hands.reported(int(row), said)

    def _heard(self, sms: Sms, region: str | None) -> Incoming:
        sent_us = None if sms.time == NONE else sms.time * 1_000_000
        sender, id_ = sms.sender.decode("utf-8", "replace"), sms.id.decode("ascii", "replace")
        return self._incoming(sender, id_, _text(sms), sent_us, region)

    def _end_open(self) -> None:
        """What the gateway did not answer may have gone, or not."""
        for answered in self._open.values():
            if not answered.done():
                answered.set_exception(ConnectionResetError())


async def _frame(reader: asyncio.StreamReader) -> Frame:
    head = await reader.readexactly(4)
    return read(await reader.readexactly(length_of(head)))


def _answer(writer: asyncio.StreamWriter, frame: bytes) -> None:
    """Said while the connection lasts; else the gateway gives the text again."""
    if not writer.is_closing():
        writer.write(frame)


def _text(sms: Sms) -> str:
    """The words: what cannot be read stands as replacement signs, so that nothing is refused."""
    if sms.coding == Coding.UCS2:
        return sms.data.decode("utf-16-be", "replace")
    return sms.data.decode("utf-8", "replace")


def _uuid(token: str) -> bytes:
    """32 hex digits in the 36 characters of RFC 9562."""
    return "-".join((token[:8], token[8:12], token[12:16], token[16:20], token[20:32])).encode()
