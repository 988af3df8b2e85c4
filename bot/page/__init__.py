"""The register: the unit as whoever answers for it reads it, sheet by sheet.

A sheet is one function in `sheets.py` and one template in `bot/web/templates/register/`; a file to take
away is one function in `downloads.py`.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from storage import register
from storage.database import Tx
from storage.views import read_unit
from storage.work import Store

from ..model.entries import UNIT_CHAIN, Body, Draft, EvidenceViewed, FileTaken
from ..model.people import Person, Unit
from ..ports import Clock, Download, Sheet, Shut
from ..rules.roles import Action, may
from .base import Find, Made, Makers, Reader, TradeOf
from .downloads import DOWNLOADS
from .sheets import SHEETS

WAYS = (("", "Needs you"), ("cases", "Cases"), ("kits", "Kits"), ("people", "People"))
NOT_YOURS = Shut(403, "That is not for your role to see. Ask your supervisor.")
NOT_THERE = Shut(404, "There is no such thing on record. The register is at /register.")
UNKNOWN = Shut(401, "You are not signed in. Text PAGE to the line and open the link that comes.")


class StoredRegister:
    """The register over an open store; what is evidence is on record as seen before it is shown."""

    def __init__(
        self, store: Store, clock: Clock, originals: Path, trade_of: TradeOf, makers: Makers
    ) -> None:
        self._store = store
        self._clock = clock
        self._originals = originals
        self._trade_of = trade_of
        self._makers = makers

    async def sheet(self, address: str, name: str, of: str) -> Sheet | Shut:
        """The sheet of this name about this thing, for the person behind the address."""
        if name not in SHEETS:
            return NOT_THERE
        made = await self._made(SHEETS[name], address, of)
        if isinstance(made, Shut):
            return made
        reader, sheet = made
        if isinstance(sheet, Sheet) and SHEETS[name].evidence:
            await self._note(reader, SHEETS[name], of, EvidenceViewed(sheet=name, of=of))
        if isinstance(sheet, Shut):
            return sheet
        return replace(sheet, values={**sheet.values, "ways": _ways(reader.person)})

    async def download(self, address: str, name: str, of: str) -> Download | Shut:
        """The file of this name about this thing, for the person behind the address."""
        if name not in DOWNLOADS:
            return NOT_THERE
        made = await self._made(DOWNLOADS[name], address, of)
        if isinstance(made, Shut):
            return made
        reader, given = made
        if isinstance(given, Shut):
            return given
        download, sha256 = given
        await self._note(reader, DOWNLOADS[name], of, FileTaken(file=download.name, of=of, sha256=sha256))
        return download

    async def mark(self) -> str:
        """Another text whenever something was written since."""
        async with self._store.database.read() as tx:
            return str(await register.writes(tx))

    async def _made(
        self, found: Find[Made], address: str, of: str
    ) -> tuple[Reader, Made | Shut] | Shut:
        """Who reads, and what was made for them or why nothing is."""
        async with self._store.database.read() as tx:
            reader = await self._reader(tx, address)
            if isinstance(reader, Shut):
                return reader
            refused = await self._refused(reader, found, of)
            return reader, refused or await found.make(reader, of)

    async def _reader(self, tx: Tx, address: str) -> Reader | Shut:
        unit = await read_unit(tx)
        person = _person_at(unit, address)
        if person is None:
            return UNKNOWN
        now_us = self._clock.now_us()
        return Reader(tx, unit, person, self._trade_of(unit), now_us, self._originals, self._makers)

    async def _refused(self, reader: Reader, found: Find[Any], of: str) -> Shut | None:
        """Why this is not shown to this person, None where it is."""
        if not may(reader.person, found.action):
            return NOT_YOURS
        if found.case_of is None:
            return None
        case = await register.case(reader.tx, found.case_of(of))
        if case is None:
            return NOT_THERE
        return None if reader.sees(case) else NOT_YOURS

    async def _note(self, reader: Reader, found: Find[Any], of: str, body: Body) -> None:
        chain = found.case_of(of) if found.case_of is not None else UNIT_CHAIN
        draft = Draft(
            chain=chain,
            body=body,
            author=reader.person.name,
            channel="page",
            said_us=reader.now_us,
            received_us=reader.now_us,
        )
        async with self._store.work() as work:
            await work.append([draft])


def _ways(person: Person) -> list[tuple[str, str]]:
    """The sheets that this person may open from every other, by name and title."""
    return [(name, title) for name, title in WAYS if may(person, SHEETS[name].action)]


def _person_at(unit: Unit, address: str) -> Person | None:
    """Who is in service under this address and may see anything at all."""
    found = (one for one in unit.people.values() if one.active and address in one.addresses)
    person = next(found, None)
    return person if person is not None and may(person, Action.SEE_OWN_CASES) else None
