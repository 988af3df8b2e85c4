"""A drill's hand: its texts go out when they are due, and its score to the instructor at the end."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from storage import reading
from storage.work import Work

from .dialogue.turn import Trade
from .errands import Finish
from .model.case import Case
from .model.errand import Errand
from .model.errors import ErrandHopeless
from .model.message import Outgoing
from .model.people import Person, Unit
from .ports import Clock
from .reports.drill import score
from .rules.drills import REAL, Drill

TEXT, SCORE = "drill_text", "drill_score"


class Instructor:
    """Does a drill's errands. One in which real oil was found says no more: nobody is played with."""

    def __init__(self, trade_of: Callable[[Unit], Trade], drills: Mapping[str, Drill], clock: Clock) -> None:
        self._trade_of = trade_of
        self._drills = drills
        self._clock = clock

    async def text(self, errand: Errand) -> Finish:
        """A step's text, to whom it is for."""

        async def finish(work: Work) -> list[Outgoing]:
            case = str(errand.doc["case"])
            if is_over(work, case):
                return []
            return self._texts(work.snapshot.unit, errand, str(errand.doc["text"]))

        return finish

    async def score(self, errand: Errand) -> Finish:
        """The score, to the instructor."""

        async def finish(work: Work) -> list[Outgoing]:
            case = (await reading.cases(work.tx)).get(str(errand.doc["case"]))
            drill = self._drills.get(str(errand.doc["drill"]))
            if case is None or drill is None:
                raise ErrandHopeless("its case or its script is gone")
            said = await score_text(work, self._trade_of(work.snapshot.unit), drill, case)
            return self._texts(work.snapshot.unit, errand, said)

        return finish

    def _texts(self, unit: Unit, errand: Errand, text: str) -> list[Outgoing]:
        trade, names = self._trade_of(unit), errand.doc["people"]
        known = names if isinstance(names, list) else []
        people = [unit.people[str(name)] for name in known if name in unit.people]
        marked = f"{trade.words.say('exercise')} {text}"
        return [out for person in people for out in _to(person, marked, trade.channels, self._clock.now_us())]


def _to(person: Person, text: str, channels: frozenset[str], now_us: int) -> list[Outgoing]:
    """The text to the first of a person's addresses that this line reaches."""
    reached = [one for one in person.addresses if one.partition(":")[0] in channels]
    found = []
    for address in (reached or person.addresses)[:1]:
        channel, _, account = address.partition(":")
        found.append(
            Outgoing(channel=channel, account=account, person=person.name, text=text, queued_us=now_us)
        )
    return found


def is_over(work: Work, case: str) -> bool:
    """True where real oil was found in this drill."""
    return any(name.startswith(f"{case}{REAL}") for name in work.snapshot.case_names)


async def score_text(work: Work, trade: Trade, drill: Drill, case: Case) -> str:
    """The score as one text, a sentence a line."""
    kits = work.snapshot.unit.kits
    kit = next(kits[name] for name in case.kits if name in kits)
    samples = await reading.samples(work.tx, case.name)
    tables = (trade.table, trade.plan_table)
    lines = score(drill, case.name, samples, kit, *tables, trade.limits, trade.words.say)
    if is_over(work, case.name):
        lines.append(trade.words.say("drill.real_found"))
    return "\n".join(lines)
