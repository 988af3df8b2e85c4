"""Looks for the code of a jar's label in its photos: one that differs raises a query and shows no value."""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
from collections.abc import Awaitable, Callable
from importlib.resources import as_file, files

from storage.originals import FolderOriginals
from storage.work import Work

from ..dialogue.turn import Trade
from ..model.entries import Draft, QueryRaised
from ..model.errand import Errand
from ..model.errors import ErrandFailed, ErrandHopeless
from ..model.message import Outgoing
from ..model.people import Unit
from ..model.sample import Sample
from ..ports import Clock
from ..rules.civil_time import local
from ..rules.label_code import is_label_code, label_code

RULE = "label_code"
LONGEST_S = 60.0


class PhotoCodes:
    """The doer of the errand `photo_code`: its `doc` holds sample, sha256, exercise and sent_us."""

    def __init__(self, originals: FolderOriginals, trade_of: Callable[[Unit], Trade], clock: Clock) -> None:
        self._originals = originals
        self._trade_of = trade_of
        self._clock = clock

    async def __call__(self, errand: Errand) -> Callable[[Work], Awaitable[list[Outgoing]]]:
        """Return what raises the query, where the photo shows a label and it is not this jar's."""
        try:
            data = await self._originals.read(str(errand.doc["sha256"]))
        except KeyError:
            return _nothing  # `verify` names a file that is gone
        codes = {" ".join(code.split()) for code in await _read(data) if is_label_code(code)}

        async def finish(work: Work) -> list[Outgoing]:
            return await self._compare(work, errand, codes) if codes else []

        return finish

    async def _compare(self, work: Work, errand: Errand, codes: set[str]) -> list[Outgoing]:
        sample_id = str(errand.doc["sample"])
        board = work.board()
        await work.supply(board, (("id", sample_id),))
        sample = board.shelf.samples[sample_id]
        own = label_code(sample.case, sample.number, bool(errand.doc["exercise"]))
        if own.upper() in {code.upper() for code in codes} or _is_settled(sample):
            return []
        trade, now_us = self._trade_of(board.unit), self._clock.now_us()
        query = QueryRaised(
            sample=sample.id,
            query=f"Q{len(sample.queries) + 1}",
            field="number",
            rule=RULE,
            text=trade.words.say("query.label_code"),
        )
        await work.record(
            [Draft(chain=sample.case, body=query, author="", channel="", said_us=now_us, received_us=now_us)]
        )
        return _told(board.unit, trade, sample, errand, now_us)


def _is_settled(sample: Sample) -> bool:
    """Struck, or asked once already: another photo of the same lid brings nothing new."""
    return sample.struck is not None or any(query.rule == RULE for query in sample.queries)


def _told(unit: Unit, trade: Trade, sample: Sample, errand: Errand, now_us: int) -> list[Outgoing]:
    """The jar's author hears of it by the time of the photo, so that neither number is shown."""
    person = unit.people.get(sample.declared_by)
    address = None if person is None else person.address_by(trade.channels)
    if person is None or address is None:
        return []
    trade = trade.spoken(person.language)
    sent_us = errand.doc["sent_us"]
    at = f"{local(sent_us if isinstance(sent_us, int) else now_us, trade.zone):%H:%M}"
    drill = trade.words.say("exercise") + " " if errand.doc["exercise"] else ""
    text = drill + trade.words.say("photo_code.differs", at=at)
    channel, _, account = address.partition(":")
    return [
        Outgoing(channel=channel, account=account, person=sample.declared_by, text=text, queued_us=now_us)
    ]


async def _nothing(work: Work) -> list[Outgoing]:
    return []


async def _read(data: bytes) -> list[str]:
    """The texts of the codes in a photo. Raises ErrandFailed, ErrandHopeless."""
    with as_file(files(__package__) / "read.py") as script:
        command = [sys.executable, "-I", str(script)]
        try:
            done = await asyncio.to_thread(
                subprocess.run, command, input=data, capture_output=True, timeout=LONGEST_S, check=False
            )
        except subprocess.TimeoutExpired as problem:
            raise ErrandFailed("a photo's code took too long to look for") from problem
    if done.returncode:
        raise ErrandHopeless("a photo could not be looked at")
    return [str(code) for code in json.loads(done.stdout)]
