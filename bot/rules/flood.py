"""How many texts an address may send before more of them are a flood. Common practice, no source.

A person's thumbs make a text in some seconds, a runaway phone or a machine many in one. What is over is
not kept: what is kept is bounded, and the rest of the line goes on.
"""

from __future__ import annotations

from enum import Enum

from ..model.times import DAY_US, HOUR_US, MINUTE_US

CREW_AN_HOUR = 1_000  # of one enrolled address
STRANGER_A_DAY = 100  # of one address that is nobody's
STRANGERS_A_DAY = 5_000  # of all of them together
CALL_AGAIN_US = 10 * MINUTE_US  # a call for help is heard so often in a flood too
LONGEST = 10_000  # characters of a text that are kept
READABLE = 4_096  # characters of a text that are worked on: the longest of a chat message


class Admission(Enum):
    """What becomes of one more text."""

    TAKEN = "taken"
    LAST = "last"  # the last one that is taken: it is said so
    OVER = "over"


class Flood:
    """Counts by address. Bounded: strangers over the day's sum are not even counted."""

    def __init__(self) -> None:
        self._crew: dict[str, tuple[int, int]] = {}
        self._spared: dict[str, int] = {}
        self._strangers: dict[str, int] = {}
        self._strangers_since_us = 0
        self._strangers_sum = 0

    def admit(self, address: str, known: bool, now_us: int) -> Admission:
        """One more text of this address, of somebody enrolled or not, at this instant."""
        return self._crew_text(address, now_us) if known else self._strangers_text(address, now_us)

    def spare(self, address: str, now_us: int) -> bool:
        """A call for help of somebody enrolled, though over: heard again after a while."""
        last = self._spared.get(address)
        if last is not None and 0 <= now_us - last < CALL_AGAIN_US:
            return False
        self._spared[address] = now_us
        return True

    def _crew_text(self, address: str, now_us: int) -> Admission:
        since_us, count = self._crew.get(address, (now_us, 0))
        if not 0 <= now_us - since_us < HOUR_US:
            since_us, count = now_us, 0
        self._crew[address] = (since_us, count + 1)
        return _of(count + 1, CREW_AN_HOUR)

    def _strangers_text(self, address: str, now_us: int) -> Admission:
        if not 0 <= now_us - self._strangers_since_us < DAY_US:
            self._strangers.clear()
            self._strangers_since_us, self._strangers_sum = now_us, 0
        if self._strangers_sum >= STRANGERS_A_DAY:
            return Admission.OVER
        count = self._strangers.get(address, 0) + 1
        self._strangers[address] = count
        admission = _of(count, STRANGER_A_DAY)
        if admission is not Admission.OVER:
            self._strangers_sum += 1
        return Admission.LAST if self._strangers_sum == STRANGERS_A_DAY else admission


def _of(count: int, most: int) -> Admission:
    if count < most:
        return Admission.TAKEN
    return Admission.LAST if count == most else Admission.OVER
