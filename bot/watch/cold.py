"""A cooler as it stands: its life, the band of each reading, its excursions, the jars in it now."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.cold import Life, Reading, key_of
from ..model.due import COLD_WINDOW
from ..model.sample import Sample
from ..model.times import MINUTE_US
from ..rules.cold import Excursion, bands, excursions, water_in
from ..rules.numbers import ranges
from .scene import Scene

READING_OVERDUE = "reading_overdue"
WARM, FROZEN, WINDOW = "cooler_warm", "cooler_freezing", COLD_WINDOW


@dataclass(frozen=True)
class Cold:
    """A cooler as it stands: its life, the band of each reading, the jars in it now."""

    life: Life
    bands: tuple[str, ...]
    runs: tuple[Excursion, ...]
    jars: tuple[Sample, ...]

    @property
    def subject(self) -> str:
        """What its alerts are about."""
        return f"cooler {self.life.name}"

    @property
    def last(self) -> Reading:
        """The newest reading."""
        return self.life.readings[-1]

    @property
    def cases(self) -> tuple[str, ...]:
        """The cases of the jars in it."""
        return tuple(sorted({jar.case for jar in self.jars}))

    @property
    def numbers(self) -> tuple[str, ...]:
        """The numbers on the lids of the jars in it."""
        return tuple(sorted(jar.number for jar in self.jars))


def look(scene: Scene, cooler: str) -> Cold | None:
    """The cooler as it stands, None where it was never read."""
    cold = look_unread(scene, cooler)
    return cold if cold.life.readings else None


def look_unread(scene: Scene, cooler: str) -> Cold:
    """The cooler as it stands, whether it was ever read or not."""
    life = scene.life(cooler)
    inside = dict.fromkeys(life.inside(scene.now_us))
    frozen = (r for r in life.readings if r.celsius <= scene.limits.cold_freezing_c)
    held = dict.fromkeys(id_ for reading in frozen for id_ in life.inside(reading.at_us))
    known = {jar.id: jar for jar in scene.jars((*inside, *held))}
    jars = tuple(known[id_] for id_ in inside if is_still_in(known[id_], life.name))
    water = water_in(life, known)
    return Cold(life, bands(life, scene.limits, water), excursions(life, scene.limits, water), jars)


def is_still_in(jar: Sample, cooler: str) -> bool:
    """Not where it was struck, or was handed over into another place since."""
    place = None if jar.custody is None else jar.custody.place
    return jar.struck is None and (place is None or key_of(place).removeprefix("COOLER ") == key_of(cooler))


def struck_since(cold: Cold, since_us: int) -> str:
    """Makes a cause another one where readings since then were struck: what they ended may begin anew."""
    count = sum(1 for one in cold.life.corrected if not one.beside and one.at_us >= since_us)
    return f", {count} struck" if count else ""


def jars_text(scene: Scene, cold: Cold) -> str:
    """The jars in it by their numbers, each case with its own."""
    if not cold.jars:
        return scene.word("watch.no_jars")
    of_case = {case: ranges(j.number for j in cold.jars if j.case == case) for case in cold.cases}
    if len(of_case) == 1:
        key = "watch.jars.one" if len(cold.jars) == 1 else "watch.jars"
        return scene.word(key, numbers=scene.jars_said(*next(iter(of_case.items()))))
    return scene.word("watch.jars", numbers=", ".join(f"{case} {said}" for case, said in of_case.items()))


def minutes_text(scene: Scene, us: int) -> str:
    """Like 55 min or 5 h 02."""
    hours, minutes = divmod(us // MINUTE_US, 60)
    key = "watch.hours" if hours else "watch.minutes"
    return scene.word(key, hours=hours, minutes=f"{minutes:02}" if hours else minutes)


def exercise_in(scene: Scene, cold: Cold) -> bool:
    """True where all jars in it are of exercises."""
    cases = [scene.case(name) for name in cold.cases]
    return bool(cases) and all(case is not None and case.exercise for case in cases)
