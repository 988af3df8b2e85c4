"""What a drill's crew did of what was asked of them, in plain words to the instructor."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from ..model.people import Kit
from ..model.sample import Sample
from ..model.times import MINUTE_US
from ..rules.checks import came_late
from ..rules.drills import Drill, out_of_order
from ..rules.fields import SampleTable
from ..rules.kit import seal_numbers
from ..rules.limits import Limits
from ..rules.plan import PlanTable

COLD_US = 30 * MINUTE_US  # into the cold within, a setting of the trade: common practice, no source


def score(
    drill: Drill,
    case: str,
    samples: list[Sample],
    kit: Kit,
    table: SampleTable,
    order: PlanTable,
    limits: Limits,
    word: Callable[..., str],
) -> list[str]:
    """A sentence each of jars, order, gloves, seals, cold and gaps: jars by number, people by no rank."""
    jars = [sample for sample in samples if sample.struck is None]
    asked = sum(drill.wanted.values())
    return [
        word("drill.score", case=case, title=drill.title, jars=len(jars), asked=asked),
        *((_order(jars, order, word), _gloves(jars, word)) if jars else ()),
        *((_seals(jars, kit, word), _cold(jars, word)) if jars else ()),
        *_gaps(drill, jars, table, limits, word),
    ]


def _numbers(jars: list[Sample]) -> str:
    return " ".join(jar.number for jar in jars)


def _order(jars: list[Sample], order: PlanTable, word: Callable[..., str]) -> str:
    wrong = out_of_order(jars, order)
    if not wrong:
        return word("drill.order.kept")
    pairs = ", ".join(word("drill.order.pair", number=a.number, after=b.number) for a, b in wrong)
    return word("drill.order.broken", pairs=pairs)


def _gloves(jars: list[Sample], word: Callable[..., str]) -> str:
    changed = [jar for jar in jars if jar.text("gloves") == "yes"]
    kept = [jar for jar in jars if jar.text("gloves") == "no"]
    unsaid = [jar for jar in jars if jar not in changed and jar not in kept]
    parts = []
    if kept:
        parts.append(word("drill.gloves.kept", numbers=_numbers(kept)))
    if unsaid:
        parts.append(word("drill.gloves.unsaid", numbers=_numbers(unsaid)))
    return word("drill.gloves", parts="; ".join(parts) or word("drill.gloves.all", count=len(changed)))


def _seals(jars: list[Sample], kit: Kit, word: Callable[..., str]) -> str:
    numbered = [(jar, jar.seal) for jar in jars if jar.seal is not None]
    without = [jar for jar in jars if "seal" not in jar.facts]
    counts = Counter(seal.upper() for _, seal in numbered)
    twice = [jar for jar, seal in numbered if counts[seal.upper()] > 1]
    outside = [jar for jar, seal in numbered if not _in_range(seal, kit)]
    parts = [
        word(f"drill.seals.{what}", numbers=_numbers(found))
        for what, found in (("without", without), ("twice", twice), ("outside", outside))
        if found
    ]
    return word("drill.seals", parts="; ".join(parts) or word("drill.seals.all"))


def _in_range(seal: str, kit: Kit) -> bool:
    if kit.seals is None:
        return True
    whole, from_first = seal_numbers(*kit.seals), seal_numbers(kit.seals[0], seal)
    return whole is not None and from_first is not None and len(from_first) <= len(whole)


def _cold(jars: list[Sample], word: Callable[..., str]) -> str:
    warm = [jar for jar in jars if "cooler" not in jar.facts]
    slow = [jar for jar in jars if (late_us := _until_cold(jar)) is not None and late_us > COLD_US]
    unread = [jar for jar in jars if "cooler" in jar.facts and "cooler_celsius" not in jar.facts]
    parts = [
        word(f"drill.cold.{what}", numbers=_numbers(found))
        for what, found in (("without", warm), ("slow", slow), ("unread", unread))
        if found
    ]
    return word("drill.cold", parts="; ".join(parts) or word("drill.cold.all"))


def _until_cold(jar: Sample) -> int | None:
    """How long it took into the cold, as stated; None where that is not stated."""
    cold = jar.instant("in_cold_at")
    return None if cold is None or jar.event_us is None else cold[0] - jar.event_us


def _gaps(
    drill: Drill, jars: list[Sample], table: SampleTable, limits: Limits, word: Callable[..., str]
) -> list[str]:
    taken = Counter(jar.text("kind") for jar in jars)
    wanting = [
        word("drill.gap", count=count - taken[kind], kind=word(f"choice.kind.{kind}"))
        for kind, count in drill.wanted.items()
        if taken[kind] < count
    ]
    lacking = [jar for jar in jars if table.missing(jar)]
    queried = [jar for jar in jars if jar.open_query is not None]
    late = [jar for jar in jars if came_late(jar.said_us, jar.received_us, limits)]
    unconfirmed = [jar for jar in jars if not jar.confirmed]
    sentences = [word("drill.gaps", parts=", ".join(wanting) or word("drill.gaps.none"))]
    listed = (("lacking", lacking), ("queried", queried), ("late", late), ("unconfirmed", unconfirmed))
    told = [word(f"drill.{what}", numbers=_numbers(found)) for what, found in listed if found]
    return [*sentences, *told]
