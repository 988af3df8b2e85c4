"""The files that a case gives away, one function each: (the file, its SHA-256)."""

from __future__ import annotations

import hashlib
from typing import Any, TypeAlias

from storage import reading, register

from ..model.errors import ColdjarError
from ..ports import Download, Shut
from ..reports.jar_files import as_csv, as_geojson
from ..reports.listing import sample_line
from ..rules.holding import holding
from ..rules.roles import Action
from .base import Find, Reader
from .cold import carried_by

Given: TypeAlias = "tuple[Download, str] | Shut"
PAPERS = ("custody", "labels", "transmittal", "exceptions")  # of `bot/printing.py`, those that need no words
OFFERED = Shut(409, "A hand-over to you is open in this case: read the jars first, then take the file.")
NO_FILE = Shut(404, "There is no such file on record. The register is at /register.")


async def _open_to(reader: Reader, case_name: str) -> Shut | None:
    """Why no file of this case is for them now: it would show them seals that they are to read."""
    offered = await register.is_any_offered(reader.tx, case_name, reader.person.name)
    return OFFERED if offered else None


async def _paper(reader: Reader, of: str, paper: str) -> Given:
    refused = await _open_to(reader, of)
    if refused is not None:
        return refused
    try:
        pdf = await reader.makers.paper(of, paper)
    except ColdjarError as problem:
        return Shut(409, str(problem))
    return _made(f"{of}-{paper}.pdf", "application/pdf", pdf)


def _paper_of(paper: str) -> Find[Given]:
    async def make(reader: Reader, of: str) -> Given:
        return await _paper(reader, of, paper)

    return Find(make, Action.SEE_DOWNLOADS, str)


async def _bundle(reader: Reader, of: str) -> Given:
    """The case bundle, made aside; whoever hands it out takes it away again."""
    refused = await _open_to(reader, of)
    if refused is not None:
        return refused
    folder = reader.originals / "aside"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"bundle-{reader.person.name}-{reader.now_us}.zip"
    try:
        sha256 = await reader.makers.bundle(of, path)
    except ColdjarError as problem:
        return Shut(409, str(problem))
    return Download(f"{of}.zip", "application/zip", path=str(path), once=True), sha256


async def _lines(reader: Reader, case_name: str) -> list[dict[str, Any]] | Shut:
    refused = await _open_to(reader, case_name)
    if refused is not None:
        return refused
    case = await register.case(reader.tx, case_name)
    terms = reader.trade
    jars = await reading.samples(reader.tx, case_name)  # all: a file cannot say that it is not whole
    warm = await carried_by(reader, jars)
    return [
        sample_line(
            *(jar, case, terms.table, terms.limits, warm.get(jar.id, ())),
            holding(jar, terms.holding, terms.limits, reader.now_us),
        )
        for jar in jars
    ]


async def _csv(reader: Reader, of: str) -> Given:
    lines = await _lines(reader, of)
    if isinstance(lines, Shut):
        return lines
    return _made(f"{of}-jars.csv", "text/csv; charset=utf-8", as_csv(lines))


async def _geojson(reader: Reader, of: str) -> Given:
    lines = await _lines(reader, of)
    if isinstance(lines, Shut):
        return lines
    return _made(f"{of}-jars.geojson", "application/geo+json", as_geojson(lines))


async def _photo(reader: Reader, of: str) -> Given:
    """A photo as it arrived; `of` is "CASE/SHA256"."""
    case, _, sha256 = of.rpartition("/")
    found = await register.photo(reader.tx, sha256)
    path = reader.originals / sha256[:2] / sha256
    if found is None or found[0] != case or not path.is_file():
        return NO_FILE
    return Download(sha256[:16], found[1], path=str(path)), sha256


def _made(name: str, media_type: str, body: bytes) -> tuple[Download, str]:
    return Download(name, media_type, body), hashlib.sha256(body).hexdigest()


def _case_of_photo(of: str) -> str:
    return of.rpartition("/")[0]


DOWNLOADS: dict[str, Find[Given]] = {
    "jars.csv": Find(_csv, Action.SEE_DOWNLOADS, str),
    "jars.geojson": Find(_geojson, Action.SEE_DOWNLOADS, str),
    "bundle.zip": Find(_bundle, Action.SEE_DOWNLOADS, str),
    **{f"{paper}.pdf": _paper_of(paper) for paper in PAPERS},
    "photo": Find(_photo, Action.SEE_EVIDENCE, _case_of_photo),
}
