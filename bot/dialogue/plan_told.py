"""What is told of suspects, read: names with their tanks, lines of the plan; and put on record."""

from __future__ import annotations

import re
from collections.abc import Sequence

from ..model.case import Case
from ..model.entries import FactTold, SuspectNamed
from ..model.plan import Plan
from ..rules.plan import PlanTable
from .one_line import BREAK
from .readers.base import Ask
from .turn import Turn

LONGEST = 40  # of a name, and of a tank's
MOST = 200  # suspects of a case, and tanks of a suspect: more is a mistake of the thumb
_PLATE = re.compile(r"\S*\d\S*|bilges?|slops?|sumps?|sludge", re.IGNORECASE)  # a tank's name in one word
_SOURCE = re.compile(r"\b(?:source|suspect)\b", re.IGNORECASE)
_VESSEL = r"(?:(?:vessel|facility)\s+)?"
_ELSEWHERE = re.compile(r"\b(?:tank|place|witness|note|drawn)\b", re.IGNORECASE)  # the name is of their words


def read_tanks(text: str) -> tuple[str, ...]:
    """The tanks or lines in the words they were told in: `2P 2S bilge` are three, `fore peak, 2P` two."""
    text = re.sub(r"^\s*tanks?\s+", "", text, flags=re.IGNORECASE)
    tanks: list[str] = []
    for part in re.split(r"\s*[,;\n]\s*|\s+and\s+", text):
        words = part.strip(" .:").split()
        plates = all(map(_PLATE.fullmatch, words))
        tanks.extend(words if plates else [" ".join(words)])
    return tuple(dict.fromkeys(tank[:LONGEST] for tank in tanks if tank))[:MOST]


def read_suspects(text: str, plan: Plan) -> tuple[tuple[str, tuple[str, ...]], ...] | Ask:
    """Each name with its tanks, or what stands in the way.

    `Marbel: 2P 2S; Tolva: bilge; quay pipe`: semicolons or lines between, else commas or "and".
    """
    parts = re.split(r"[;\n]+", text)
    if len(parts) == 1 and ":" not in text:
        parts = re.split(r"\s*,\s*(?:and\s+)?|\s+and\s+", text)
    read: dict[str, tuple[str, ...]] = {}
    for part in parts:
        name, _, tanks = part.strip(" .").partition(":")
        name = " ".join(name.split())
        if not name:
            continue
        if len(name) > LONGEST:
            return Ask("plan.name.long", {"words": name[:LONGEST]})
        name = known_name(plan, name) or next((one for one in read if one.lower() == name.lower()), name)
        read[name] = (*read.get(name, ()), *read_tanks(tanks))
    if len(read.keys() | plan.suspects.keys()) > MOST:
        return Ask("plan.name.many")
    return tuple(read.items()) if read else Ask("read.unread", {"words": text[:LONGEST]})


def known_name(plan: Plan, name: str) -> str | None:
    """The suspect's name as it was first told, however it is typed now."""
    return next((one for one in plan.suspects if one.lower() == name.lower()), None)


def name_suspect(turn: Turn, case: Case, name: str, tanks: Sequence[str], words: str) -> None:
    """The suspect is on record with these tanks; nothing is written where that is known already."""
    known = case.plan.suspects.get(name)
    if known is None or known.left is not None or set(tanks) - set(known.tanks):
        turn.write(case.name, SuspectNamed(name=name, tanks=tuple(tanks), words=words))


def line_named(text: str, plan: Plan, table: PlanTable) -> tuple[str, str]:
    """(line of the plan or suspect, the words after it); empty where the text begins with none."""
    names = {row_word: row.id for row in table.row for row_word in row.words}
    for suspect in plan.suspects.values():
        names[suspect.name.lower()] = suspect.name
        for tank in suspect.tanks:
            names |= dict.fromkeys(
                (f"{suspect.name} {tank}".lower(), f"{suspect.name} tank {tank}".lower()),
                f"{suspect.name} {tank}",
            )
    for shore in table.shore:
        for word in (shore.id, *shore.words):
            names |= {f"reference {word}": f"reference {shore.id}", f"oiled {word}": f"oiled {shore.id}"}
    said = text.strip()
    for name in sorted(names, key=len, reverse=True):
        rest = said[len(name) :]
        if said.lower().startswith(name) and not rest[:1].isalnum():
            return names[name], rest.strip(" :,-.")
    return "", said


def take_suspect(text: str, plan: Plan) -> tuple[str, tuple[FactTold, ...]]:
    """What a source's line says of its suspect and tank, and the line without it: `06 source Marbel 2P 1051`.

    A name may hold words that announce something ("quay pipe"), so it is taken before they are looked at.
    """
    if _SOURCE.search(text) is None:
        return text, ()
    for name in sorted(plan.suspects, key=len, reverse=True):
        found = re.search(rf"(?<![\w-]){_VESSEL}(?P<name>{re.escape(name)})(?![\w-])", text, re.I)
        if found is None or _ELSEWHERE.search(text[: found.start()]):
            continue
        facts = [FactTold(field="vessel", value=found["name"], raw=found["name"])]
        end = found.end()
        for tank in sorted(plan.suspects[name].tanks, key=len, reverse=True):
            behind = re.match(rf"\s+(?:tank\s+)?(?P<tank>{re.escape(tank)})(?![\w-])", text[end:], re.I)
            if behind is not None:
                facts.append(FactTold(field="tank", value=behind["tank"], raw=behind["tank"]))
                end += behind.end()
                break
        return f"{text[: found.start()]} {BREAK} {text[end:]}", tuple(facts)
    return text, ()
