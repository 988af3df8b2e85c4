"""A field's answer, read: facts, a question back, or nothing of that sort.

Each reader name of the sample table has one function here, on the words after the field's own word.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, TypeAlias

from ..model.base import JsonValue
from ..model.entries import FactTold
from ..model.message import Incoming
from ..rules.appearance import code_of
from ..rules.fields import Field, plain
from .keywords import CHANGED, NOT, UNUSED, WATER
from .readers.amounts import (
    FillTold,
    LengthTold,
    TemperatureTold,
    VolumeTold,
    WindTold,
    read_fill,
    read_length,
    read_temperature,
    read_volume,
    read_wind,
)
from .readers.base import UNREAD, Ask, Unread
from .readers.clock_forms import When, whens_in
from .readers.clock_time import TimeTold, looks_like_time, read_time
from .readers.cold_words import parted_reading
from .readers.position import PositionTold, read_position
from .readers.words import NumberTold, SealTold, YesNo, read_number, read_seal, read_yes_no
from .turn import Trade

CHANGED_OF_ALL = frozenset((*CHANGED, *map(plain, CHANGED)))
Facts: TypeAlias = tuple[FactTold, ...]
Reading: TypeAlias = Facts | Ask | Unread


class Source(NamedTuple):
    """What a reader knows besides the words."""

    trade: Trade
    message: Incoming


def read_field(field: Field, text: str, source: Source) -> Reading:
    """What these words say for this field."""
    return READERS[field.reader](field, text.strip(), source)


def _one(field: Field, value: JsonValue, raw: str) -> Facts:
    return (FactTold(field=field.id, value=value, raw=raw),)


def _choice(field: Field, text: str, source: Source) -> Reading:
    """A digit or a press stands for the words beside it; other words stand for themselves."""
    words = text.lower().rstrip(".!")
    for digit, choice in enumerate(source.trade.choices(field), 1):
        as_printed = f"{digit} {choice.label}".lower()
        if words in (str(digit), as_printed) or choice.id == source.message.press:
            return _with_also(field, choice.id, choice.label)
        if words in (choice.label.lower(), plain(choice.label.lower())):
            return _with_also(field, choice.id, text)
    for option in field.choices:
        if words == option.id or words in option.words:
            return _with_also(field, option.id, text)
    return UNREAD


def _with_also(field: Field, chosen: str, raw: str) -> Facts:
    """`Clean water` and "unused material" name the matrix too; no other words do."""
    facts = _one(field, chosen, raw)
    said = raw.lower()
    if field.id == "kind" and chosen == "background" and any(word in said for word in WATER):
        facts += (FactTold(field="matrix", value="water", raw=raw),)
    if field.id == "kind" and chosen == "material_blank" and any(word in said for word in UNUSED):
        facts += (FactTold(field="matrix", value="unused", raw=raw),)
    return facts


def read_clock(text: str, source: Source) -> TimeTold | Ask | Unread:
    """A time of day or date, against when the message was sent."""
    message = source.message
    limits = source.trade.limits
    return read_time(
        text,
        said_us=message.said_us,
        received_us=message.received_us,
        zone=source.trade.zone,
        back_hours=limits.time_late_hours,
        fresh_minutes=limits.now_fresh_minutes,
    )


def time_value(told: TimeTold) -> dict[str, JsonValue]:
    """How a time stands in an entry: the instant, the stated or derived offset, what marks it."""
    return {
        "at": told.iso,
        "at_us": told.at_us,
        "offset_minutes": told.offset_minutes,
        "offset_derived": told.offset_derived,
        "estimate": told.estimate,
    }


def _time(field: Field, text: str, source: Source) -> Reading:
    told = read_clock(text, source)
    return _one(field, time_value(told), told.raw) if isinstance(told, TimeTold) else told


def position_value(told: PositionTold) -> dict[str, JsonValue]:
    """How a typed position stands in an entry: WGS84 degrees."""
    return {"lat": told.lat, "lon": told.lon, "source": told.source}


def _position(field: Field, text: str, source: Source) -> Reading:
    if text.lower() in ("none", "no position", "no fix"):
        return _one(field, {"source": "none"}, text)
    told = read_position(text)
    return _one(field, position_value(told), told.raw) if isinstance(told, PositionTold) else told


def shared_position(message: Incoming) -> Facts:
    """The position that a device sent with this message, empty where it sent none."""
    shared = message.position
    if shared is None:
        return ()
    value: dict[str, JsonValue] = {
        "lat": round(shared.lat, 5),
        "lon": round(shared.lon, 5),
        "source": "shared",
    }
    if shared.accuracy_m is not None:
        value["accuracy_m"] = shared.accuracy_m
    raw = f"shared {shared.lat:.5f} {shared.lon:.5f}"
    return (FactTold(field="position", value=value, raw=raw),)


def _seal(field: Field, text: str, source: Source) -> Reading:
    told = read_seal(text)
    if not isinstance(told, SealTold):
        return told
    return _one(field, {"number": told.number, "tape": told.tape_initials}, told.raw)


def _fill(field: Field, text: str, source: Source) -> Reading:
    told = read_fill(text)
    return _one(field, {"percent": told.percent}, told.raw) if isinstance(told, FillTold) else told


def _yes_no(field: Field, text: str, source: Source) -> Reading:
    words = text.lower().strip(" .!")
    if words in ("changed", "new", "fresh", "done", "wiped"):
        return _one(field, "yes", text)
    if words in CHANGED_OF_ALL:
        return _one(field, "yes", text)
    if words.partition(" ")[0] in NOT and words.partition(" ")[2] in CHANGED_OF_ALL:
        return _one(field, "no", text)
    if words in ("not changed", "same", "old", "not wiped", "unchanged"):
        return _one(field, "no", text)
    told = read_yes_no(text)
    if told is YesNo.NOT_STATED or isinstance(told, Unread):
        return UNREAD
    return _one(field, "yes" if told is YesNo.YES else "no", text)


def _text(field: Field, text: str, source: Source) -> Reading:
    low, high = field.limits or (1, 400)
    if len(text) < low:
        return UNREAD
    if len(text) > high:
        return Ask("read.text.long", {"limit": f"{high:.0f}"})
    return _one(field, text, text)


def _appearance(field: Field, text: str, source: Source) -> Reading:
    """The observer's words, with the class of the appearance code where they name one."""
    read = _text(field, text, source)
    return _one(field, {"words": text, "code": code_of(text)}, text) if isinstance(read, tuple) else read


def _sample(field: Field, text: str, source: Source) -> Reading:
    told = read_number(text)
    return _one(field, told.number, text) if isinstance(told, NumberTold) else told


def _within(field: Field, value: float, raw: str, shown: str) -> Ask | None:
    if field.limits is None or field.limits[0] <= value <= field.limits[1]:
        return None
    low, high = field.limits
    return Ask("read.limits", {"raw": raw, "low": f"{low:g}", "high": f"{high:g}", "unit": shown})


def _temperature(field: Field, text: str, source: Source) -> Reading:
    told = read_temperature(text)
    if not isinstance(told, TemperatureTold):
        return told
    value: JsonValue = {"celsius": told.celsius, "unit_derived": told.unit_derived}
    return _within(field, told.celsius, told.raw, "C") or _one(field, value, told.raw)


def _length(field: Field, text: str, source: Source) -> Reading:
    told = read_length(text)
    if not isinstance(told, LengthTold):
        return told
    return _within(field, told.metres, told.raw, "m") or _one(field, {"metres": told.metres}, told.raw)


def _volume(field: Field, text: str, source: Source) -> Reading:
    told = read_volume(text)
    if not isinstance(told, VolumeTold):
        return told
    value: JsonValue = {"millilitres": told.millilitres}
    return _within(field, told.millilitres, told.raw, "mL") or _one(field, value, told.raw)


def _wind(field: Field, text: str, source: Source) -> Reading:
    told = read_wind(text)
    if not isinstance(told, WindTold):
        return told
    return _one(field, {"knots": told.knots, "from": told.direction}, told.raw)


_PHOTO_WORDS = frozenset(
    ("photo", "photos", "yes", "taken", "sent", "coming", "later", "and", "will", "follow")
)


def _photo(field: Field, text: str, source: Source) -> Reading:
    """Words can only announce photos ("photo", "2", "photos 3"); the files themselves come as files."""
    if not all(word.isdecimal() or word.strip(".,!") in _PHOTO_WORDS for word in text.lower().split()):
        return UNREAD
    count = next((word for word in text.split() if word.isdecimal()), "1")
    return _one(
        field, {"declared": int(count) if count.isdecimal() and int(count) < 20 else 1}, text or "photo"
    )


NO_COOLER = frozenset(("no", "none", "yes", "later", "not", "reads", "is", "in", "the", "it", "same"))


def _cooler(field: Field, text: str, source: Source) -> Reading:
    """`M 4.4C 1009`: which cooler, what its check bottle reads, when the jar went in."""
    tokens = text.split()
    if tokens and tokens[0].lower() in field.words:
        tokens = tokens[1:]
    if tokens and tokens[0][0] in "-+0123456789":
        return Ask("cooler.which", {"raw": text})
    tokens = [*parted_reading(tokens[0]), *tokens[1:]] if tokens else tokens
    if not tokens or not tokens[0][0].isalpha() or len(tokens[0]) > 20 or tokens[0].lower() in NO_COOLER:
        return UNREAD
    facts = _one(field, tokens[0], tokens[0])
    return _in_cooler(facts, field, " ".join(tokens[1:]), source)


def _in_cooler(facts: Facts, field: Field, after: str, source: Source) -> Reading:
    """The cooler, with what stands after its name: what its check bottle reads, and when."""
    begin, end, clear = next(iter(whens_in(after)), When(0, 0, True))
    if not clear:
        return Ask("read.time.unclear", {"raw": after[begin:end]})
    rest = f"{after[:begin]} {after[end:]}".split()
    times = [after[begin:end]] if end else [token for token in rest if looks_like_time(token)]
    said = (token for token in rest if token not in times)
    warm = " ".join(token for token in said if token.lower() not in ("at", "reads", "in"))
    if warm:
        told = read_temperature(warm)
        if not isinstance(told, TemperatureTold):
            return told
        reading: JsonValue = {"celsius": told.celsius, "unit_derived": told.unit_derived}
        facts += (FactTold(field="cooler_celsius", value=reading, raw=told.raw),)
    if times:
        when = read_clock(times[0], source)
        if not isinstance(when, TimeTold):
            return when
        facts += (FactTold(field="in_cold_at", value=time_value(when), raw=when.raw),)
    return facts


READERS: dict[str, Callable[[Field, str, Source], Reading]] = {
    "appearance": _appearance,
    "choice": _choice,
    "cooler": _cooler,
    "fill": _fill,
    "length": _length,
    "photo": _photo,
    "position": _position,
    "sample": _sample,
    "seal": _seal,
    "temperature": _temperature,
    "text": _text,
    "time": _time,
    "volume": _volume,
    "wind": _wind,
    "yes_no": _yes_no,
}
