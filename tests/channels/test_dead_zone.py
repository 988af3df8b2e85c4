"""After a dead zone: everything on record, one text a person that names all their jars, no limit broken.

The limits are the Bot API's published ones: 30 texts a second, one a second to a chat.
"""

from __future__ import annotations

from pathlib import Path

from tests.channels.dead_zone import Told, over_sms, over_telegram

PHONES, EACH = 20, 5


def holds(told: Told) -> None:
    assert len(told.texts) == PHONES
    numbers = sorted(texts[0].partition("-")[0].rpartition(" ")[2] for texts in told.texts.values())
    assert len(set(numbers)) == PHONES
    for texts in told.texts.values():
        assert len(texts) == 1, texts
        assert texts[0].startswith("Came late, on record: A")
        phone = texts[0].partition(": ")[2].partition("-")[0]
        places = [texts[0].index(f"{phone}-{jar} (") for jar in range(1, EACH + 1)]
        assert places == sorted(places)


async def test_over_telegram(url: str, tmp_path: Path) -> None:
    told = await over_telegram(url, tmp_path, PHONES, EACH)
    holds(told)
    assert all(gap >= 0.99 for gap in told.gaps_s)


async def test_over_sms(url: str, tmp_path: Path) -> None:
    holds(await over_sms(url, tmp_path, PHONES, EACH))
