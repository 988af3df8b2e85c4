"""What the watch sees and what follows from it, kept apart until all of it is thought."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from ..model.alert import Alert, alert_of, fold_alert
from ..model.board import ALERTS_UNDER, Board, Missing
from ..model.case import Case
from ..model.cold import Life, key_of, life_of, rows_of, standing
from ..model.due import Due
from ..model.entries import UNIT_CHAIN, AlertRaised, Body, Draft, Reminded
from ..model.keys import Key
from ..model.message import AlertMark, Outgoing
from ..model.people import Unit
from ..model.sample import Sample
from ..rules.alerts import Rungs
from ..rules.escaped import escaped
from ..rules.holding import HoldingTable
from ..rules.limits import Limits
from ..rules.plan import PlanTable
from ..rules.which_jar import could_mean_either, naming_cases
from .words import clock_text


@dataclass(frozen=True)
class Tell:
    """One text to one person, sent unasked; `before` is the word that an exercise begins with."""

    person: str
    text: str
    mark: AlertMark | None = None
    asks: str | None = None
    before: str = ""


@dataclass
class Watched:
    """What follows: nothing of it is stored yet."""

    drafts: list[Draft] = field(default_factory=list)
    tells: list[Tell] = field(default_factory=list)
    due: list[Due] = field(default_factory=list)
    alerts: dict[str, Alert] = field(default_factory=dict)


class Scene:
    """One moment of watching. Lookups may raise Missing: the hand reads and asks again."""

    def __init__(
        self,
        board: Board,
        word: Callable[..., str],
        limits: Limits,
        zone: ZoneInfo,
        now_us: int,
        holding: HoldingTable | None = None,
        plan: PlanTable | None = None,
    ) -> None:
        self.word = word
        self.limits = limits
        self.zone = zone
        self.now_us = now_us
        self.holding = holding
        self.plan = plan
        self.steps: Rungs | None = None  # worked out once by whoever has many scenes of one unit
        self.result = Watched()
        self._board = board
        self.unit = board.unit
        self._heard = 0
        self._drafts: tuple[Draft, ...] = ()
        self._samples: Mapping[str, Sample] = {}
        self._cases: Mapping[str, Case] = {}

    def after(
        self, heard: Iterable[Draft], unit: Unit, samples: Mapping[str, Sample], cases: Mapping[str, Case]
    ) -> None:
        """The watch's own entries come after these of the turn, which left unit, samples and cases so."""
        self._drafts = tuple(heard)
        self._heard = sum(1 for draft in self._drafts if draft.chain == UNIT_CHAIN)
        self.unit, self._samples, self._cases = unit, samples, cases

    # --- reading ------------------------------------------------------------------------------

    def case(self, name: str) -> Case | None:
        """An open case as it stands."""
        return self._cases.get(name) or self._board.cases.get(name)

    def find(self, key: Key) -> list[Sample]:
        """The jars under a key as they stand within this turn."""
        return [self._samples.get(jar.id, jar) for jar in self._board.find(key)]

    def sample(self, id_: str) -> Sample:
        """The jar as it stands within this turn."""
        return self._samples.get(id_) or self._board.find(("id", id_))[0]

    def jars(self, ids: Iterable[str]) -> list[Sample]:
        """These jars as they stand within this turn; all that are not at hand are asked for at once."""
        wanted = list(dict.fromkeys(ids))
        lacking = [
            ("id", id_) for id_ in wanted if id_ not in self._samples and not self._board.has(("id", id_))
        ]
        if lacking:
            raise Missing(*lacking)
        return [self.sample(id_) for id_ in wanted]

    def jars_of(self, case: str) -> list[Sample]:
        """All jars of a case as they stand within this turn."""
        return self.find(("jars", case))

    def life(self, cooler: str) -> Life:
        """A cooler's life as it stands within this turn."""
        rows = [*self._board.cold_rows_of(cooler), *rows_of(self._drafts, self._board.heads, cooler)]
        name = next((one for one in self.unit.coolers if key_of(one) == key_of(cooler)), cooler)
        return life_of(name, rows)

    def last_readings(self, cooler: str) -> list[tuple[int, float]]:
        """(instant, Celsius) of the last few readings of a cooler, this turn's among them, newest last."""
        rows = [*self._board.last_readings(cooler), *rows_of(self._drafts, self._board.heads, cooler)]
        told = [(row[2], row[3]["received_us"], row[3]["celsius"]) for row in standing(rows)]
        return [(at_us, celsius) for at_us, _, celsius in sorted(told)]

    def alerts(self, key: Key) -> list[Alert]:
        """The alerts under a key as they stand within this turn, oldest first."""
        if key[0] == "alert" and key[1] in self.result.alerts:
            return [self.result.alerts[key[1]]]
        found = {alert.id: alert for alert in self._board.find_alerts(key)} | self.result.alerts
        fits = ALERTS_UNDER[key[0]]
        return sorted((a for a in found.values() if fits(a, key)), key=lambda a: (a.raised_us, a.id))

    def alert(self, id_: str) -> Alert | None:
        """The alert of this id as it stands within this turn."""
        return next(iter(self.alerts(("alert", id_))), None)

    def open_alert(self, kind: str, subject: str) -> Alert | None:
        """The open alert of a kind about a subject."""
        return next((a for a in reversed(self.alerts(("alert_of", kind, subject))) if a.is_open), None)

    def last_alert(self, kind: str, subject: str) -> Alert | None:
        """The newest alert of a kind about a subject, open or not."""
        return next(reversed(self.alerts(("alert_of", kind, subject))), None)

    def heard_us(self, person: str) -> int:
        """When this person last wrote, 0 for never."""
        return self._board.heard_us(person)

    def clock(self, at_us: int) -> str:
        """What clocks of the unit show, with the day where it is not today's."""
        return clock_text(at_us, self.now_us, self.zone, self.word)

    def jars_said(self, case: str, *numbers: str) -> str:
        """Numbers of jars within a text; who could mean another case's is told the case with them."""
        return self.word("jars.said", case=case, numbers=" ".join(numbers))

    # --- writing ------------------------------------------------------------------------------

    def next_id(self) -> str:
        """What the next entry of the unit's chain is called by, like A7."""
        written = self._heard + len(self.result.drafts)
        return f"A{self._board.heads.get(UNIT_CHAIN, (0, ''))[0] + written + 1}"

    def write(self, body: Body) -> None:
        """The entry stands after those heard, and what it changes is seen by later lookups."""
        draft = Draft(
            chain=UNIT_CHAIN,
            body=body,
            author="",
            channel="",
            said_us=self.now_us,
            received_us=self.now_us,
        )
        self.result.drafts.append(draft)
        self.fold(draft)

    def fold(self, draft: Draft) -> Alert | None:
        """The alert that this entry speaks of, as it leaves it."""
        id_ = alert_of(draft.body)
        if id_ is None:
            return None
        before = None if isinstance(draft.body, AlertRaised) else self.alert(id_)
        alert = fold_alert(before, draft)
        if alert is not None:
            self.result.alerts[id_] = alert
        return alert

    def file(self, kind: str, subject: str, due_us: int) -> None:
        """This is due then."""
        self.result.due.append(Due(due_us, kind, subject))

    def remind(
        self, kind: str, subject: str, names: Iterable[str], text: str, *, exercise: bool = False
    ) -> None:
        """These people are reminded of what is due, and it is on record that they were."""
        told = tuple(dict.fromkeys(names))
        body = Reminded(reminder=self.next_id(), alert_kind=kind, subject=subject, told=told, text=text)
        self.write(body)
        mark = AlertMark(id=body.reminder, kind=kind, subject=subject, level="reminder")
        self.tell(told, text, mark, exercise=exercise)

    def tell(
        self, names: Iterable[str], text: str, mark: AlertMark | None, *, exercise: bool = False
    ) -> None:
        """Each of these people will be told, an exercise with its word first."""
        before = self.word("exercise") if exercise else ""
        told = ((name, self._as_told_to(name, text)) for name in dict.fromkeys(names))
        self.result.tells.extend(Tell(name, said, mark, before=before) for name, said in told)

    def _as_told_to(self, name: str, text: str) -> str:
        person = self.unit.people.get(name)
        cases = {**self._board.cases, **self._cases}.values()
        several = person is not None and could_mean_either(person, cases)
        return naming_cases(text, self.word) if several else text


def outgoing(
    tells: Iterable[Tell],
    unit: Unit,
    channels: frozenset[str],
    now_us: int,
    again: Callable[[str | None, str], str],
) -> Iterator[Outgoing]:
    """Each text, said `again` in its person's language, to the first address that a channel reaches."""
    for tell in tells:
        person = unit.people.get(tell.person)
        address = None if person is None else person.address_by(channels)
        if person is not None and address is not None:
            channel, _, account = address.partition(":")
            parts = (again(person.language, part) for part in (tell.before, tell.text) if part)
            yield Outgoing(
                channel=channel,
                account=account,
                person=tell.person,
                text=escaped(" ".join(parts)),
                asks=tell.asks,
                alert=tell.mark,
                queued_us=now_us,
            )
