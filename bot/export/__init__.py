"""A case bundle: one pass from the store to a BagIt bag in a stored zip, in memory that does not grow."""

from __future__ import annotations

import asyncio
import json
import mimetypes
import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from jinja2 import Environment, PackageLoader, StrictUndefined

from storage import bundle, reading
from storage.database import Tx
from storage.six_words import LIST
from storage.views import read_unit

from ..model.case import Case
from ..model.entries import UNIT_CHAIN
from ..model.errors import AskedWrongly, StoreUnavailable
from ..model.people import Unit
from ..model.times import utc
from ..reports.cold_listing import cold_log
from ..reports.record import Look, jar, marks_of, standing, stated, timelines
from ..reports.weak_points import explained, gap_text
from ..rules.label_code import DRILL
from ..rules.limits import limits_in_force
from .bag import Bag
from .masking import is_wordless, stub, without_words

Lines = Sequence[Mapping[str, Any]]
UNMASKED = (
    "Telephone numbers and accounts stand as salted commitments. Free texts are not masked: they stand as "
    "they were written, and may hold numbers that people typed."
)
WHOLE = (
    "Telephone numbers and accounts stand as salted commitments. Every text that a person wrote is masked "
    "whole, and every photo stands as it came."
)


@dataclass(frozen=True)
class Wanted:
    """What is to be exported, and how. `lists` are what `show` prints for the case, by name."""

    case: str
    made_us: int
    lists: Mapping[str, Lines]
    disclosure: bool = False
    mask_texts: bool = False


@dataclass(frozen=True)
class Exported:
    """The head of the case, the hash that stands for the whole bundle, and what was wrong on the way."""

    head: tuple[int, str]
    fingerprint: str
    originals: int
    found: tuple[str, ...]


async def export(tx: Tx, to: Path, originals: Path, wanted: Wanted) -> Exported:
    """The bundle stands at `to`, whole and on disk. Raises AskedWrongly, StoreUnavailable.

    Everything is read in the transaction given, so that the bundle is the store as of one instant.
    """
    _refuse_if_there(to)
    part = to.with_name(f"{to.name}.part")
    try:
        part.unlink(missing_ok=True)
        part.touch(mode=0o600)  # it holds people's telephone numbers
        with part.open("wb") as stream:
            name = re.sub(r"[^A-Za-z0-9._-]", "_", wanted.case)
            with Bag(stream, name, utc(wanted.made_us).timetuple()[:6]) as bag:
                done = await _Export(tx, bag, originals, wanted).run()
            stream.flush()
            os.fsync(stream.fileno())
        part.rename(to)
    except OSError as problem:
        raise StoreUnavailable(
            f"The export failed ({problem.strerror}); see to the disk of {to}."
        ) from problem
    finally:
        part.unlink(missing_ok=True)
    return done


def _refuse_if_there(to: Path) -> None:
    if to.exists():
        raise AskedWrongly(f"{to} is there already; name another file with --out.")


class _Export:
    def __init__(self, tx: Tx, bag: Bag, originals: Path, wanted: Wanted) -> None:
        self._tx, self._bag, self._originals, self._wanted = tx, bag, originals, wanted
        self._cited: set[str] = set()
        self._files: dict[str, str] = {}  # sha256 to media type
        self._accounts: set[str] = set()
        self._people: set[str] = set()
        self._found: list[str] = []

    async def run(self) -> Exported:
        wanted, bag = self._wanted, self._bag
        case, unit = (await reading.cases(self._tx))[wanted.case], await read_unit(self._tx)
        heads = {name: await bundle.head(self._tx, name) for name in (wanted.case, UNIT_CHAIN)}
        await self._chain("data/entries.jsonl", wanted.case)
        await self._chain("data/unit.jsonl", UNIT_CHAIN)
        await self._messages()
        if not wanted.disclosure:
            await self._addresses()
        lists = {name: self._shown(lines) for name, lines in wanted.lists.items()}
        lists["queries"] = [
            {"sample": one["number"], **q} for one in lists["samples"] for q in one["queries"]
        ]
        for name, lines in lists.items():
            bag.add(f"data/{name}.jsonl", "".join(_json(line) + "\n" for line in lines))
        midnights = await bundle.midnights(self._tx)
        words = [{"day": one["day"], "words": one["words"]} for one in midnights]
        bag.add("data/words.jsonl", "".join(_json(line) + "\n" for line in words))
        head = {
            "case": wanted.case,
            "heads": heads,
            "disclosure": wanted.disclosure,
            "masked": wanted.mask_texts,
        }
        bag.add("data/head.json", _json({**head, "made_at": utc(wanted.made_us).isoformat()}) + "\n")
        paths = await asyncio.to_thread(self._put_originals)
        bag.add("record.html", await self._page(case, unit, lists, heads[wanted.case], words[-1:], paths))
        bag.add("rfc1751.txt", LIST + "\n")
        bag.add("verify.py", (files(__package__) / "verify.py").read_text(encoding="utf-8"))
        info = self._info(unit, heads[wanted.case])
        fingerprint = bag.close(info | ({"External-Description": DRILL} if case.exercise else {}))
        return Exported(heads[wanted.case], fingerprint, len(paths), tuple(self._found))

    def _info(self, unit: Unit, head: tuple[int, str]) -> dict[str, str]:
        """bag-info.txt (RFC 8493, 2.2.2); what is ours bears our name."""
        return {
            "Source-Organization": " ".join(unit.name.split()),
            "External-Identifier": " ".join(self._wanted.case.split()),
            "Bagging-Date": f"{utc(self._wanted.made_us):%Y-%m-%d}",
            "Coldjar-Last-Entry": f"{head[0]} {head[1]}",
            "Coldjar-Copy": self._told() or "whole",
        }

    def _told(self) -> str:
        """What a reader must know of this copy; empty where nothing is left out."""
        if not self._wanted.disclosure:
            return ""
        return WHOLE if self._wanted.mask_texts else UNMASKED

    def _shown(self, lines: Lines) -> list[Any]:
        return [without_words(dict(line)) if self._wanted.mask_texts else dict(line) for line in lines]

    async def _chain(self, path: str, chain: str) -> None:
        """Each line holds the text that was hashed, byte for byte, between a fixed beginning and end."""
        lines = self._bag.open_lines(path)
        async for hash_, text in bundle.entry_texts(self._tx, chain):
            if chain != UNIT_CHAIN:
                self._note(json.loads(text))
            if self._wanted.mask_texts and not is_wordless(text):
                lines.put(_json(stub(text, hash_)))
            else:
                lines.put(f'{{"entry":{text},"hash":"{hash_}"}}')
        lines.close()

    def _note(self, entry: dict[str, Any]) -> None:
        self._people.add(entry["author"])
        if entry["message"] is not None:
            self._cited.add(entry["message"])
        self._files.update(files_in(entry["body"]))

    async def _messages(self) -> None:
        lines = self._bag.open_lines("data/messages.jsonl")
        async for sha256, text in bundle.message_texts(self._tx, self._cited):
            held = json.loads(text)
            self._accounts.add(held["account"])
            self._files.update({one["sha256"]: one["media_type"] for one in held.get("attachments", ())})
            if self._wanted.mask_texts:
                lines.put(_json({"masked": True, "sha256": sha256}))
            else:
                lines.put(f'{{"message":{text},"sha256":"{sha256}"}}')
        lines.close()

    async def _addresses(self) -> None:
        """The side table's values for the accounts of the messages: in the whole copy alone."""
        values = await bundle.values_behind(self._tx, self._accounts)
        self._bag.add("data/addresses.jsonl", "".join(_json(value) + "\n" for value in values))

    def _put_originals(self) -> dict[str, tuple[str, str]]:
        """Every file on record is in the bag; sha256 to (path, media type)."""
        paths = {}
        for sha256, media in sorted(self._files.items()):
            path = f"data/originals/{sha256}{mimetypes.guess_extension(media) or ''}"
            source = self._originals / sha256[:2] / sha256
            if not source.is_file():
                self._found.append(f"original {sha256}: it is missing from the store")
                continue
            if self._bag.add_file(path, source) != sha256:
                self._found.append(f"original {sha256}: its bytes do not give its name")
            paths[sha256] = (path, media)
        return paths

    async def _page(
        self,
        case: Case,
        unit: Unit,
        lists: Mapping[str, Lines],
        head: tuple[int, str],
        words: Lines,
        paths: Mapping[str, tuple[str, str]],
    ) -> str:
        look = Look(ZoneInfo(unit.zone), limits_in_force(unit.limits), paths, self._wanted.mask_texts)
        samples = await reading.samples(self._tx, case.name)
        shown = {line["id"]: line for line in self._wanted.lists["samples"]}
        jars = self._shown(
            [jar(one, shown[one.id]["not_stated"], look) | standing(shown[one.id]) for one in samples]
        )
        marks = marks_of(lists.get("photos", ()), lists.get("cooler", ()))
        custody = lists.get("custody", ())
        pages = Environment(loader=PackageLoader("bot.reports"), autoescape=True, undefined=StrictUndefined)
        pages.filters["stated"] = lambda iso: stated(iso, look.zone)
        return pages.get_template("record.html").render(
            results=lists.get("results", ()),
            paths=paths,
            gap_text=lambda gap: gap_text(gap, look.zone),
            explained=lambda gap: explained(gap, look.zone),
            case=case,
            exercise="EXERCISE " if case.exercise else "",
            unit=unit.name,
            zone=unit.zone,
            made_at=look.at(self._wanted.made_us),
            disclosure=self._told(),
            head=head,
            words=words[0] if words else None,
            timelines=timelines(samples, custody, look, self._wanted.made_us, marks),
            custody=custody,
            jars=jars,
            coolers=[{**one, "log": cold_log(one)} for one in lists.get("cooler", ())],
            limits=look.limits,
            plan=next(iter(lists.get("plan", ())), None),
            opened=stated(case.opened),
            people=[one for one in unit.people.values() if one.name in self._people.union(case.people)],
        )


def files_in(value: Any) -> dict[str, str]:
    """The files that a body speaks of, wherever in it: sha256 to media type."""
    if isinstance(value, list):
        return {sha256: media for held in value for sha256, media in files_in(held).items()}
    if not isinstance(value, dict):
        return {}
    own = {value["sha256"]: value["media_type"]} if {"sha256", "media_type"} <= value.keys() else {}
    return own | files_in(list(value.values()))


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))
