"""Whether a photo's file is whole, and where in it the Exif bytes stand.

Sources: ITU-T T.81 annex B for the markers of JPEG; PNG, third edition, section 5 for its chunks;
ISO/IEC 14496-12 and 23008-12 for the boxes and items of HEIC.
The files come from strangers too: no length, count or pixel size in them is trusted. Only a JPEG is
decoded, at an eighth of its size; a HEIC of 20 MB can make a decoder take gigabytes by being opened.
"""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Iterator
from typing import NamedTuple

# A JPEG in one pass costs a 64th of its pixels. One in several passes costs up to six bytes a pixel, and
# its time for every pass. Beyond these pixels it is judged by its markers alone.
MOST_PIXELS_IN_ONE_PASS = 300_000_000
MOST_PIXELS_IN_PASSES = 25_000_000
MOST_PASSES = 100
MOST_PARTS = 4096  # segments, boxes or items

PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
HEIC_BRANDS = {b"heic": "image/heic", b"heix": "image/heic", b"mif1": "image/heif", b"msf1": "image/heif"}

# A marker wherever it stands, also amid the picture's data: FF 00 is data, FF D0 to FF D7 only restart.
MARKER = re.compile(rb"\xff([\x01-\xcf\xd8-\xfe])")
EXIF_SEGMENT = re.compile(rb"\xff\xe1..Exif\0\0", re.DOTALL)
END_OF_IMAGE, START_OF_SCAN = 0xD9, 0xDA
WITHOUT_LENGTH = (0x01, 0xD8, END_OF_IMAGE)
FRAMES = (0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF)
NOT_FOR_DECODING = (*range(0xE0, 0xF0), 0xFE)


class Seen(NamedTuple):
    """One file: its media type, what is wrong with it, and its Exif bytes (empty where it holds none)."""

    media_type: str
    problem: str | None
    exif: bytes = b""


def look(data: bytes) -> Seen:
    """What kind of file it is by its content, and whether it is whole.

    `problem` is "broken" for a JPEG, PNG or HEIC that is cut or does not decode, "not_image" for any other
    file. Damage within the data that its format does not notice is not found.
    """
    if data.startswith(b"\xff\xd8\xff"):
        return _jpeg(data)
    if data.startswith(PNG_SIGNATURE):
        return _png(data)
    if data[4:8] == b"ftyp":
        brands = {data[at : at + 4] for at in range(8, min(int.from_bytes(data[:4]), 256), 4)}
        if known := [HEIC_BRANDS[brand] for brand in HEIC_BRANDS if brand in brands]:
            return _heic(data, known[0])
    return Seen("application/pdf" if data.startswith(b"%PDF-") else "application/octet-stream", "not_image")


def _jpeg(data: bytes) -> Seen:
    """Whole where the markers lead to the end of the image and what they hold decodes."""
    segments = list(_segments(data))
    exifs = [data[at + 10 : end] for _, at, end in segments if EXIF_SEGMENT.match(data, at)]
    return Seen("image/jpeg", None if _is_whole(data, segments) else "broken", exifs[0] if exifs else b"")


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """(code, start, end) of each segment to the end of the image; fewer where the file is cut."""
    at = 2
    for _ in range(MOST_PARTS):
        marker = MARKER.search(data, at)
        if marker is None:
            return
        code, at = marker[1][0], marker.end()
        if code not in WITHOUT_LENGTH:
            length = int.from_bytes(data[at : at + 2])  # counts its own two bytes
            at += length
            if length < 2 or at > len(data):
                return
        yield code, marker.start(), at
        if code == END_OF_IMAGE:
            return


def _is_whole(data: bytes, segments: list[tuple[int, int, int]]) -> bool:
    frames = [(code, at) for code, at, _ in segments if code in FRAMES]
    scans = [at for code, at, _ in segments if code == START_OF_SCAN]
    if not frames or not 0 < len(scans) <= MOST_PASSES or segments[-1][0] != END_OF_IMAGE:
        return False
    (kind, frame), scan = frames[0], scans[0]
    pixels = int.from_bytes(data[frame + 5 : frame + 7]) * int.from_bytes(data[frame + 7 : frame + 9])
    all_colours = data[scan + 4 : scan + 5] == data[frame + 9 : frame + 10]
    one_pass = kind in (0xC0, 0xC1) and all_colours
    if pixels > (MOST_PIXELS_IN_ONE_PASS if one_pass else MOST_PIXELS_IN_PASSES):
        return True
    tables = [data[at:end] for code, at, end in segments if at < scan and code not in NOT_FOR_DECODING]
    return _decodes(b"\xff\xd8" + b"".join(tables) + data[scan : segments[-1][2]])


def _decodes(picture: bytes) -> bool:
    from PIL.JpegImagePlugin import JpegImageFile  # only here: it takes 6 MB, and many runs see no photo

    try:
        image = JpegImageFile(io.BytesIO(picture))
        image.draft("L", (1, 1))  # the least that the decoder offers: an eighth each way, brightness only
        image.load()
    except (OSError, SyntaxError, ValueError):
        return False
    return True


def _png(data: bytes) -> Seen:
    """Whole where all critical chunks fit their checksums and the last one stands; nothing is inflated."""
    view, at, has_picture, exif = memoryview(data), len(PNG_SIGNATURE), False, b""
    while (end := at + 12 + int.from_bytes(data[at : at + 4])) <= len(data):
        kind = data[at + 4 : at + 8]
        sound = zlib.crc32(view[at + 4 : end - 4]) == int.from_bytes(data[end - 4 : end])
        if not sound and not kind[0] & 0x20:  # a capital first letter: critical
            break
        if kind == b"IEND":
            return Seen("image/png", None if has_picture else "broken", exif)
        if kind == b"eXIf" and sound:
            exif = data[at + 8 : end - 4].removeprefix(b"Exif\0\0")
        has_picture = has_picture or kind == b"IDAT"
        at = end
    return Seen("image/png", "broken", exif)


def _heic(data: bytes, media_type: str) -> Seen:
    """Whole where the boxes of the items' tables and of their data stand complete; nothing is decoded."""
    boxes = {kind: (at, end) for kind, at, end in _boxes(data, 0, len(data))}
    if not {b"meta", b"mdat"} <= boxes.keys():
        return Seen(media_type, "broken")
    start, end = boxes[b"meta"]
    tables = {kind: data[at:end] for kind, at, end in _boxes(data, start + 4, end)}
    at, length = _extent(tables.get(b"iloc", b""), _exif_item(tables.get(b"iinf", b"")))
    return Seen(media_type, None, data[at : at + length][4 + int.from_bytes(data[at : at + 4]) :])


def _boxes(data: bytes, at: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """(kind, start, end) of each box's content, up to the first box that does not fit."""
    for _ in range(MOST_PARTS):
        size, head = int.from_bytes(data[at : at + 4]), 8
        if size == 1:  # the size stands in eight bytes after the kind
            size, head = int.from_bytes(data[at + 8 : at + 16]), 16
        elif size == 0:  # up to the end
            size = end - at
        if size < head or at + size > end:
            return
        yield data[at + 4 : at + 8], at + head, at + size
        at += size


def _exif_item(iinf: bytes) -> int:
    """Item number of the Exif; 0, which no item has, where there is none."""
    for kind, at, end in _boxes(iinf, 6 if iinf[:1] == b"\0" else 8, len(iinf)):
        wide = 2 if iinf[at : at + 1] == b"\2" else 4
        if kind == b"infe" and iinf[at + wide + 6 : end][:4] == b"Exif":
            return int.from_bytes(iinf[at + 4 : at + 4 + wide])
    return 0


def _extent(iloc: bytes, item: int) -> tuple[int, int]:
    """(offset, length) in the file of an item that lies there in one piece; (0, 0) where none does."""
    table = io.BytesIO(iloc)

    def number(size: int) -> int:
        return int.from_bytes(table.read(size))

    version, sizes = number(4) >> 24, number(2)
    offset_size, length_size, base_size = sizes >> 12, sizes >> 8 & 15, sizes >> 4 & 15
    index_size = sizes & 15 if version else 0
    wide = 4 if version == 2 else 2
    for _ in range(min(number(wide), MOST_PARTS)):
        found, is_in_file = number(wide), version == 0 or number(2) & 15 == 0
        number(2)  # which file it lies in: always this one
        base, pieces = number(base_size), number(2)
        if found == item and is_in_file and pieces == 1:
            number(index_size)
            return base + number(offset_size), number(length_size)
        table.seek(pieces * (index_size + offset_size + length_size), io.SEEK_CUR)
    return 0, 0
