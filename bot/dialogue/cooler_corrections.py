"""A cooler's reading corrected: `cooler M 4.2 not 42, misread`, `strike cooler M 42, read N`, WRONG."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..model.cold import Life, Reading, key_of
from ..model.entries import UNIT_CHAIN, CoolerCorrected, CoolerTold
from ..model.times import MINUTE_US
from ..rules.cold import OK, band, is_absurd
from .cold_says import reading_text
from .cold_struck import OF_COOLER, explain_cooler, figure, owed, read_anew, said_of, strike, strike_told
from .cold_when import When, when_of
from .corrections import reason
from .read_back import as_typed
from .readers.amounts import TemperatureTold
from .readers.cold_words import ColdWords, read_cold
from .record import correct, fact
from .turn import Turn
from .walk import ask

_FIGURE = (
    r"(?:minus\s+)?[-+]?\d+(?:[.,:h]\d+)?\s*(?:(?:°|deg(?:rees?)?)?\s*[CF]\b|(?:kgs?|kilos?|lbs?|bags?)\b"
    r"(?:\s+(?:of\s+)?ice\b)?)?"
)
_NAME = r"(?:cooler|fridge)\s+(?P<name>[A-Za-z][\w-]{0,19})"
_WHY = r"\s*[,;:]?\s*(?P<why>.*)"
_NOT = re.compile(rf"{_NAME}\s+(?P<new>.+?)\s*,?\s+not\s+(?P<old>{_FIGURE})(?!\w){_WHY}", re.IGNORECASE)
_STRIKE = re.compile(rf"strike\s+{_NAME}(?:\s+(?P<old>{_FIGURE})(?!\w))?{_WHY}", re.IGNORECASE)
_STRUCK = re.compile(rf"{_NAME}(?:\s+(?P<old>{_FIGURE}))?\s+struck(?:\s+off)?\b{_WHY}", re.IGNORECASE)
_PARTS = re.compile(
    r"(?P<minus>minus\s+|-)?\+?(?P<n>\d+(?:[.,]\d+)?)\s*(?:°|deg(?:rees?)?)?\s*(?P<unit>[cf])?\b"
)
WRONG_WITHIN_US = 10 * MINUTE_US


@dataclass(frozen=True)
class _Meant:
    """What of a cooler a correction is about: `cooler` as it is set up, its life, the words for the old."""

    cooler: str
    life: Life
    old: str
    why: str | None


def hear_cooler_correction(turn: Turn, text: str) -> bool:
    """The old value stands struck in place, the new one after it; only who told it strikes it."""
    if text[:6].lower() not in ("cooler", "fridge", "strike"):
        return False
    match = _NOT.fullmatch(text.strip())
    if match is not None:
        return _replace(turn, match)
    match = _STRIKE.fullmatch(text.strip()) or _STRUCK.fullmatch(text.strip())
    if match is None:
        return False
    meant = _meant(turn, match)
    found = _of(turn, meant, None)
    if found is not None:
        _take_back(turn, meant, found, meant.why or "none given")
    return True


def _meant(turn: Turn, match: re.Match[str]) -> _Meant:
    name = turn.cooler_named(match["name"])
    return _Meant(name, turn.life(name), (match["old"] or "").strip(), reason(match["why"]))


def _replace(turn: Turn, match: re.Match[str]) -> bool:
    told = read_cold(match["new"])
    if told.left or not (told.reading or told.asks or told.time or told.ice_kg or told.ice_bags):
        return False
    meant = _meant(turn, match)
    if told.ice_kg is not None or told.ice_bags is not None:
        _replace_ice(turn, meant, told)
    elif told.asks:
        turn.note(about=match.string.strip())
        ask(turn, "cooler_line", turn.word(told.asks[0].key, **told.asks[0].values))
    elif told.reading is None:
        _replace_time(turn, meant, told)
    else:
        old = _of(turn, meant, told.time)
        if old is not None:
            _read_instead(turn, meant, old, told)
    return True


def hear_edited(turn: Turn, cooler: str, told: ColdWords) -> bool:
    """An edited text that gives a reading corrects what its author last told of that cooler."""
    name = turn.cooler_named(cooler)
    life = turn.life(name)
    mine = [r for r in life.readings if r.by == turn.person.name]
    if told.reading is None or not mine or told.more:
        return False
    last = max(mine, key=lambda reading: reading.received_us)
    _read_instead(turn, _Meant(name, life, last.raw, None), last, told)
    return True


# --- which one is meant -------------------------------------------------------------------------------


def _of(turn: Turn, meant: _Meant, time: str | None) -> Reading | None:
    """Their last reading of these words, and of that time where it is stated; None: it was said why not."""
    fits = [r for r in meant.life.readings if not meant.old or _same(meant.old, r.raw)]
    fits = [r for r in fits if time is None or _digits(r.at[11:16]) == _digits(time)]
    mine = [r for r in fits if r.by == turn.person.name]
    if mine:
        return max(mine, key=lambda reading: reading.received_us)
    if fits:
        _beside(turn, meant, fits[-1])
    elif not _explained(turn, meant):
        _say_not_told(turn, meant)
    return None


def _say_not_told(turn: Turn, meant: _Meant) -> None:
    mine = [r for r in meant.life.readings if r.by == turn.person.name]
    if not mine:
        turn.say(turn.word("cooler.none_told", cooler=meant.cooler))
        return
    turn.say(turn.word("cooler.not_told", cooler=meant.cooler, old=meant.old, last=as_typed(mine[-1].raw)))


def _same(said: str, raw: str) -> bool:
    one, other = _parts(said), _parts(raw)
    return one is not None and other is not None and one[0] == other[0] and (not one[1] or one[1] == other[1])


def _parts(words: str) -> tuple[float, str] | None:
    found = _PARTS.search(words.lower())
    if found is None:
        return None
    figure = float(found["n"].replace(",", "."))
    return -figure if found["minus"] else figure, found["unit"] or ""


def _digits(clock: str) -> str:
    return "".join(letter for letter in clock if letter.isdigit()).zfill(4)


def _beside(turn: Turn, meant: _Meant, other: Reading) -> None:
    """What another says of a reading stands beside it as theirs, and strikes nothing."""
    body = CoolerCorrected(
        cooler=meant.cooler,
        of=other.id,
        at=other.at,
        at_us=other.at_us,
        old=other.raw,
        new=turn.text,
        why=meant.why,
        beside=True,
    )
    turn.write(UNIT_CHAIN, body)
    shown = {"cooler": meant.cooler, "old": as_typed(other.raw), "person": other.by}
    turn.say(turn.word("cooler.beside", **shown))


def _explained(turn: Turn, meant: _Meant) -> bool:
    """It was struck already and only its reason was owed: sent again with the reason, it has it."""
    waits = owed(turn, meant.life)
    if meant.why is None or waits is None or not _same(meant.old, waits.old):
        return False
    explain_cooler(turn, meant.cooler, meant.why)
    turn.say(said_of(turn, meant.cooler, waits.old, waits.new, meant.why))
    return True


# --- what stands instead ------------------------------------------------------------------------------


def _read_instead(turn: Turn, meant: _Meant, old: Reading, told: ColdWords) -> None:
    reading, limits = told.reading, turn.trade.limits
    if reading is None or is_absurd(reading.celsius, limits):
        turn.say(turn.word("cooler.absurd", value=told.reading_raw))
        return
    if old.for_sample is not None:
        _correct_jar(turn, old, reading, told.reading_raw, meant.why)
    else:
        read = {"celsius": reading.celsius, "raw": told.reading_raw, "unit_derived": reading.unit_derived}
        more = {"ice_left": told.ice_left or old.ice_left, "thermometer": told.thermometer or old.thermometer}
        strike(turn, meant.cooler, old, read_anew(old, meant.cooler, **read, **more), meant.why)
    extra = ""
    if band(reading.celsius, limits) != OK:
        life = turn.life(meant.cooler)
        anew = next(r for r in life.readings if r.at_us == old.at_us and r.raw == told.reading_raw)
        extra = reading_text(turn, life, read_anew(anew, meant.cooler), None)
    _answer(turn, meant, old.raw, told.reading_raw, extra)


def _correct_jar(turn: Turn, old: Reading, reading: TemperatureTold, raw: str, why: str | None) -> None:
    """It was told with a jar: the jar's own field is corrected, and the cooler's reading follows it."""
    value = {"celsius": reading.celsius, "unit_derived": reading.unit_derived}
    sample = turn.sample(old.for_sample or "")
    correct(turn, sample, fact("cooler_celsius", dict(value), raw), why)


def _replace_time(turn: Turn, meant: _Meant, told: ColdWords) -> None:
    """`cooler M at 0302 not 0203`: their reading of the old time was read at the new one."""
    mine = [r for r in meant.life.readings if r.by == turn.person.name]
    old = next((r for r in reversed(mine) if _digits(r.at[11:16]) == _digits(meant.old)), None)
    if old is None:
        _say_not_told(turn, meant)
        return
    when: When | None = when_of(turn, told.time)
    if when is not None:
        new = f"{when.iso[11:16]} {old.raw}"
        anew = read_anew(old, meant.cooler, at=when.iso, at_us=when.at_us)
        strike(turn, meant.cooler, old, anew, meant.why, said=new)
        _answer(turn, meant, f"{old.at[11:16]} {old.raw}", new, "")


def _replace_ice(turn: Turn, meant: _Meant, told: ColdWords) -> None:
    """`cooler M 5 kg ice not 50 kg`: the rest of what was told with it stands."""
    told_of = _parts(meant.old)
    pairs = zip(meant.life.told, meant.life.tellers, strict=True)
    mine = [(of, one) for one, (of, by) in pairs if by == turn.person.name]
    kept = [(of, one) for of, one in mine if told_of is not None and told_of[0] in (one.ice_kg, one.ice_bags)]
    if not kept:
        last = mine[-1][1].words if mine else turn.word("status.none")
        turn.say(turn.word("cooler.not_told", cooler=meant.cooler, old=meant.old, last=last[:40]))
        return
    of, old = kept[-1]
    new: CoolerTold = old.model_copy(
        update={"ice_kg": told.ice_kg, "ice_bags": told.ice_bags, "words": turn.text}
    )
    strike_told(turn, of, old, new, meant.why, _ice(turn, told))
    _answer(turn, meant, old.words, _ice(turn, told), "")


def _ice(turn: Turn, told: ColdWords) -> str:
    if told.ice_kg is not None:
        return turn.word("cooler.part.kg", kg=f"{told.ice_kg:g}")
    return turn.word("cooler.part.bags", bags=f"{told.ice_bags:g}")


def _take_back(turn: Turn, meant: _Meant, old: Reading, why: str) -> None:
    """Nothing stands instead; one told with a jar takes a value in its place, since the jar says it too."""
    if old.for_sample is not None:
        number = turn.sample(old.for_sample).number
        turn.say(turn.word("cooler.of_jar", cooler=meant.cooler, old=as_typed(old.raw), number=number))
        return
    strike(turn, meant.cooler, old, None, why)
    turn.say(turn.word("cooler.struck", cooler=meant.cooler, old=as_typed(old.raw), why=why))


def take_back_reading(turn: Turn) -> bool:
    """WRONG right after a cooler's reading strikes it; False where a jar was told of since."""
    names = sorted(turn.board.unit.coolers)
    turn.need(("lately", key_of(name)) for name in names)
    since_us = turn.message.received_us - WRONG_WITHIN_US
    told = [
        (row[3]["received_us"], name, row[0])
        for name in names
        for row in turn.board.last_readings(name)
        if row[3]["by"] == turn.person.name and row[3]["received_us"] >= since_us
    ]
    if not told or max(told)[0] <= _jar_told_us(turn):
        return False
    _, name, id_ = max(told)
    life = turn.life(name)
    old = next((r for r in life.readings if r.id == id_ and r.for_sample is None), None)
    if old is None:
        return False
    why = turn.word("cooler.wrong")
    _take_back(turn, _Meant(name, life, old.raw, why), old, why)
    turn.note(**({"question": None, "about": None} if turn.conversation.question == "cooler_reading" else {}))
    return True


def _jar_told_us(turn: Turn) -> int:
    """When anything of the jar being talked of was last said, 0 where none is."""
    if turn.conversation.sample is None:
        return 0
    sample = turn.sample(turn.conversation.sample)
    return max((fact.said_us for fact in sample.facts.values()), default=sample.received_us)


def _answer(turn: Turn, meant: _Meant, old: str, new: str, extra: str) -> None:
    """What stands now; its reason is asked for where none was given and nothing else is open."""
    if meant.why is not None:
        turn.say(" ".join(filter(None, (said_of(turn, meant.cooler, old, new, meant.why), extra))))
        return
    shown = {"cooler": meant.cooler, "old": figure(old), "new": figure(new)}
    if turn.conversation.question in (None, "cooler_reading", "cooler_line"):
        turn.note(about=f"{OF_COOLER}{meant.cooler}")
        ask(turn, "why", " ".join(filter(None, (turn.word("cooler.corrected.why", **shown), extra))))
    else:  # another question is open, and words would answer that
        turn.say(" ".join(filter(None, (turn.word("cooler.corrected.why_later", **shown), extra))))
