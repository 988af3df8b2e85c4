"""A script of messages through the real house, on a clock that moves only with the script."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import AsyncIterator, Callable, Iterable
from itertools import groupby, pairwise
from pathlib import Path

from .channels.replay import Line, ReplayChannel, read_line
from .clock import VirtualClock
from .model.errors import AskedWrongly
from .model.message import Attachment, Incoming, SharedPosition
from .model.times import us_of_iso
from .rules.photo import describe
from .wiring import House

CHANNELS = ("sms", "web", "telegram")


def read_script(text: str) -> list[Line]:
    """The lines of a script. Raises AskedWrongly where one cannot be read or time runs backwards."""
    told = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    lines = [(number, read_line(line, number)) for number, line in told]
    for number, one in lines:
        if one.channel is not None and one.channel not in CHANNELS:
            known = ", ".join(CHANNELS)
            raise AskedWrongly(
                f"Line {number} of the script comes by {one.channel[:40]}; write one of {known}."
            )
    for (_, before), (number, after) in pairwise(lines):
        if after.at_us < before.at_us:
            raise AskedWrongly(f"Line {number} of the script lies before the line above it; sort them by at.")
    return [line for _, line in lines]


def channels_for(
    lines: Iterable[Line], clock: VirtualClock, write: Callable[[str], None]
) -> dict[str, ReplayChannel]:
    """One stand-in for each channel that the script or the line knows."""
    names = {*CHANNELS, *(line.channel for line in lines if line.channel is not None)}
    return {name: ReplayChannel(name, clock.now_us, write) for name in sorted(names)}


async def play(house: House, clock: VirtualClock, lines: list[Line], folder: Path) -> None:
    """Every line has been heard and answered; lines of one instant are taken in together."""
    house.digests.aside = False
    said_so_far: Counter[Line] = Counter()
    reached_us = 0  # what fell due since an earlier script ended is done at its own instant too
    for _, group in groupby(lines, key=lambda line: line.at_us):
        together = list(group)
        await _let_time_go_by(house, clock, reached_us, together[0].at_us)
        reached_us = together[0].at_us
        said = []
        for line in together:
            said_so_far[line] += 1
            if line.channel is not None:
                said.append(await _incoming(house, line, said_so_far[line], folder))
        waiting = [asyncio.ensure_future(house.desk.take(message)) for message in said]
        await asyncio.sleep(0)
        while not all(task.done() for task in waiting):
            await house.desk.gulp()
            await asyncio.sleep(0)
        for task in waiting:
            task.result()
        await house.drain()
        if await house.ticker.tick():
            await house.drain()


async def _let_time_go_by(house: House, clock: VirtualClock, from_us: int, until_us: int) -> None:
    """What is due on the way is done at its own instant, what is late at once, and its texts go out then."""
    while (due_us := await _next_us(house)) is not None and due_us <= until_us:
        from_us = max(due_us, from_us)
        clock.move_to(from_us)
        ticked = await house.ticker.tick()
        if not ticked and not await house.errands.drain():
            break
        await house.drain()
    clock.move_to(until_us)


async def _next_us(house: House) -> int | None:
    """When standing work or an errand is due next."""
    both = (await house.ticker.next_due_us(), await house.errands.next_us())
    return min((us for us in both if us is not None), default=None)


async def _incoming(house: House, line: Line, count: int, folder: Path) -> Incoming:
    attachments: tuple[Attachment, ...] = ()
    if line.photo is not None:
        attachments = (await _file(house, folder / line.photo),)
    channel, account = line.channel or "", line.from_ or ""
    return Incoming(
        channel=channel,
        account=account,
        message_id=line.id or _id_of(line, count, house.mark),
        received_us=line.at_us,
        sent_us=us_of_iso(line.sent_at) if line.sent_at else None,
        text=line.text or line.caption,
        press=line.press,
        reply_to=line.reply_to,
        position=SharedPosition(lat=line.position[0], lon=line.position[1]) if line.position else None,
        attachments=attachments,
    )


def _id_of(line: Line, count: int, mark: Callable[[str], str]) -> str:
    """An id that another playing of this line gives again, also in a part of the script: nothing is doubled.

    `count` says which of equal lines it is. Made under the store's key: a code in the line stays hidden.
    """
    return mark(f"{count}\n{line.model_dump_json()}")[:24]


async def _file(house: House, path: Path) -> Attachment:
    data = await asyncio.to_thread(_bytes_of, path)
    await house.originals.keep(_chunks(data), len(data) + 1)
    return describe(data, path.name)


def _bytes_of(path: Path) -> bytes:
    if not path.is_file():
        raise AskedWrongly(f"The script names {path}, and there is no such file; put it beside the script.")
    return path.read_bytes()


async def _chunks(data: bytes) -> AsyncIterator[bytes]:
    yield data
