"""A bare word for the ice that is left, from whoever was just asked for it by a forecast."""

from __future__ import annotations

from collections.abc import Iterator

from ..model.cold import Life
from ..model.entries import ForecastMade
from ..model.times import MINUTE_US
from ..rules.fields import plain
from .cooler_line import hear_cooler
from .readers.base import squeezed
from .turn import Turn

ANSWERED_WITHIN_US = 30 * MINUTE_US  # after it a word like "none" may be about anything


def hear_ice_left(turn: Turn, text: str) -> bool:
    """`plenty`, `some`, `none` after `how long M`: told of M, where no other question is open."""
    left = _left(turn, text) if turn.conversation.question is None else None
    if left is None:
        return False
    asked = max(_asked(turn), default=None)
    return asked is not None and hear_cooler(turn, f"cooler {asked[1]} ice {left}")


def _left(turn: Turn, text: str) -> str | None:
    """In any language that is spoken, as it is shown there."""
    if len(text.split()) > 2:
        return None  # "un peu" is the longest, and most texts are longer
    word = plain(squeezed(text))
    for spoken in turn.trade.languages.values():
        for left in ("plenty", "some", "none"):
            if word == plain(spoken.say(f"cooler.left.{left}")):
                return left
    return None


def _asked(turn: Turn) -> Iterator[tuple[int, str]]:
    """(when, cooler) of each forecast that asked them for the ice lately and was not answered since."""
    for name in sorted(turn.board.unit.coolers):
        life = turn.life(name)
        yield from ((made.made_us, name) for made in life.forecasts if _waits(turn, life, made))


def _waits(turn: Turn, life: Life, made: ForecastMade) -> bool:
    asks = made.asked_by == turn.person.name and made.off is None and "ice_left" in made.better
    lately = 0 <= turn.message.received_us - made.made_us < ANSWERED_WITHIN_US
    told = [(one.at_us, one.ice_left) for one in life.told]
    told += [(one.at_us, one.ice_left) for one in life.readings]
    return asks and lately and not any(left and at_us >= made.made_us for at_us, left in told)
