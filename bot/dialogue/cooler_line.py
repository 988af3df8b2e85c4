"""A cooler's line: what its check bottle reads, its ice, its place, its openings, in one text."""

from __future__ import annotations

import re

from ..model.cold import Life
from ..model.entries import UNIT_CHAIN, CoolerRead, CoolerTold
from ..rules.cold import OK, band, is_absurd
from .cold_says import reading_text, told_text
from .cold_when import When, when_of
from .cooler_corrections import hear_cooler_correction, hear_edited
from .forecast_asked import ask_forecast
from .readers.amounts import TemperatureTold, read_temperature
from .readers.cold_words import ColdWords, parted_reading, read_cold
from .turn import Turn
from .walk import ask, resume_walk

NOT_NAMES = frozenset(("reads", "is", "at", "was", "temp", "temperature", "reading", "ice", "opened"))
COOLER_WORDS = ("cooler", "fridge")
_ICE = re.compile(
    r"ice(?:\s+(?:left|is|still))*(?:\s+(?:in|of)\s+(?:the\s+)?(?:cooler\s+)?(?P<name>[A-Za-z][\w-]{0,19}))?\s*[:,]?\s+"
    r"(?P<left>plenty|lots|full|some|little|half|none|gone)\s*\.?",
    re.IGNORECASE,
)


def hear_cooler(turn: Turn, text: str) -> bool:
    """What the line says of a cooler is on the unit's chain, with the words it came in."""
    first, *words = text.split() or [""]
    if first.lower() not in COOLER_WORDS:
        return False
    if words and words[0].lower() in NOT_NAMES:
        words = words[1:] if words[0].lower() not in ("ice", "opened") else ["", *words]
    if words and words[0][:1] in "-+0123456789":
        words = ["", *words]
    words = [*parted_reading(words[0]), *words[1:]] if words else words
    told = read_cold(" ".join(words[1:]))
    if not words or not _says_something(told):
        return False
    if not words[0]:
        _which_cooler(turn, text, told)
        return True
    if turn.edited and hear_edited(turn, words[0], told):
        return True
    when = when_of(turn, told.time)
    if when is not None:
        _record(turn, turn.cooler_named(words[0]), told, when, text)
    return True


def hear_ice(turn: Turn, text: str) -> bool:
    """`ice left: plenty`, `ice in M some`: told of the cooler named, else of the only one there is."""
    match = _ICE.fullmatch(text.strip())
    if match is None:
        return False
    coolers = sorted(turn.board.unit.coolers)
    name = match["name"] or (coolers[0] if len(coolers) == 1 else None)
    if name is None:
        turn.say(turn.word("cooler.which"))
        return True
    return hear_cooler(turn, f"cooler {name} ice {match['left']}")


# "F", "fahrenheit", "46F", "M 46 F", and "M" where the cooler is asked for.
_UNIT_SAID = re.compile(
    r"(?:cooler\s+)?(?P<name>(?!(?:c|f|celsius|fahrenheit)\b)[a-z][\w-]{0,19})?\s*(?P<figure>[-+]?\d+(?:[.,]\d+)?)?"
    r"\s*(?:deg(?:rees)?\s*)?(?P<unit>celsius|fahrenheit|[cf])?\.?",
    re.IGNORECASE,
)


def _says_something(told: ColdWords) -> bool:
    return told.reading is not None or told.more or told.ice_unsaid or bool(told.asks)


def _which_cooler(turn: Turn, text: str, told: ColdWords) -> None:
    """A line without a cooler: its unit is asked first, then whose it is."""
    back = told.asks[0] if told.asks else None
    _ask_half(turn, text, turn.word(back.key, **back.values) if back else turn.word("cooler.which"))


def _ask_half(turn: Turn, about: str, text: str) -> None:
    """The other half is asked for; where a case is being opened or planned, that goes on instead."""
    if (turn.conversation.question or "").startswith(("case.", "plan.")):
        turn.say(text)
        return
    turn.note(about=about)
    ask(turn, "cooler_line", text)


def _record(turn: Turn, name: str, told: ColdWords, when: When, text: str) -> None:
    said: list[str] = []
    if told.more:
        body = _told_body(name, told, when, text)
        turn.write(UNIT_CHAIN, body, event=body.at)
        said.append(told_text(turn, body))
    if told.reading is not None:
        said.append(_note_reading(turn, name, told, when))
    if name not in turn.board.unit.coolers:
        said.append(turn.word("cooler.not_set_up", cooler=name))
    if told.left:
        said.append(turn.word("line.left", words=told.left[:60]))
    ask_forecast(turn, name)
    _answer(turn, name, told, said)


def _told_body(name: str, told: ColdWords, when: When, text: str) -> CoolerTold:
    return CoolerTold(
        cooler=name,
        at=when.iso,
        at_us=when.at_us,
        words=text,
        ice_kg=told.ice_kg,
        ice_bags=told.ice_bags,
        repacked=told.repacked,
        outside_celsius=told.outside_celsius,
        shade=told.shade,
        opened=told.opened,
        ice_left=told.ice_left,
        cooler_class=told.cooler_class,
        flammables=told.flammables,
    )


def _note_reading(turn: Turn, name: str, told: ColdWords, when: When) -> str:
    """The reading is on record, unless it is absurd or stands there already; what is answered."""
    reading = told.reading
    assert reading is not None  # noqa: S101 - the caller looked
    if is_absurd(reading.celsius, turn.trade.limits):
        return turn.word("cooler.absurd", value=told.reading_raw)
    life = turn.life(name)
    if _stands(turn, life, reading.celsius, when.at_us, told):
        return turn.word("cooler.again", cooler=name, value=told.reading_raw)
    body = CoolerRead(
        cooler=name,
        celsius=reading.celsius,
        raw=told.reading_raw,
        at=when.iso,
        at_us=when.at_us,
        unit_derived=reading.unit_derived,
        ice_left=told.ice_left,
        thermometer=told.thermometer,
        second=told.second,
    )
    turn.write(UNIT_CHAIN, body, event=body.at)
    return reading_text(turn, turn.life(name), body, when.value)


def _stands(turn: Turn, life: Life, celsius: float, at_us: int, told: ColdWords) -> bool:
    """The same person told the same reading of the same time before."""
    mine = (r for r in life.readings if r.by == turn.person.name and r.at_us == at_us)
    return told.time is not None and any(
        r.celsius == celsius and r.thermometer == told.thermometer for r in mine
    )


def _answer(turn: Turn, name: str, told: ColdWords, said: list[str]) -> None:
    """What is on record, and the one question that is left: a unit, a mass, or a second thermometer."""
    if told.asks and told.asks[0].key == "read.temperature.unit" and _absurd_either_way(turn, told):
        turn.say(" ".join((*said, turn.word("cooler.absurd", value=told.reading_raw))))
        return
    if told.asks:
        back = told.asks[0]
        about = f"cooler {name} {told.reading_raw}" + (f" at {told.time}" if told.time else "")
        said.append(turn.word(back.key, **back.values))
        _ask_half(turn, about, " ".join(said))
        return
    if _second_is_wanted(turn, told):
        turn.note(about=name)
        ask(turn, "cooler_reading", " ".join(said))
        return
    if told.ice_unsaid:
        said.append(turn.word("cooler.ice_mass", cooler=name))
    elif told.ice_bags is not None and told.ice_kg is None:
        said.append(turn.word("cooler.bag_mass", cooler=name))
    turn.say(" ".join(said))


def _absurd_either_way(turn: Turn, told: ColdWords) -> bool:
    """No check bottle reads this figure in C, nor in F: its unit is not worth a question."""
    limits = turn.trade.limits
    either = (read_temperature(f"{told.reading_raw} {unit}") for unit in ("C", "F"))
    fits = (isinstance(one, TemperatureTold) and not is_absurd(one.celsius, limits) for one in either)
    return bool(told.reading_raw) and not any(fits)


def _second_is_wanted(turn: Turn, told: ColdWords) -> bool:
    """A reading out of range was told and nothing else is open: the next bare figure is the second one."""
    if told.reading is None or told.second or turn.conversation.question is not None:
        return False
    if turn.conversation.walk is not None:
        return False  # the walk asks on, and a bare figure answers that
    celsius, limits = told.reading.celsius, turn.trade.limits
    return band(celsius, limits) != OK and not is_absurd(celsius, limits)


def with_unit(turn: Turn, text: str) -> bool:
    """The unit or the cooler that was asked for, joined to the reading it belongs to; the walk goes on."""
    first, *words = (turn.conversation.about or "").split() or [""]
    place = next((n for n, word in enumerate(words) if word[:1].isdigit() or word[:1] in "-+"), None)
    said = _UNIT_SAID.fullmatch(text.strip())
    if place is None or said is None or not (said["unit"] or said["name"]):
        return False
    named = [said["name"]] if said["name"] else words[:place]
    if said["name"] and turn.cooler_named(said["name"]) not in turn.board.unit.coolers:
        return False
    figure = f"{said['figure'] or words[place]}{(said['unit'] or '')[:1].upper()}"
    turn.note(question=None, about=None)
    whole = " ".join((first, *named, figure, *words[place + 1 :]))
    if not (hear_cooler_correction(turn, whole) or hear_cooler(turn, whole)):
        return False
    if turn.conversation.question is None:
        resume_walk(turn)
    return True


def hear_reading(turn: Turn, text: str) -> bool:
    """A bare figure, where a second thermometer was asked for."""
    name = turn.conversation.about
    told = read_cold(text)
    if name is None or not (told.reading or told.asks) or told.left:
        return False
    turn.note(question=None, about=None)
    return hear_cooler(turn, f"cooler {name} {text} second thermometer")
