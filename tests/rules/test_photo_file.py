"""Photos cut, damaged and hostile.

References: Pillow and `pillow_heif` write the pictures; the formats' standards say what damage is.
"""

from __future__ import annotations

import hashlib
import io
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from typing import Any

import pillow_heif
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bot.rules.photo import describe

ROOT = Path(__file__).parents[2]


def taken() -> bytes:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:10:12 10:02:31"
    return exif.tobytes()


def picture(kind: str = "JPEG", exif: bytes = b"", mode: str = "RGB", **how: Any) -> bytes:
    image, out = Image.radial_gradient("L").convert(mode), io.BytesIO()
    if kind == "HEIF":
        pillow_heif.from_pillow(image).save(out, exif=exif or None, quality=50)
    else:
        image.save(out, kind, exif=exif, **how)
    return out.getvalue()


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_a_photo_cut_anywhere_is_broken(kind: str) -> None:
    data = picture(kind, taken())
    cuts = [*range(24, len(data) - 1, len(data) // 150), len(data) - 1]
    assert {describe(data[:cut]).problem for cut in cuts} == {"broken"}


@pytest.mark.parametrize("mode", ["RGB", "L", "CMYK"])
@pytest.mark.parametrize("progressive", [False, True])
def test_jpegs_of_every_common_make_are_whole_until_they_are_cut(mode: str, progressive: bool) -> None:
    data = picture(mode=mode, progressive=progressive, restart_marker_rows=4)
    assert describe(data).problem is None
    assert describe(data[: len(data) * 3 // 4]).problem == "broken"


def test_what_a_phone_appends_after_the_picture_does_no_harm() -> None:
    film = b"\0\0\0\x18ftypmp42" + bytes(range(256)) * 20
    assert describe(picture(exif=taken()) + film).problem is None
    assert describe(picture("HEIF") + film[:-300]).problem is None


def test_a_jpeg_whose_tables_make_no_sense_is_broken() -> None:
    data = picture()
    table = data.index(b"\xff\xc4") + 5
    assert describe(data[:table] + b"\xff" * 16 + data[table + 16 :]).problem == "broken"


@pytest.mark.parametrize(("kind", "problem"), [(b"IDAT", "broken"), (b"IHDR", "broken"), (b"eXIf", None)])
def test_a_png_breaks_by_a_critical_chunk_and_never_by_another(kind: bytes, problem: str | None) -> None:
    # PNG, third edition, 5.4: a capital first letter makes a chunk critical.
    data = bytearray(picture("PNG", taken()))
    data[data.index(kind) + 10] ^= 1
    assert describe(bytes(data)).problem == problem


def test_a_png_without_a_picture_is_broken() -> None:
    assert describe(b"\x89PNG\r\n\x1a\n" + chunk(b"IEND", b"")).problem == "broken"


def test_a_jpeg_that_ends_in_zeros_is_broken() -> None:
    data = picture()  # as a card leaves it that was pulled out too early
    assert describe(data[:-100] + bytes(100)).problem == "broken"


def test_a_jpeg_with_a_segment_shorter_than_its_own_length_is_broken() -> None:
    # T.81 B.1.1.4: the length counts its own two bytes.
    data = picture()
    assert describe(data[:2] + b"\xff\xfe\x00\x00" + data[2:]).problem == "broken"


def test_a_heic_may_give_the_size_of_its_data_as_the_rest_or_in_eight_bytes() -> None:
    # ISO/IEC 14496-12, 4.2: size 0 reaches to the end of the file, size 1 stands after the kind.
    data = picture("HEIF")
    at = data.index(b"mdat")
    rest, wide = bytes(4), struct.pack(">I4sQ", 1, b"mdat", len(data) - at + 12)
    assert describe(data[: at - 4] + rest + data[at:]).problem is None
    assert describe(data[: at - 4] + wide + data[at + 4 :]).problem is None
    assert describe(data[: at - 4] + wide + data[at + 4 : -1]).problem == "broken"


@pytest.mark.parametrize(
    ("data", "media_type"),
    [
        (b"", "application/octet-stream"),
        (b"03 spill sheen 1002", "application/octet-stream"),
        (b"%PDF-1.7\n", "application/pdf"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "application/octet-stream"),
    ],
)
def test_what_is_no_photo_is_called_so(data: bytes, media_type: str) -> None:
    assert (describe(data).media_type, describe(data).problem) == (media_type, "not_image")


def test_a_photo_of_108_megapixels_is_a_photo() -> None:
    out = io.BytesIO()
    Image.new("L", (12000, 9000), 90).save(out, "JPEG", exif=taken())
    with pytest.raises(Image.DecompressionBombWarning):  # what the library itself says of it
        Image.open(out)
    seen = describe(out.getvalue())
    assert (seen.problem, seen.camera_time) == (None, "2026-10-12T10:02:31")
    assert describe(out.getvalue()[:-200]).problem == "broken"


def with_size(jpeg: bytes, frame: bytes, size: int = 65500) -> bytes:
    at = jpeg.index(frame) + 5
    return jpeg[:at] + struct.pack(">HH", size, size) + jpeg[at + 4 :]


def heic_of_many_items(items: int, size: int) -> bytes:
    """A small HEIC that names `items` further Exif items, each of them all the `size` bytes at its end."""

    def box(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I4s", 8 + len(body), kind) + body

    plain = picture("HEIF")
    parts, at = {}, 0
    while at < len(plain):
        length, kind = struct.unpack_from(">I4s", plain, at)
        parts[kind] = plain[at + 8 : at + length]
        at += length
    inner, at = {}, 4
    while at < len(parts[b"meta"]):
        length, kind = struct.unpack_from(">I4s", parts[b"meta"], at)
        inner[kind] = parts[b"meta"][at + 8 : at + length]
        at += length
    ids = range(100, 100 + items)
    infe = [box(b"infe", struct.pack(">IHH4sx", 2 << 24, item, 0, b"Exif")) for item in ids]
    iinf = struct.pack(">IH", 0, 1 + items) + inner.pop(b"iinf")[6:] + b"".join(infe)
    iref = bytes(4) + b"".join(box(b"cdsc", struct.pack(">HHH", item, 1, 1)) for item in ids)
    inner.pop(b"iloc")
    rest = b"".join(box(kind, body) for kind, body in inner.items())

    def meta(start: int) -> bytes:
        lines = [(1, start, len(parts[b"mdat"])), *((item, start, size) for item in ids)]
        extents = b"".join(struct.pack(">HHHII", item, 0, 1, a, n) for item, a, n in lines)
        iloc = struct.pack(">IHH", 0, 0x4400, 1 + items) + extents
        return box(b"meta", bytes(4) + rest + box(b"iinf", iinf) + box(b"iloc", iloc) + box(b"iref", iref))

    head = box(b"ftyp", parts[b"ftyp"])
    return head + meta(len(head) + len(meta(0)) + 8) + box(b"mdat", parts[b"mdat"] + bytes(size))


def png_of_size(width: int, height: int) -> bytes:
    """A PNG whose header claims that size and whose data inflate to 200 MB."""
    zeros = zlib.compress(bytes(200_000_000), 9)
    header = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zeros) + chunk(b"IEND", b"")


def colours_apart() -> bytes:
    """A JPEG of one pass whose first scan holds one colour of three: all must be held till the end."""
    data = picture()
    scan = data.index(b"\xff\xda")
    return data[:scan] + b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" + data[scan + 14 :]


def exif_of_one_long_value(size: int) -> bytes:
    """TIFF whose camera directory is one time of `size` characters."""
    entries = struct.pack(">H HHII I H HHII I", 1, 0x8769, 4, 1, 26, 0, 1, 0x9003, 2, size, 44, 0)
    return b"MM\0*\0\0\0\x08" + entries + b"2" * size


BOMBS = {
    "a JPEG in one pass": lambda: with_size(picture(), b"\xff\xc0"),
    "a JPEG of colours apart": lambda: with_size(colours_apart(), b"\xff\xc0", 17_000),
    "a PNG of long Exif": lambda: picture("PNG").replace(
        chunk(b"IEND", b""), chunk(b"eXIf", exif_of_one_long_value(40_000_000)) + chunk(b"IEND", b"")
    ),
    "a JPEG in many passes": lambda: with_size(picture(progressive=True), b"\xff\xc2"),
    "a JPEG under the limit of one pass": lambda: with_size(picture(), b"\xff\xc0", 17_000),
    "a PNG": lambda: png_of_size(2**31 - 1, 2**31 - 1),
    "a HEIC": lambda: heic_of_many_items(200, 10_000_000),
}


@pytest.mark.parametrize("bomb", sorted(BOMBS))
def test_a_bomb_is_described_by_a_process_that_has_no_memory_for_it(bomb: str, tmp_path: Path) -> None:
    (tmp_path / "bomb").write_bytes(BOMBS[bomb]())
    program = (
        "import resource, sys; from pathlib import Path; from bot.rules.photo import describe\n"
        "data = Path(sys.argv[1]).read_bytes(); import PIL.JpegImagePlugin\n"
        "held = int(Path('/proc/self/statm').read_text().split()[0]) * resource.getpagesize()\n"
        "resource.setrlimit(resource.RLIMIT_AS, (held + 60_000_000,) * 2)\n"
        "print(describe(data).problem)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path / "bomb")],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.strip() == "None"  # each is complete by its markers, chunks or boxes


@pytest.mark.parametrize("bomb", ["a JPEG in one pass", "a JPEG in many passes", "a JPEG of colours apart"])
def test_a_jpeg_too_large_to_try_is_still_found_cut(bomb: str) -> None:
    assert describe(BOMBS[bomb]()[:-200]).problem == "broken"


def test_a_jpeg_of_endless_passes_is_not_decoded() -> None:
    data = picture(progressive=True)
    scan = data.rindex(b"\xff\xda")
    endless = data[:-2] + data[scan:-2] * 200 + data[-2:]
    assert describe(endless).problem == "broken"


def test_the_rule_costs_no_memory_until_a_photo_comes() -> None:
    program = (
        "import sys, bot.rules.photo; print([m for m in sys.modules if m.startswith(('PIL', 'pillow'))])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


WHOLE = {kind: picture(kind, taken()) for kind in ("JPEG", "PNG", "HEIF")}


@given(
    st.binary(max_size=3000),
    st.sampled_from([b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"\0\0\0\x14ftypheic"]),
)
def test_no_bytes_whatever_raise(data: bytes, head: bytes) -> None:
    seen = describe(head + data)
    assert seen.sha256 == hashlib.sha256(head + data).hexdigest()
    assert seen.problem in {None, "broken", "not_image"}


@given(st.sampled_from(sorted(WHOLE)), st.data())
@settings(max_examples=300, deadline=None)
def test_no_damage_to_a_photo_raises(kind: str, draw: st.DataObject) -> None:
    data = bytearray(WHOLE[kind])
    for _ in range(draw.draw(st.integers(1, 4))):
        at = draw.draw(st.integers(0, len(data) - 1))
        data[at : at + draw.draw(st.integers(0, 3))] = draw.draw(st.binary(max_size=4))
    assert describe(bytes(data)).size == len(data)
