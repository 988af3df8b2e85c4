"""A drill begins: its own case, its texts filed for when they are due; or is scored before its end."""

from __future__ import annotations

from dataclasses import dataclass

from storage.work import Store, Work

from .instructor import SCORE, TEXT, score_text
from .model.entries import CaseOpened, Draft
from .model.errand import Errand
from .model.errors import AskedWrongly
from .model.people import Kit, Person, Unit
from .model.times import MINUTE_US, iso_utc
from .ports import Clock
from .rules.drills import Drill, timed
from .trades import Trades, drills


@dataclass(frozen=True)
class Asked:
    """How a drill is wanted: whose phones (none: all who take jars), whose score, how fast."""

    crew: tuple[str, ...] = ()
    instructor: str | None = None
    kit: str | None = None
    cooler: str = "T"
    pace: float = 1.0


@dataclass(frozen=True)
class Begun:
    """What was begun: the case, who plays, how many texts will go out, when it ends."""

    case: str
    crew: tuple[str, ...]
    instructor: str
    texts: int
    ends_us: int


async def begin(store: Store, clock: Clock, name: str, asked: Asked) -> Begun:
    """The drill's case is open and its texts are filed. Raises AskedWrongly; then nothing was changed."""
    drill = _drill(name)
    now_us = clock.now_us()
    async with store.work() as work:
        unit = work.snapshot.unit
        kit = _kit(unit, asked.kit)
        crew, instructor = _people(unit, asked)
        case = _free_name(work)
        opened = CaseOpened(
            name=case,
            exercise=True,
            people=tuple(p.name for p in crew),
            kits=(kit.name,),
            opened=iso_utc(now_us),
        )
        draft = Draft(
            chain=case, body=opened, author="", channel="drill", said_us=now_us, received_us=now_us,
            event=opened.opened,
        )  # fmt: skip
        await work.change_unit([draft])
        errands = _errands(drill, case, kit, crew, instructor, asked, now_us)
        await work.ask(errands)
    return Begun(case, opened.people, instructor.name, len(errands) - 1, errands[-1].due_us)


def _drill(name: str) -> Drill:
    known = drills()
    if name not in known:
        raise AskedWrongly(f"There is no drill called {name}; there are: {', '.join(sorted(known))}.")
    return known[name]


def _kit(unit: Unit, name: str | None) -> Kit:
    """A training kit with numbers and seals of its own: a drill touches no real one."""
    training = [kit for _, kit in sorted(unit.kits.items()) if kit.training and kit.numbers and kit.seals]
    if not training:
        raise AskedWrongly(
            "There is no training kit; add one to the unit's file with training = true, numbers and seals."
        )
    named = [kit for kit in training if name in (None, kit.name)]
    if not named:
        names = ", ".join(kit.name for kit in training)
        raise AskedWrongly(f"{name} is no training kit; there are: {names}.")
    return named[0]


def _people(unit: Unit, asked: Asked) -> tuple[list[Person], Person]:
    reachable = {person.name: person for person in unit.people.values() if person.active and person.addresses}
    names = asked.crew or tuple(p.name for p in unit.reachable("responder"))
    for name in (*names, *((asked.instructor,) if asked.instructor else ())):
        if name not in reachable:
            known = ", ".join(sorted(reachable))
            raise AskedWrongly(f"{name} has no phone on this line; there are: {known}.")
    instructors = [reachable[asked.instructor]] if asked.instructor else list(unit.reachable("supervisor"))
    if not names or not instructors:
        raise AskedWrongly("A drill needs a crew and an instructor; name them with --crew and --instructor.")
    return [reachable[name] for name in names], instructors[0]


def _free_name(work: Work) -> str:
    place = 1
    while f"DRILL-{place}" in work.snapshot.case_names:
        place += 1
    return f"DRILL-{place}"


def _errands(
    drill: Drill, case: str, kit: Kit, crew: list[Person], instructor: Person, asked: Asked, now_us: int
) -> list[Errand]:
    low, high = kit.numbers or (0, 0)
    values = {
        "case": case,
        "title": drill.title,
        "minutes": f"{drill.minutes / asked.pace:g}",
        "crew": " ".join(person.name for person in crew),
        "kit": kit.name,
        "numbers": f"{low}-{high}",
        "seals": "-".join(kit.seals or ()),
        "cooler": asked.cooler,
    }
    names = {"crew": [person.name for person in crew], "instructor": [instructor.name]}
    found = [
        Errand(
            kind=TEXT,
            subject=f"{case}/{place}",
            due_us=due_us,
            doc={"case": case, "text": step.text, "people": names[step.to]},
        )
        for place, (due_us, step) in enumerate(timed(drill, now_us, asked.pace, values), 1)
    ]
    doc = {"case": case, "drill": drill.name, "people": names["instructor"]}
    ends_us = now_us + int(drill.minutes * MINUTE_US / asked.pace)
    return [*found, Errand(kind=SCORE, subject=case, due_us=ends_us, doc=doc)]


async def score_now(store: Store, name: str, case_name: str) -> str:
    """How a drill stands. Raises AskedWrongly for a case that is not a drill's."""
    from storage import reading

    drill = _drill(name)
    async with store.work() as work:
        case = (await reading.cases(work.tx)).get(case_name)
        if case is None or not case.exercise or not case.kits:
            raise AskedWrongly(f"{case_name} is no drill's case; coldjar show cases lists them.")
        return await score_text(work, Trades().of(work.snapshot.unit), drill, case)
