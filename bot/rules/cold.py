"""The cold record: bands by inequality, grace while jars cool down, excursions as bounds, what is due.

Nothing is rounded into a band (40 CFR 136 table II, footnote on temperature: from memory). Readings are of
the check bottle; what lies between two readings is never made up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from ..model.cold import Life, Reading
from ..model.sample import Sample
from ..model.times import HOUR_US, MINUTE_US
from .limits import Limits

FREEZING, OK, AT_RISK, OVER, COOLING = "freezing", "ok", "at_risk", "over", "cooling"
# Matrices whose jar holds no water that ice could break: the rest counts as holding it, and so does what
# nobody stated. Common practice, no source.
DRY = frozenset(("swab", "unused", "feather", "soil", "vegetation", "ice"))


def holds_water(sample: Sample) -> bool:
    """True where ice in the jar could break it, as far as is told."""
    return (sample.text("matrix") or "") not in DRY


def band(celsius: float, limits: Limits, *, water: bool = True) -> str:
    """By inequality, nothing rounded: freezing, ok, at_risk, over. Without water nothing freezes."""
    if celsius <= limits.cold_freezing_c:
        return FREEZING if water else OK
    if celsius <= limits.cold_limit_c:
        return OK
    return AT_RISK if celsius <= limits.cold_over_c else OVER


def is_absurd(celsius: float, limits: Limits) -> bool:
    """True for what no check bottle reads."""
    return not limits.cold_absurd_low_c < celsius < limits.cold_absurd_high_c


def bands(life: Life, limits: Limits, water: Callable[[int], bool] = lambda at_us: True) -> tuple[str, ...]:
    """The band of each reading in turn; `water` says whether any jar in it then holds water.

    A warm one is `cooling` within the grace after the last warm jar came in, where ice was stated,
    unless the one before it, cooling too, was not higher.
    """
    found: list[str] = []
    for place, reading in enumerate(life.readings):
        plain = band(reading.celsius, limits)
        if plain == FREEZING and not water(reading.at_us):
            plain = OK
        before = life.readings[place - 1] if place else None
        if plain in (AT_RISK, OVER) and _in_grace(life, reading, limits):
            falls = before is None or found[-1] != COOLING or reading.celsius < before.celsius
            plain = COOLING if falls else plain
        found.append(plain)
    return tuple(found)


def _in_grace(life: Life, reading: Reading, limits: Limits) -> bool:
    came = max((s.from_us for s in life.stays if s.from_us <= reading.at_us), default=None)
    if came is None or reading.at_us - came > limits.cold_grace_hours * HOUR_US:
        return False
    return ice_stated(life, reading.at_us)


def ice_stated(life: Life, at_us: int) -> bool:
    """True where ice was told of by then and the last word on it was not "none"."""
    words: list[tuple[int, bool]] = [(r.at_us, r.ice_left != "none") for r in life.readings if r.ice_left]
    words += [(t.at_us, t.ice_left != "none") for t in life.told if t.ice_left]
    words += [(t.at_us, True) for t in life.told if t.ice_kg or t.ice_bags]
    said = [word for word in words if word[0] <= at_us]
    return max(said)[1] if said else False


@dataclass(frozen=True)
class Excursion:
    """An unbroken run of readings out of range. Bounds only: what lay between readings nobody saw.

    At least: from its first to its last such reading. At most: from the last good reading before to the
    first good one after; None where one of the two is missing. `peak_celsius` is the worst that was observed.
    """

    cooler: str
    sort: str
    peak_celsius: float
    first_out_us: int
    last_out_us: int
    last_good_before_us: int | None
    first_good_after_us: int | None
    samples: tuple[str, ...]
    readings: tuple[Reading, ...]

    @property
    def confirmed(self) -> bool:
        """A second thermometer was out of range too: said to be one, or named otherwise than the first."""
        named = {reading.thermometer for reading in self.readings if reading.thermometer}
        return len(self.readings) > 1 and (any(r.second for r in self.readings) or len(named) > 1)

    @property
    def at_least_us(self) -> int:
        """How long it lasted at the least."""
        return self.last_out_us - self.first_out_us

    @property
    def at_most_us(self) -> int | None:
        """How long it may have lasted, None where nothing bounds it."""
        if self.last_good_before_us is None or self.first_good_after_us is None:
            return None
        return self.first_good_after_us - self.last_good_before_us

    @property
    def open(self) -> bool:
        """No good reading followed yet."""
        return self.first_good_after_us is None


def excursions(
    life: Life, limits: Limits, water: Callable[[int], bool] = lambda at_us: True
) -> tuple[Excursion, ...]:
    """Every excursion of a cooler, in order; readings while jars cool down are neither good nor bad."""
    judged = [(r, b) for r, b in zip(life.readings, bands(life, limits, water), strict=True) if b != COOLING]
    found: list[Excursion] = []
    run: list[Reading] = []
    good_before: Reading | None = None
    for reading, judgement in judged:
        if run and _sort(run[0], limits) != _sort(reading, limits) and judgement != OK:
            found.append(_excursion(life, limits, run, good_before, reading))
            run = []
        if judgement != OK:
            run.append(reading)
            continue
        if run:
            found.append(_excursion(life, limits, run, good_before, reading))
            run = []
        good_before = reading
    if run:
        found.append(_excursion(life, limits, run, good_before, None))
    return tuple(found)


def _sort(reading: Reading, limits: Limits) -> str:
    return FREEZING if reading.celsius <= limits.cold_freezing_c else "warm"


def _excursion(
    life: Life, limits: Limits, run: list[Reading], before: Reading | None, after: Reading | None
) -> Excursion:
    sort = _sort(run[0], limits)
    worst = (min if sort == FREEZING else max)(reading.celsius for reading in run)
    since = run[0].at_us if before is None else before.at_us
    until = run[-1].at_us if after is None else after.at_us
    return Excursion(
        cooler=life.name,
        sort=sort,
        peak_celsius=worst,
        first_out_us=run[0].at_us,
        last_out_us=run[-1].at_us,
        last_good_before_us=None if before is None else before.at_us,
        first_good_after_us=None if after is None else after.at_us,
        samples=life.during(since, until),
        readings=tuple(run),
    )


@dataclass(frozen=True)
class Carried:
    """An excursion as one jar carries it: `peak_celsius` observed while it was in, None where none was."""

    excursion: Excursion
    peak_celsius: float | None


def carried(life: Life, found: Iterable[Excursion], sample: str) -> tuple[Carried, ...]:
    """The excursions of this cooler that a jar was in it for, or may have been."""
    carries = []
    for excursion in (one for one in found if sample in one.samples):
        seen = [r.celsius for r in excursion.readings if sample in life.inside(r.at_us)]
        worst = (min if excursion.sort == FREEZING else max)(seen, default=None)
        carries.append(Carried(excursion, worst))
    return tuple(carries)


def class_told(life: Life, set_up: str | None) -> str | None:
    """The class last told, else the one that it is set up with."""
    return next((t.cooler_class for t in reversed(life.told) if t.cooler_class), set_up)


def is_fridge(kind: str | None) -> bool:
    """True where a class names a refrigerator."""
    return kind is not None and kind.lower().startswith("fridge")


def next_reading_due_us(
    life: Life, limits: Limits, *, fridge: bool = False, judged: tuple[str, ...] = ()
) -> int | None:
    """When the next reading is due: 30 minutes on after one out of range until two in range, else 4 hours.

    `judged`: the bands of its readings, where its jars' matrices are known. Jars that cool down count as out.
    A fridge is read morning and evening. None where it was never read. Nights are for who watches:
    common practice, no source.
    """
    if not life.readings:
        return None
    last = life.readings[-1].at_us
    judged = judged or bands(life, limits)
    lately = [one for one in judged if one != COOLING][-2:]
    if all(one == OK for one in lately) and judged[-1] != COOLING:
        return last + int((limits.fridge_reading_hours if fridge else limits.cold_reading_hours) * HOUR_US)
    return last + int(limits.cold_reread_minutes * MINUTE_US)


def water_in(life: Life, samples: Mapping[str, Sample]) -> Callable[[int], bool]:
    """Whether any jar in the cooler at an instant holds water; an empty cooler counts as if."""

    def water(at_us: int) -> bool:
        inside = [samples[id_] for id_ in life.inside(at_us) if id_ in samples]
        return not inside or any(holds_water(sample) for sample in inside)

    return water


def gaps(readings: Iterable[Reading], limits: Limits) -> tuple[tuple[int, int], ...]:
    """Each (from, until) between two readings that lie further apart than a reading was due and missed."""
    longest = limits.cold_reading_hours * HOUR_US + limits.cold_missed_minutes * MINUTE_US
    return tuple((a.at_us, b.at_us) for a, b in pairwise(readings) if b.at_us - a.at_us > longest)
