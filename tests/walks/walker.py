"""Plays sayings on a real line and looks at what must hold after each and at the end."""

from __future__ import annotations

import asyncio
import logging
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import bot.dialogue
from bot.dialogue.strangers import SOS_AGAIN_US
from bot.model.message import Incoming, MessageState, Outgoing, Receipt, SharedPosition
from bot.model.times import DAY_US, iso_utc
from bot.rules.gsm import is_gsm, septets
from bot.rules.safety import is_sos
from tests.talk import ADDRESSES, DRILL, SETUP, Talk, talk_to
from tests.walks.sayings import FITTING, STRANGER, Saying

KIT_B = '[[kits]]\nname = "B"\nnumbers = [20, 39]\nseals = ["E101", "E121"]\n'
TWO_CASES = SETUP + KIT_B + DRILL.replace('kits = ["A"]', 'kits = ["A", "B"]')
# Many stores, each for a moment: in memory, where there is some, they wait for no disk.
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
LONGEST_SEPTETS = 459  # three parts of 153 (3GPP TS 23.040)
# One text for all jars after a dead zone, or for all photos of a jar that differ, however many they are.
LONGEST_OF_MANY = 1530
MANY = ("Came late, on record: ", "Its photo's camera ")
SHOWN_SEAL = re.compile(r"\bseal ([A-Za-z]{0,3}-?[0-9]+)")
WORDS = Path(bot.dialogue.__file__).parent / "catalogues" / "en"
# What the line's own words give as an example is nobody's seal.
EXAMPLES = {seal for part in WORDS.glob("*.po") for seal in SHOWN_SEAL.findall(part.read_text(encoding="utf-8"))}
SHOWN_NUMBER = re.compile(r"^(?:EXERCISE )?(?:CH-\d+ )?((?!CH-)(?=\S*\d)\S+?)(?:: | saved| on record| is on record| is struck)")


@dataclass
class Walk:
    """A walk as far as it went: what was sent and typed, what came out."""

    talk: Talk
    sent: list[Incoming] = field(default_factory=list)
    typed: str = ""
    buttons: list[str] = field(default_factory=list)
    out: list[Outgoing] = field(default_factory=list)
    asked: dict[str, str] = field(default_factory=dict)
    strangers: dict[str, int] = field(default_factory=dict)

    def trail(self) -> str:
        """The messages in order, as a failing walk is told."""
        return "\n".join(
            f"{iso_utc(m.received_us)} {m.address} {m.text[:300]!r}"
            + (f" press={m.press!r}" if m.press else "")
            + (f" position={m.position}" if m.position else "")
            + (f" photos={[a.sha256[:4] for a in m.attachments]}" if m.attachments else "")
            + (f" sent {(m.received_us - m.sent_us) / 1e6:.0f} s before" if m.sent_us is not None else "")
            for m in self.sent
        )


def incoming(walk: Walk, one: Saying) -> Incoming:
    talk = walk.talk
    talk.clock.move_to(talk.clock.now_us() + one.wait_s * 1_000_000)
    if one.sort == "again" and walk.sent:
        return walk.sent[one.pick % len(walk.sent)]
    now_us = talk.clock.now_us()
    channel, _, account = ADDRESSES.get(one.who, one.who).partition(":")
    text, press = one.text, None
    if one.sort == "fitting":
        fitting = FITTING.get(walk.asked.get(f"{channel}:{account}", ""), ("jar", "ok", "CH-014", "CH-014 01 spill"))
        text = fitting[one.pick % len(fitting)]
    if one.sort == "repeat" and walk.sent:
        text = walk.sent[one.pick % len(walk.sent)].text
    if one.sort == "press":
        press = walk.buttons[one.pick % len(walk.buttons)] if walk.buttons else ("ok", "skip", "wrong", "x")[one.pick % 4]
    return Incoming(
        channel=channel,
        account=account,
        message_id=f"w{len(walk.sent)}-{now_us}",
        received_us=now_us,
        sent_us=None if one.late_s is None else now_us - one.late_s * 1_000_000,
        text=text,
        press=press,
        position=SharedPosition(lat=one.position[0], lon=one.position[1]) if one.position else None,
        attachments=one.photos,
    )


async def play(walk: Walk, sayings: list[Saying], logged: list[str]) -> None:
    """Everything was said and answered; raises AssertionError with the messages so far where not."""
    together: list[Incoming] = []
    for place, one in enumerate(sayings):
        message = incoming(walk, one)
        if one.sort == "nothing":
            await walk.talk.house.ticker.tick()
            await walk.talk.house.pump.drain()
            continue
        together.append(message)
        walk.sent.append(message)
        walk.typed += f"\n{message.text} {message.press or ''}"
        if one.with_next and place + 1 < len(sayings):
            continue
        await hear(walk, together, logged)
        together = []
    if together:
        await hear(walk, together, logged)


async def hear(walk: Walk, messages: list[Incoming], logged: list[str]) -> None:
    talk = walk.talk
    talk.sent.clear()
    waiting = [asyncio.ensure_future(talk.house.desk.take(message)) for message in messages]
    while not all(task.done() for task in waiting):
        await asyncio.sleep(0)
        await talk.house.desk.gulp()
    receipts = [task.result() for task in waiting]
    await talk.house.pump.drain()
    for message, receipt in zip(messages, receipts, strict=True):
        assert receipt.state is not MessageState.PARKED, f"parked {message.text[:300]!r}\n{''.join(logged)}\n{walk.trail()}"
    walk.out.extend(talk.sent)
    walk.asked.update((text.address, text.asks or "") for text in talk.sent)
    walk.buttons.extend(choice.id for text in talk.sent for choice in text.choices)
    all_answered(walk, messages, receipts)
    for text in talk.sent:
        look_at(walk, text)


def all_answered(walk: Walk, messages: list[Incoming], receipts: list[Receipt]) -> None:
    """Unanswered are only what came before, a stranger's second text in a day, or second SOS in ten minutes."""
    wanted: dict[str, int] = {}
    late: set[str] = set()
    for message, receipt in zip(messages, receipts, strict=True):
        if receipt.again:
            continue
        if message.address == STRANGER:
            sort, apart_us = ("sos", SOS_AGAIN_US) if is_sos(message.text) else ("text", DAY_US)
            last = walk.strangers.get(sort)
            if last is not None and message.received_us - last < apart_us:
                continue
            walk.strangers[sort] = message.received_us
        if message.received_us - message.said_us > 1_800_000_000:
            late.add(message.address)  # several late jars are answered in one text
        wanted[message.address] = wanted.get(message.address, 0) + 1
    for address, count in wanted.items():
        got = sum(1 for text in walk.talk.sent if text.address == address and text.alert is None)
        assert got >= (1 if address in late else count), f"{got} texts for {count} of {address}\n{walk.trail()}"
    assert (STRANGER in wanted) == any(text.address == STRANGER for text in walk.talk.sent), walk.trail()
    replies = [text for text in walk.talk.sent if text.alert is None]
    assert wanted or not replies, f"{replies} for nothing\n{walk.trail()}"


def look_at(walk: Walk, text: Outgoing) -> None:
    """No text is longer than three parts, or shows a number or a seal that nobody typed."""
    plain = "".join(c if is_gsm(c) else "?" for c in text.text)
    taken = septets(plain)
    assert isinstance(taken, int)
    longest = LONGEST_OF_MANY if any(words in text.text for words in MANY) else LONGEST_SEPTETS
    assert taken <= longest, f"{taken} septets: {text.text!r}\n{walk.trail()}"
    typed = walk.typed.lower()
    for seal in SHOWN_SEAL.findall(text.text):
        assert seal.lower() in typed or seal in EXAMPLES, f"seal {seal} in {text.text!r}\n{walk.trail()}"
    shown = SHOWN_NUMBER.match(text.text)
    if shown:
        assert shown[1].lower() in typed, f"number {shown[1]} in {text.text!r}\n{walk.trail()}"


async def at_the_end(walk: Walk) -> None:
    """The record shows nothing that nobody typed, nothing was altered, a rebuild gives the same."""
    typed = walk.typed.lower()
    for jar in await walk.talk.show("samples"):
        assert jar["number"].lower() in typed, f"number {jar['number']}\n{walk.trail()}"
        for seal in jar["seals"]:
            assert seal["number"] is None or seal["number"].lower() in typed, f"seal {seal}\n{walk.trail()}"
    verdict = await walk.talk.verdict()
    assert verdict.found == (), f"{verdict.found}\n{walk.trail()}"
    assert verdict.messages == len({m.key for m in walk.sent}), walk.trail()
    assert await walk.talk.rebuilds_the_same(), walk.trail()


@contextmanager
def tracebacks() -> Iterator[list[str]]:
    """What the desk logs with a traceback, as text."""
    told: list[str] = []

    class Keeper(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            if record.exc_info:
                told.append(logging.Formatter("%(message)s").format(record))

    keeper, log = Keeper(), logging.getLogger("coldjar.desk")
    log.addHandler(keeper)
    try:
        yield told
    finally:
        log.removeHandler(keeper)


def fresh_copy(template: Path, folder: Path) -> str:
    """A copy of a store alone in its folder; its address."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    shutil.copy(template, folder / "coldjar.db")
    return f"sqlite:///{folder / 'coldjar.db'}"


async def whole_walk(url: str, folder: Path, start: str, sayings: list[Saying]) -> None:
    with tracebacks() as logged:
        async with talk_to(url, folder, TWO_CASES, start) as talk:
            walk = Walk(talk)
            await play(walk, sayings, logged)
            await at_the_end(walk)
