"""The files that a case gives away, one function each: (the file, its SHA-256)."""

from __future__ import annotations

import hashlib
from typing import Any, TypeAlias

from storage import register

from ..ports import Download, Shut
from ..reports.jar_files import as_csv, as_geojson
from ..reports.listing import sample_line
from ..rules.roles import Action
from .base import Find, Reader

Given: TypeAlias = "tuple[Download, str] | Shut"
NO_FILE = Shut(404, "There is no such file on record. The register is at /register.")


async def _lines(reader: Reader, case_name: str) -> list[dict[str, Any]]:
    case = await register.case(reader.tx, case_name)
    terms = reader.trade
    return [
        sample_line(jar, case, terms.table, terms.limits) for jar in await register.jars(reader.tx, case_name)
    ]


async def _csv(reader: Reader, of: str) -> Given:
    return _made(f"{of}-jars.csv", "text/csv; charset=utf-8", as_csv(await _lines(reader, of)))


async def _geojson(reader: Reader, of: str) -> Given:
    return _made(f"{of}-jars.geojson", "application/geo+json", as_geojson(await _lines(reader, of)))


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


DOWNLOADS: dict[str, Find] = {
    "jars.csv": Find(_csv, Action.SEE_DOWNLOADS, str),
    "jars.geojson": Find(_geojson, Action.SEE_DOWNLOADS, str),
    "photo": Find(_photo, Action.SEE_EVIDENCE, _case_of_photo),
}
