"""After a dead zone: several late jars of one conversation are answered in one text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..model.board import Board
from ..model.sample import Sample
from .outcome import Say
from .read_back import clock_text, missing_names
from .turn import Trade


@dataclass(frozen=True)
class CaughtUp:
    """The texts to send, and by address the jars that an OK will now be about."""

    says: list[Say]
    waiting: dict[str, tuple[str, ...]]


def catch_up(
    says: list[Say],
    board: Board,
    trade: Trade,
    now_us: int,
    unsent: Mapping[str, tuple[str, ...]] | None = None,
) -> CaughtUp:
    """The same texts in the same order, those about late jars to one address as one, the last.

    `unsent` are the jars of a text to an address that did not go yet: they stand in the new one too.
    """
    late: dict[tuple[str, str], list[str]] = {}
    for say in says:
        if say.catch_up is not None:
            thread = _thread(say.address, say.catch_up)
            before = (unsent or {}).get(say.address, ())
            here = [id_ for id_ in before if _thread(say.address, id_) == thread]
            late.setdefault(thread, here).append(say.catch_up)
    together = {thread: tuple(dict.fromkeys(ids)) for thread, ids in late.items() if len(set(ids)) > 1}
    merged = [
        say for say in says if say.catch_up is None or _thread(say.address, say.catch_up) not in together
    ]
    for ids in together.values():
        last = next(say for say in reversed(says) if say.catch_up in ids)
        jars = sorted((board.shelf.samples[id_] for id_ in ids), key=_taken_us)
        drill = any(board.cases[jar.case].exercise for jar in jars if jar.case in board.cases)
        person = board.unit.people.get(last.person or "")
        spoken = trade.spoken(None if person is None else person.language)
        mark = f"{spoken.words.say('exercise')} " if drill else ""
        merged.append(last._replace(text=mark + late_text(jars, spoken, now_us)))
    return CaughtUp(merged, {address: ids for (address, _), ids in together.items()})


def _taken_us(jar: Sample) -> int:
    return jar.received_us if jar.event_us is None else jar.event_us


def _thread(address: str, sample_id: str) -> tuple[str, str]:
    """One address and one case: an exercise and a real case are never told in one text."""
    return address, sample_id.rpartition("#")[0]


def late_text(jars: list[Sample], trade: Trade, now_us: int) -> str:
    """What came late, with the time each was taken, what each lacks and what differs."""
    lacks: dict[str, list[str]] = {}
    for jar in jars:
        for name in missing_names(jar, trade):
            lacks.setdefault(name, []).append(jar.number)
    missing = ", ".join(_lacking(name, numbers, len(jars), trade) for name, numbers in lacks.items())
    listed = " ".join(_with_time(jar, trade, now_us) for jar in jars)
    queries = "".join(f" {jar.number}: {query.text}" for jar in jars for query in jar.queries if query.open)
    return trade.words.say("late" if lacks else "late.whole", jars=listed, missing=missing, queries=queries)


def _lacking(name: str, numbers: list[str], count: int, trade: Trade) -> str:
    if count == 1:
        return name
    if len(numbers) == count:
        return trade.words.say("late.missing.all", field=name)
    return trade.words.say("late.missing", field=name, numbers=" ".join(numbers))


def _with_time(jar: Sample, trade: Trade, now_us: int) -> str:
    when = jar.value("time")
    return jar.number if when is None else f"{jar.number} ({clock_text(when, trade, now_us)})"
