"""What a photo's own bytes say, and how the camera's clock and position differ from what was said.

Source: Exif 2.32 (CIPA DC-008-2019): a camera's time is local, and only some cameras write its offset.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from typing import Literal

from ..model.base import Frozen
from ..model.message import Attachment
from .photo_exif import Place, camera_facts
from .photo_file import look


class CameraInstants(Frozen):
    """When the camera says it was, in microseconds UTC; two instants in an hour that the clocks repeat.

    `derived` says that the offset is the unit's zone's, not the file's.
    """

    us: tuple[int, ...]
    derived: bool


class NoInstant(Frozen):
    """Why the camera's clock gives no instant: the file has no time, or the zone skips that hour."""

    reason: Literal["no_camera_time", "skipped_hour"]


class Difference(Frozen):
    """The camera and the human disagree, by signed minutes (camera minus said) or by metres."""

    kind: Literal["time", "place"]
    amount: float


def describe(data: bytes, name: str | None = None) -> Attachment:
    """Tell the file's hash, size and media type by content, and what its camera wrote.

    Raises nothing, whatever the bytes hold: a cut or undecodable photo is "broken", what is no JPEG,
    PNG or HEIC is "not_image"; a camera fact that is malformed, absurd or absent is None.
    """
    seen = look(data)
    camera = camera_facts(seen.exif)
    return Attachment(
        sha256=hashlib.sha256(data).hexdigest(),
        size=len(data),
        media_type=seen.media_type,
        name=name,
        camera_time=camera.time,
        camera_offset=camera.offset,
        camera_position=camera.position,
        problem=seen.problem,
    )


def camera_instants(attachment: Attachment, zone: tzinfo) -> CameraInstants | NoInstant:
    """Give the instant by the file's own offset, else those at which the unit's zone shows its local time."""
    if attachment.camera_time is None:
        return NoInstant(reason="no_camera_time")
    if attachment.camera_offset is not None:
        stated = datetime.fromisoformat(attachment.camera_time + attachment.camera_offset)
        return CameraInstants(us=(round(stated.timestamp()) * 1_000_000,), derived=False)
    local = datetime.fromisoformat(attachment.camera_time)
    both = {local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)}
    # An hour that the clocks skip does not come back from UTC as it went in.
    real = [it for it in sorted(both) if it.astimezone(zone).replace(tzinfo=None) == local]
    if not real:
        return NoInstant(reason="skipped_hour")
    return CameraInstants(us=tuple(round(it.timestamp()) * 1_000_000 for it in real), derived=True)


def differences(
    attachment: Attachment,
    *,
    event_us: int | None,
    position: Place | None,
    zone: tzinfo,
    limit_minutes: float,
    limit_m: float,
    distance_m: Callable[[Place, Place], float],
) -> tuple[Difference, ...]:
    """Tell by how much the camera differs from what was said, where that is over a limit; never who is right.

    `event_us` is the stated instant, `position` the stated place, None where nothing was stated: what a
    side does not state differs from nothing. In an hour that the clocks repeat the nearer instant counts.
    `distance_m` gives the metres between two places.
    """
    found = []
    camera = camera_instants(attachment, zone)
    if event_us is not None and isinstance(camera, CameraInstants):
        minutes = min(((us - event_us) / 60e6 for us in camera.us), key=abs)
        if abs(minutes) > limit_minutes:
            found.append(Difference(kind="time", amount=minutes))
    if position is not None and attachment.camera_position is not None:
        metres = distance_m(position, attachment.camera_position)
        if metres > limit_m:
            found.append(Difference(kind="place", amount=metres))
    return tuple(found)
