"""What the camera wrote into a photo: its clock, its offset from UTC and its position.

Source: Exif 2.32 (CIPA DC-008-2019), 4.6. A fact that is malformed, absurd or absent is None.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Literal, NamedTuple

Place = tuple[float, float]  # latitude, longitude in WGS84 degrees
ByteOrder = Literal["little", "big"]

# Exif tags, each with the one type it may have.
ASCII, LONG, RATIONAL = 2, 4, 5
BYTES_OF = {ASCII: 1, LONG: 4, RATIONAL: 8}
EXIF_DIRECTORY, GPS_DIRECTORY = 0x8769, 0x8825
DATE_TIME_ORIGINAL, OFFSET_TIME_ORIGINAL = 0x9003, 0x9011
LATITUDE_REF, LATITUDE, LONGITUDE_REF, LONGITUDE, GPS_STATUS, GPS_DATUM = 1, 2, 3, 4, 9, 18
TYPE_OF = dict.fromkeys((DATE_TIME_ORIGINAL, OFFSET_TIME_ORIGINAL), ASCII)
TYPE_OF |= dict.fromkeys((LATITUDE_REF, LONGITUDE_REF, GPS_STATUS, GPS_DATUM), ASCII)
TYPE_OF |= {EXIF_DIRECTORY: LONG, GPS_DIRECTORY: LONG, LATITUDE: RATIONAL, LONGITUDE: RATIONAL}
LONGEST_VALUE = 64  # bytes: a position takes 24, a time 20, and datums have short names
DATE_TIME = re.compile(r"(\d{4}):(\d\d):(\d\d \d\d:\d\d:\d\d)")
OFFSET = re.compile(r"([+-])(0\d|1[0-4]):?([0-5]\d)")  # zones reach from -12:00 to +14:00
WGS84 = ("", "WGS-84", "WGS84", "WGS 84")


class CameraFacts(NamedTuple):
    """`time` is the camera's local time (ISO 8601), `offset` like "+01:00", `position` WGS84 degrees."""

    time: str | None
    offset: str | None
    position: Place | None


def camera_facts(exif: bytes) -> CameraFacts:
    """Read them from the TIFF bytes that Exif is, without the header of a JPEG's segment; raises nothing."""
    order: ByteOrder = "little" if exif.startswith(b"II*\0") else "big"
    main = _directory(exif, order, exif[4:8]) if exif.startswith((b"II*\0", b"MM\0*")) else {}
    camera, gps = (_directory(exif, order, main.get(tag, b"")) for tag in (EXIF_DIRECTORY, GPS_DIRECTORY))
    return CameraFacts(
        time=_local_time(camera.get(DATE_TIME_ORIGINAL, b"")),
        offset=_offset(camera.get(OFFSET_TIME_ORIGINAL, b"")),
        position=_position(gps, order),
    )


def _directory(exif: bytes, order: ByteOrder, pointer: bytes) -> dict[int, bytes]:
    """Tag -> value, of the tags read here that have their type; one that runs past the end is cut there."""

    def number(at: int, size: int) -> int:
        return int.from_bytes(exif[at : at + size], order)

    found: dict[int, bytes] = {}
    start = int.from_bytes(pointer, order)
    entries = number(start, 2) if pointer else 0
    for entry in range(start + 2, min(start + 2 + 12 * entries, len(exif)), 12):
        tag, kind, count = number(entry, 2), number(entry + 2, 2), number(entry + 4, 4)
        size = count * BYTES_OF.get(kind, 0)
        at = entry + 8 if size <= 4 else number(entry + 8, 4)
        if TYPE_OF.get(tag) == kind and 0 < size <= LONGEST_VALUE:
            found.setdefault(tag, exif[at : at + size])
    return found


def _text(value: bytes) -> str:
    return value.split(b"\0")[0].decode("latin-1").strip(" ")


def _local_time(value: bytes) -> str | None:
    """ISO 8601 of a real time; a clock that was never set writes zeros or blanks."""
    parts = DATE_TIME.fullmatch(_text(value))
    if parts is None or not "1970" <= parts[1] <= "9998":  # from there no offset leaves the calendar
        return None
    try:
        return datetime.fromisoformat("-".join(parts.groups())).isoformat()
    except ValueError:
        return None


def _offset(value: bytes) -> str | None:
    parts = OFFSET.fullmatch(_text(value))
    return f"{parts[1]}{parts[2]}:{parts[3]}" if parts else None


def _position(gps: dict[int, bytes], order: ByteOrder) -> Place | None:
    """Degrees, south and west below zero.

    None where a hemisphere is not stated, the receiver calls its measurement interrupted, the datum is
    another, or the place is 0, 0, which cameras without a fix write.
    """
    north = _degrees(gps.get(LATITUDE, b""), gps.get(LATITUDE_REF, b""), "NS", 90, order)
    east = _degrees(gps.get(LONGITUDE, b""), gps.get(LONGITUDE_REF, b""), "EW", 180, order)
    interrupted = _text(gps.get(GPS_STATUS, b"")) == "V"
    elsewhere = _text(gps.get(GPS_DATUM, b"")).upper() not in WGS84
    if north is None or east is None or interrupted or elsewhere or north == east == 0:
        return None
    return north, east


def _degrees(value: bytes, ref: bytes, hemispheres: str, limit: int, order: ByteOrder) -> float | None:
    """Three rationals (degrees, minutes, seconds) in their hemisphere, to 7 decimals: a centimetre."""
    numbers = [int.from_bytes(value[at : at + 4], order) for at in range(0, len(value), 4)]
    side = _text(ref)
    if len(numbers) != 6 or 0 in numbers[1::2] or len(side) != 1 or side not in hemispheres:
        return None
    degrees, minutes, seconds = (numbers[at] / numbers[at + 1] for at in (0, 2, 4))
    total = degrees + minutes / 60 + seconds / 3600
    if minutes >= 60 or seconds >= 60 or total > limit:
        return None
    return round(-total if side == hemispheres[1] else total, 7)
