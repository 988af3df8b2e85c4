"""After a dead zone: several late jars of one conversation are answered in one text."""

from __future__ import annotations

from ..model.sample import Sample
from .outcome import Say
from .read_back import clock_text, missing_names
from .turn import Trade


def catch_up(says: list[Say], samples: dict[str, Sample], trade: Trade, now_us: int) -> list[Say]:
    """The same texts, those about late jars to one address as one; order is kept."""
    late: dict[str, list[str]] = {}
    for say in says:
        if say.catch_up is not None:
            named = late.setdefault(say.address, [])
            if say.catch_up not in named:
                named.append(say.catch_up)
    merged: list[Say] = []
    for say in says:
        together = late.get(say.address, [])
        if say.catch_up is None or len(together) < 2:
            merged.append(say)
        elif say.catch_up == together[-1] and not any(m.catch_up and m.address == say.address for m in merged):
            jars = [samples[id_] for id_ in together]
            merged.append(Say(say.address, say.person, _text(jars, trade, now_us), "confirm", catch_up=together[-1]))
    return merged


def _text(jars: list[Sample], trade: Trade, now_us: int) -> str:
    listed = " ".join(_with_time(jar, trade, now_us) for jar in jars)
    lacks: dict[str, list[str]] = {}
    for jar in jars:
        for name in missing_names(jar, trade):
            lacks.setdefault(name, []).append(jar.number)
    if not lacks:
        return trade.words.say("late.many.whole", jars=listed)
    missing = ", ".join(
        trade.words.say("late.missing.all", field=name)
        if len(numbers) == len(jars)
        else trade.words.say("late.missing", field=name, numbers=" ".join(numbers))
        for name, numbers in lacks.items()
    )
    return trade.words.say("late.many", jars=listed, missing=missing)


def _with_time(jar: Sample, trade: Trade, now_us: int) -> str:
    when = jar.value("time")
    return jar.number if when is None else f"{jar.number} ({clock_text(when, trade, now_us)})"
