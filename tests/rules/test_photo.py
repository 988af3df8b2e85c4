"""What the camera wrote, as other programs write it, and how it differs from what was said.

References: `piexif` and Pillow write the Exif; Pillow and `pillow_heif` write the pictures around it.
"""

from __future__ import annotations

import hashlib
import io
import struct
import zlib
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import piexif
import pillow_heif
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bot.model.message import Attachment
from bot.rules.geodesy import distance_m
from bot.rules.photo import CameraInstants, Difference, NoInstant, camera_instants, describe, differences

LISBON = ZoneInfo("Europe/Lisbon")
TAKEN = {
    piexif.ExifIFD.DateTimeOriginal: b"2026:10:12 10:02:31",
    piexif.ExifIFD.OffsetTimeOriginal: b"+01:00",
}
HAVEN = {
    piexif.GPSIFD.GPSLatitudeRef: b"N",
    piexif.GPSIFD.GPSLatitude: ((47, 1), (16, 1), (5880, 100)),
    piexif.GPSIFD.GPSLongitudeRef: b"W",
    piexif.GPSIFD.GPSLongitude: ((19, 1), (570600, 10000), (0, 1)),
}


def written(camera: dict[int, Any] | None = None, gps: dict[int, Any] | None = None) -> bytes:
    main = {piexif.ImageIFD.Make: b"camera", piexif.ImageIFD.DateTime: b"2026:11:01 00:00:00"}
    small = io.BytesIO()
    Image.new("RGB", (160, 120)).save(small, "JPEG")
    made: bytes = piexif.dump(
        {"0th": main, "Exif": camera or {}, "GPS": gps or {}, "1st": {}, "thumbnail": small.getvalue()}
    )
    return made


def picture(kind: str = "JPEG", exif: bytes = b"", mode: str = "RGB", **how: Any) -> bytes:
    image, out = Image.radial_gradient("L").convert(mode), io.BytesIO()
    if kind == "HEIF":
        pillow_heif.from_pillow(image).save(out, exif=exif or None, quality=50)
    else:
        image.save(out, kind, exif=exif, **how)
    return out.getvalue()


def camera_facts(seen: Attachment) -> tuple[object, ...]:
    return seen.camera_time, seen.camera_offset, seen.camera_position


@pytest.mark.parametrize(
    ("kind", "media_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("HEIF", "image/heic")]
)
def test_a_photo_tells_its_cameras_time_offset_and_position(kind: str, media_type: str) -> None:
    data = picture(kind, written(TAKEN, HAVEN))
    seen = describe(data, "IMG_1.jpg")
    assert (seen.sha256, seen.size) == (hashlib.sha256(data).hexdigest(), len(data))
    assert (seen.media_type, seen.name, seen.problem) == (media_type, "IMG_1.jpg", None)
    # 47 16 58.80 N is 47.283; 19 57.06 W is 19.951 W.
    assert camera_facts(seen) == ("2026-10-12T10:02:31", "+01:00", (47.283, -19.951))


def test_little_endian_exif_as_pillow_writes_it_reads_the_same() -> None:
    exif = Image.Exif()
    exif.endian = "<"
    exif.get_ifd(0x8769).update({0x9003: "2026:10:12 10:02:31", 0x9011: "-03:30"})
    exif.get_ifd(0x8825).update({1: "S", 2: (47.0, 30.0, 0.0), 3: "E", 4: (179.0, 59.0, 59.99)})
    assert exif.tobytes()[6:8] == b"II"
    seen = describe(picture(exif=exif.tobytes()))
    assert (seen.camera_time, seen.camera_offset) == ("2026-10-12T10:02:31", "-03:30")
    assert seen.camera_position == pytest.approx((-47.5, 179.9999972), abs=1e-7)


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


@pytest.mark.parametrize("skipped", [6, 0])  # some writers leave the header of the JPEG segment on
def test_a_png_may_hold_its_exif_after_the_picture(skipped: int) -> None:
    # PNG, third edition, 5.6: eXIf stands anywhere before IEND and outside the run of IDAT.
    whole = picture("PNG")
    data = whole[:-12] + chunk(b"eXIf", written(TAKEN)[skipped:]) + whole[-12:]
    assert describe(data).camera_time == "2026-10-12T10:02:31"


def test_exif_of_no_known_byte_order_tells_nothing() -> None:
    assert camera_facts(describe(picture(exif=written(TAKEN, HAVEN).replace(b"MM", b"XX", 1)))) == (None,) * 3


def test_the_time_a_file_was_changed_is_not_the_time_it_was_taken() -> None:
    seen = describe(picture(exif=written()))  # only DateTime, which Exif 2.32 gives to the last change
    assert (camera_facts(seen), seen.problem) == ((None, None, None), None)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_a_photo_without_exif_is_whole_and_tells_nothing(kind: str) -> None:
    seen = describe(picture(kind))
    assert (camera_facts(seen), seen.problem) == ((None, None, None), None)


@pytest.mark.parametrize(
    "value",
    [
        b"0000:00:00 00:00:00",
        b"    :  :     :  :  ",  # Exif 2.32: unknown
        b"2026:02:30 10:00:00",
        b"0001:01:01 00:00:00",
        b"9999:12:31 23:59:59",
        b"2026:10:12 24:00:00",
        b"2026-10-12T10:02:31",
        b"2026:10:12",
        b"",
        b"\xff\xfe\x00rubbish",
        b"2026:10:12 10:02:31" * 4000,
    ],
)
def test_a_clock_that_was_never_set_or_is_rubbish_gives_no_time(value: bytes) -> None:
    seen = describe(picture("PNG", written({piexif.ExifIFD.DateTimeOriginal: value})))
    assert (seen.camera_time, seen.problem) == (None, None)


@pytest.mark.parametrize(
    ("value", "offset"),
    [
        (b"+0530", "+05:30"),
        (b"-12:00", "-12:00"),
        (b"+14:00", "+14:00"),
        (b"   :  ", None),
        (b"+25:00", None),
        (b"+01:60", None),
        (b"local", None),
    ],
)
def test_an_offset_is_hours_and_minutes_that_some_zone_could_have(value: bytes, offset: str | None) -> None:
    assert (
        describe(picture(exif=written({**TAKEN, piexif.ExifIFD.OffsetTimeOriginal: value}))).camera_offset
        == offset
    )


@pytest.mark.parametrize(
    "change",
    [
        {piexif.GPSIFD.GPSLatitude: ((91, 1), (0, 1), (0, 1))},
        {piexif.GPSIFD.GPSLatitude: ((47, 1), (60, 1), (0, 1))},
        {piexif.GPSIFD.GPSLatitude: ((47, 1), (0, 1), (60, 1))},
        {piexif.GPSIFD.GPSLatitude: ((47, 1), (16, 1), (0, 0))},
        {piexif.GPSIFD.GPSLatitude: ((47, 0), (16, 1), (0, 1))},
        {piexif.GPSIFD.GPSLatitude: ((47, 1), (16, 1))},
        {piexif.GPSIFD.GPSLongitude: ((180, 1), (0, 1), (1, 100))},
        {piexif.GPSIFD.GPSLatitudeRef: b"W"},
        {piexif.GPSIFD.GPSLatitudeRef: b"NS"},
        {piexif.GPSIFD.GPSLongitudeRef: b""},
        {piexif.GPSIFD.GPSStatus: b"V"},  # Exif 2.32: measurement interrupted
        {piexif.GPSIFD.GPSMapDatum: b"TOKYO"},
        {piexif.GPSIFD.GPSLatitude: ((0, 1),) * 3, piexif.GPSIFD.GPSLongitude: ((0, 1),) * 3},
    ],
)
def test_an_absurd_or_unsigned_position_is_none_and_the_photo_is_fine(change: dict[int, Any]) -> None:
    seen = describe(picture(exif=written(TAKEN, {**HAVEN, **change})))
    assert (seen.camera_position, seen.problem) == (None, None)
    assert seen.camera_time == "2026-10-12T10:02:31"


@pytest.mark.parametrize("missing", sorted(HAVEN))
def test_a_position_with_a_part_missing_is_none(missing: int) -> None:
    gps = {tag: value for tag, value in HAVEN.items() if tag != missing}
    assert describe(picture(exif=written(TAKEN, gps))).camera_position is None


def test_a_stated_wgs84_datum_and_an_active_receiver_leave_the_position() -> None:
    gps = {**HAVEN, piexif.GPSIFD.GPSMapDatum: b"WGS-84", piexif.GPSIFD.GPSStatus: b"A"}
    assert describe(picture(exif=written(TAKEN, gps))).camera_position == (47.283, -19.951)


@pytest.mark.parametrize(
    ("entry", "instead"),
    [
        (b"\x90\x03\x00\x02", b"\x90\x03\x00\x04"),  # the time as LONG
        (b"\x90\x03\x00\x02\x00\x00\x00\x14", b"\x90\x03\x00\x04\x00\x00\x00\x05"),
        (b"\x90\x03\x00\x02\x00\x00\x00\x14", b"\x90\x03\x00\x02\xff\xff\xff\xff"),  # four gigabytes of time
        (b"\x90\x03\x00\x02\x00\x00\x00\x14", b"\x90\x03\x00\x02\x00\x00\x00\x00"),
        (b"\x87\x69\x00\x04\x00\x00\x00\x01", b"\x87\x69\x00\x02\x00\x00\x00\x01"),  # the directory as text
        (b"\x87\x69\x00\x04\x00\x00\x00\x01", b"\x87\x69\x00\x04\x40\x00\x00\x01"),
    ],
)
def test_a_tag_of_the_wrong_type_or_size_is_left_out(entry: bytes, instead: bytes) -> None:
    exif = written(TAKEN, HAVEN)
    assert exif.count(entry) == 1
    seen = describe(picture(exif=exif.replace(entry, instead)))
    assert (seen.camera_time, seen.camera_position, seen.problem) == (None, (47.283, -19.951), None)


def test_exif_that_does_not_fit_its_checksum_is_not_believed() -> None:
    data = picture("PNG", written(TAKEN)).replace(b"2026:10:12 10:02:31", b"2026:10:13 10:02:31")
    assert (describe(data).camera_time, describe(data).problem) == (None, None)


@given(st.data())
@settings(max_examples=300, deadline=None)
def test_damaged_exif_leaves_the_photo_whole_and_its_facts_sane(draw: st.DataObject) -> None:
    exif = bytearray(written(TAKEN, HAVEN)[6:400])
    for _ in range(draw.draw(st.integers(1, 5))):
        exif[draw.draw(st.integers(0, len(exif) - 1))] = draw.draw(st.integers(0, 255))
    seen = describe(picture(exif=b"Exif\0\0" + exif))
    assert seen.problem is None
    if seen.camera_position is not None:
        assert abs(seen.camera_position[0]) <= 90
        assert abs(seen.camera_position[1]) <= 180
    camera_instants(seen, LISBON)


def photo(
    time: str | None, offset: str | None = None, place: tuple[float, float] | None = None
) -> Attachment:
    return Attachment(
        sha256="0" * 64, size=1, media_type="image/jpeg",
        camera_time=time, camera_offset=offset, camera_position=place,
    )  # fmt: skip


def us(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp()) * 1_000_000


def test_an_offset_in_the_file_gives_one_instant() -> None:
    found = camera_instants(photo("2026-10-12T10:02:31", "-03:30"), LISBON)
    assert found == CameraInstants(us=(us("2026-10-12T13:32:31"),), derived=False)


# Directive 2000/84/EC: clocks change at 01:00 UTC on the last Sundays of March and October; Lisbon keeps UTC
# in winter.
@pytest.mark.parametrize(
    ("local", "instants"),
    [
        ("2026-10-12T10:02:31", ["2026-10-12T09:02:31"]),
        ("2026-10-25T01:30:00", ["2026-10-25T00:30:00", "2026-10-25T01:30:00"]),
        ("2026-03-29T00:59:59", ["2026-03-29T00:59:59"]),
    ],
)
def test_without_an_offset_the_units_zone_gives_every_instant_it_can_be(
    local: str, instants: list[str]
) -> None:
    expected = CameraInstants(us=tuple(us(it) for it in instants), derived=True)
    assert camera_instants(photo(local), LISBON) == expected


def test_an_hour_that_the_zone_skips_is_no_instant() -> None:
    assert camera_instants(photo("2026-03-29T01:30:00"), LISBON) == NoInstant(reason="skipped_hour")


def test_without_a_camera_time_there_is_no_instant() -> None:
    assert camera_instants(photo(None, "+01:00"), LISBON) == NoInstant(reason="no_camera_time")


def differs(
    it: Attachment, event_us: int | None = None, position: tuple[float, float] | None = None
) -> tuple[Difference, ...]:
    return differences(
        it, event_us=event_us, position=position, zone=LISBON,
        limit_minutes=5, limit_m=200, distance_m=distance_m,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("said", "minutes"),
    [
        ("2026-10-12T09:07:00", None),
        ("2026-10-12T08:57:00", None),
        ("2026-10-12T09:08:30", -6.5),
        ("2026-10-12T08:02:00", 60.0),
    ],
)
def test_a_time_that_differs_over_the_limit_is_told_in_minutes_camera_minus_said(
    said: str, minutes: float | None
) -> None:
    expected = () if minutes is None else (Difference(kind="time", amount=minutes),)
    assert differs(photo("2026-10-12T10:02:00"), us(said)) == expected


def test_in_the_repeated_hour_the_nearer_instant_counts() -> None:
    taken = photo("2026-10-25T01:30:00")
    assert differs(taken, us("2026-10-25T00:31:00")) == differs(taken, us("2026-10-25T01:31:00")) == ()
    assert differs(taken, us("2026-10-25T01:40:00")) == (Difference(kind="time", amount=-10.0),)


def test_a_place_that_differs_over_the_limit_is_told_in_metres() -> None:
    # On the WGS84 ellipsoid a minute of latitude at 47.28 degrees is 1852.7 m long.
    (found,) = differs(photo(None, place=(47.28, -19.95)), position=(47.28 + 1 / 60, -19.95))
    assert (found.kind, found.amount) == ("place", pytest.approx(1852.7, abs=0.3))
    assert differs(photo(None, place=(47.28, -19.95)), position=(47.281, -19.95)) == ()


def test_what_nobody_stated_differs_from_nothing() -> None:
    assert differs(photo("2026-10-12T10:02:00", place=(47.28, -19.95))) == ()
    assert differs(photo(None), us("2026-10-12T10:02:00"), (0.0, 0.0)) == ()
