"""The midnight entry of all heads, with the day's six words."""

from __future__ import annotations

from bot.model.entries import UNIT_CHAIN, Draft, HeadsSealed

from .ledger import canonical, sha256_of
from .six_words import six_words
from .work import Work


async def seal_heads(work: Work, day: str, at_us: int, now_us: int) -> None:
    """The unit's chain holds all chain heads with their counts as they stood, and the day's words."""
    heads = dict(sorted(work.snapshot.heads.items()))
    words = six_words(sha256_of(canonical({chain: list(head) for chain, head in heads.items()})))
    body = HeadsSealed(day=day, heads=heads, words=words)
    draft = Draft(chain=UNIT_CHAIN, body=body, author="", channel="", said_us=at_us, received_us=now_us)
    await work.append([draft])
