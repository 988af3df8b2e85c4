"""1,000 messages at once from 200 phones after a dead zone, over each channel; prints what is asked beside it."""

from __future__ import annotations

import asyncio
import shutil
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from tests.channels.dead_zone import Told, over_sms, over_telegram
from tests.conftest import migrate

PHONES, EACH = 200, 5


def one(name: str, over: Callable[[str, Path, int, int], Awaitable[Told]], asked_s: float) -> bool:
    folder = Path(tempfile.mkdtemp(prefix="coldjar-dead-zone-"))
    try:
        url = f"sqlite:///{folder / 'coldjar.db'}"
        migrate(url)
        began = time.process_time()
        told = asyncio.run(over(url, folder, PHONES, EACH))
        cpu_s = time.process_time() - began
    finally:
        shutil.rmtree(folder)
    most = max(len(texts) for texts in told.texts.values())
    print(f"{name}: on record {told.stored_s:.1f} s (asked 5), last text {told.sent_s:.1f} s (asked {asked_s:.0f}), "
          f"CPU with both ends {cpu_s:.1f} s, texts to {len(told.texts)} people, most to one {most} (asked 1), "
          f"31 texts within {min(told.gaps_s, default=0):.2f} s at least")
    return told.stored_s < 5 and told.sent_s < asked_s and most == 1


if __name__ == "__main__":
    well = [one("Telegram", over_telegram, 60), one("SMS", over_sms, 60)]
    sys.exit(0 if all(well) else 1)
