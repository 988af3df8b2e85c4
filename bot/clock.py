"""The one reader of the clock and the one maker of ids and salts; and their virtual twins for replay."""

from __future__ import annotations

import hashlib
import secrets
import time


class SystemClock:
    """The machine's own time."""

    def now_us(self) -> int:
        """Microseconds since 1970-01-01 UTC."""
        return time.time_ns() // 1000


class VirtualClock:
    """A time that moves only when it is told to."""

    def __init__(self, now_us: int) -> None:
        self._now_us = now_us

    def now_us(self) -> int:
        """The time it was last told."""
        return self._now_us

    def move_to(self, now_us: int) -> None:
        """It is this time now; a step back is allowed, as on a real machine."""
        self._now_us = now_us


class SystemSecrets:
    """Randomness from the operating system."""

    def token(self, nbytes: int) -> str:
        """`nbytes` of fresh randomness as lower-case hex."""
        return secrets.token_hex(nbytes)


class SeededSecrets:
    """The same tokens in the same order for the same seed: for replay, never for a real line."""

    def __init__(self, seed: str) -> None:
        self._seed = seed
        self._count = 0

    def token(self, nbytes: int) -> str:
        """`nbytes` that follow from the seed and the count of calls, as lower-case hex."""
        self._count += 1
        return hashlib.shake_256(f"{self._seed}/{self._count}".encode()).hexdigest(nbytes)
