"""A case's jars as files for other programs: CSV (RFC 4180) and GeoJSON (RFC 7946)."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from typing import Any

COLUMNS = (
    "case", "exercise", "number", "evidence_number", "kind", "matrix", "event_time", "received_time",
    "latitude", "longitude", "place", "collector", "method", "seal", "cooler", "cooler_celsius", "with",
    "status", "confirmed", "flags", "not_stated",
)  # fmt: skip
FORMULA = ("=", "+", "-", "@", "\t", "\r")  # what a spreadsheet takes for the start of a formula


def as_csv(lines: Iterable[Mapping[str, Any]]) -> bytes:
    """One row a jar, UTF-8, from the lines of `show samples`; a text that looks like a formula is quoted.

    The apostrophe before such a text is the spreadsheets' own sign for plain text.
    """
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\r\n")
    rows.writerow(COLUMNS)
    for line in lines:
        rows.writerow(_cell(value) for value in _row(line))
    return out.getvalue().encode()


def _row(line: Mapping[str, Any]) -> list[Any]:
    place = line["position"] or {}
    seals = [seal["number"] or seal["tape"] for seal in line["seals"]]
    named = {
        **line,
        "latitude": place.get("lat"),
        "longitude": place.get("lon"),
        "seal": seals[-1] if seals else None,
        "flags": " ".join(line["flags"]),
        "not_stated": " ".join(line["not_stated"]),
    }
    return [named[column] for column in COLUMNS]


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and value.startswith(FORMULA):
        return f"'{value}"
    return value


def as_geojson(lines: Iterable[Mapping[str, Any]]) -> bytes:
    """One feature a jar, its position as [longitude, latitude] in WGS84; null where none was told (3.2)."""
    features = [
        {
            "type": "Feature",
            "id": line["id"],
            "geometry": _point(line["position"]),
            "properties": dict(zip(COLUMNS, _row(line), strict=True)),
        }
        for line in lines
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False).encode()


def _point(position: Mapping[str, Any] | None) -> dict[str, Any] | None:
    if position is None:
        return None
    return {"type": "Point", "coordinates": [position["lon"], position["lat"]]}
