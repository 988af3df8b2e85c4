"""What people send in each life: a jar led by the hand, whole lines, a correction, a photo, an SOS.

Each batch is what two phones sent before the desk next looked.
"""

from __future__ import annotations

from typing import Any

from bot.model.message import Attachment, Incoming, SharedPosition
from bot.model.times import MINUTE_US, us_of_iso
from tests.talk import ADDRESSES

FIRST_US = us_of_iso("2026-10-12T08:01:00Z")
POSITION = {"position": SharedPosition(lat=47.283, lon=-19.951)}
PHOTO = Attachment(sha256="ab" * 32, size=1000, media_type="image/jpeg", camera_time="2026-10-12T09:05:00")


def _batches(*batches: tuple[tuple[str, str | dict[str, Any]], ...]) -> tuple[tuple[Incoming, ...], ...]:
    return tuple(
        tuple(
            Incoming(
                channel="sms",
                account=ADDRESSES[who].partition(":")[2],
                message_id=f"{place}-{nth}",
                received_us=FIRST_US + place * MINUTE_US,
                **({"text": said} if isinstance(said, str) else said),
            )
            for nth, (who, said) in enumerate(batch)
        )
        for place, batch in enumerate(batches)
    )


SCRIPT = _batches(
    (("R1", "jar"), ("R2", "02 spill thick 0859 47.2852N 19.9478W seal 5102")),
    (("R1", "mate, cleared"), ("R2", "02 seal is 5103 not 5102, misread"), ("R1", "yes")),
    (("R1", "01"), ("R2", "ok"), ("R1", "1")),
    (("R1", "1"), ("R2", "SOS")),
    (("R1", "shut 0904 pad"), ("R2", "03 sheen 0904 seal 5104"), ("R1", POSITION)),
    (("R1", "5101"), ("R1", {"attachments": (PHOTO,)})),
    (("R1", "M 4.4C 0905"), ("R2", "cooler M 4.6C at 0906")),
    (("R1", "gloves changed ok"), ("R2", "03 struck lid leaks")),
)
SHORT = (*SCRIPT[:2], SCRIPT[3], SCRIPT[4])
