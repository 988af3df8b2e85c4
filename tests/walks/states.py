"""Stores that wait with one question open: scripts are played, and each new question's store is kept.

A script is what one responder says in turn; "R2: …" is said by another, PHOTO and PLACE are no words.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from tests.talk import ADDRESSES, SETUP, Talk, talk_to
from tests.walks.sayings import PHOTOS
from tests.walks.walker import TWO_CASES, fresh_copy

PHOTO, PLACE = "(photo)", "(place)"
START = "2026-10-12T08:00:00Z"
BEGUN = ("jar", "mate, cleared", "yes", "01")
SHEEN = (*BEGUN, "1", "1", "shut")
LINE = "01 spill sheen 0901 47.2830N 19.9510W pad seal 5101 photo cooler M 4.4C gloves changed"
SCRIPTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (SETUP, (*SHEEN, "0905", "4", "47.2830N 19.9510W", "5101", PHOTO, "M 4.4C 0906", "ok")),
    (SETUP, (*SHEEN, "0905", "4", "skip", "skip", "skip", "skip", "skip", "skip")),
    (SETUP, (*SHEEN, "now", "4", "47.8830N 19.9510W")),
    (SETUP, (*BEGUN, "1", "2", "shut", "0905", "1", "3/4")),
    (SETUP, (*BEGUN, "2", "2P", "shut 0905 jar", "3/4", "chief")),
    (SETUP, (*BEGUN, "duplicate", "07")),
    (SETUP, (LINE, "01 seal is 5107 not 5101")),
    (SETUP, (LINE, "ok", "more 01", *["skip"] * 30)),
    (SETUP, ("01 source tank 2P 0901 seal 5101", "ok", "more 01", *["skip"] * 40)),
    (SETUP, ("02 spill sheen", LINE, "ok 01")),
    (SETUP, ("R2: 01 spill 0905 seal 5102", "01 source 0901 seal 5101")),
    (SETUP, (LINE, "ok", PHOTO)),
    (SETUP, ("cooler M 46",)),
    (SETUP, ("cooler M 8.4C",)),
    (SETUP, ("01 spill sheen 0901 fill 80", "01 spill sheen cooler M 46")),
    (TWO_CASES, ("jar",)),
    (TWO_CASES, ("01 spill sheen",)),
    (SETUP, ("case", "real", "CH-015", "sheen off the quay", "north mole", "R2", "0840", "R1", "A")),
    (SETUP, ("plan", "1", "small", "Marbel; Tolva: bilge", "no", "2P", "sand")),
    (SETUP, ("refused Marbel: go away", "master", "0801")),
    (SETUP, ("suspect Marbel", "refused Marbel")),
)


async def say(talk: Talk, said: str) -> None:
    _, _, text = said.rpartition("R2: ") if said.startswith("R2: ") else ("", "", said)
    if said == PHOTO:
        await talk.hears("R1", files=PHOTOS[6:])
    elif said == PLACE:
        await talk.hears("R1", position=(47.283, -19.951))
    else:
        await talk.hears("R2" if said.startswith("R2: ") else "R1", text)


async def open_question(talk: Talk, who: str = "R1") -> str | None:
    """What this person's conversation waits for; "ok" for a read-back that waits, None for nothing."""
    async with talk.house.store.database.read() as tx:
        rows = await tx.rows("SELECT doc FROM conversations WHERE address = $1", ADDRESSES[who])
    stands = json.loads(rows[0][0]) if rows else {}
    question: str | None = stands.get("question") or ("ok" if stands.get("waiting") else None)
    return question


@dataclass(frozen=True)
class Waiting:
    """A store that waits with a question open, the setup it has, and the buttons that were offered last."""

    setup: str
    store: Path
    buttons: tuple[str, ...]


async def waiting_stores(template: Path, work: Path) -> dict[str, Waiting]:
    """A store for each question that the scripts open, by the question's id."""
    found: dict[str, Waiting] = {}
    for setup, script in SCRIPTS:
        folder = work / "playing"
        async with talk_to(fresh_copy(template, folder), folder, setup, START) as talk:
            for said in script:
                await say(talk, said)
                question = await open_question(talk)
                if question is not None and question not in found:
                    path = work / f"{question}.db"
                    with closing(sqlite3.connect(folder / "coldjar.db")) as here, closing(sqlite3.connect(path)) as kept:
                        here.backup(kept)
                    buttons = tuple(choice.id for text in talk.sent for choice in text.choices)
                    found[question] = Waiting(setup, path, buttons)
    return found
