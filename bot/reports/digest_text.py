"""The digest as one phone screen of text, made from its values alone: problems first, jars by number."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from ..model.times import us_of_iso
from ..rules.civil_time import local
from ..rules.numbers import ranges

SCREEN = 900  # characters before "more"
LISTED = 6

Word = Callable[..., str]


class _Says:
    """The words of one digest in its unit's zone."""

    def __init__(self, day: dict[str, Any], word: Word, zone: ZoneInfo) -> None:
        self.day, self.word, self.zone = day, word, zone
        self._today = local(us_of_iso(day["at"]), zone).date()
        noon = local(us_of_iso(day["at"]), zone)
        starts, ends = noon.replace(hour=0, minute=0, fold=0), noon.replace(hour=23, minute=59, fold=1)
        self._changes = starts.utcoffset() != ends.utcoffset()

    def clock(self, iso: str) -> str:
        """HH:MM on the unit's clocks, its day where that is another, its offset on a day that has two."""
        at = local(us_of_iso(iso), self.zone)
        shown = at.strftime("%H:%M") + (at.strftime("%z")[:3] if self._changes else "")
        if at.date() == self._today:
            return shown
        return f"{at.day} {self.word(f'month.{at.month}')} {shown}"

    def date(self, iso_date: str) -> str:
        """Like Mon 12 Oct."""
        on = date.fromisoformat(iso_date)
        weekday, month = self.word(f"weekday.{on.isoweekday()}"), self.word(f"month.{on.month}")
        return f"{weekday} {on.day} {month}"


def digest_text(day: dict[str, Any], word: Word, zone: ZoneInfo) -> tuple[str, str]:
    """(what fits one screen, what is behind "more", empty where all fits). Lines are never cut."""
    lines = list(_lines(_Says(day, word, zone)))
    whole = "\n".join(lines)
    if len(whole) <= SCREEN:
        return whole, ""
    more = word("digest.more")
    kept: list[str] = []
    for line in lines:
        if sum(len(one) + 1 for one in (*kept, line)) + len(more) > SCREEN:
            break
        kept.append(line)
    if not kept:  # what needs them alone is longer than a screen
        room = SCREEN - len(more) - 5
        return f"{lines[0][:room].rpartition('; ')[0]} ...\n{more}", whole
    return "\n".join([*kept, more]), "\n".join(lines[len(kept) :])


def _lines(says: _Says) -> Iterator[str]:
    day, word = says.day, says.word
    yield _first(says)
    people = [_person(says, one) for one in day["people"]]
    yield word("digest.people", people=_listed(people, word("digest.nobody")))
    yield from _risks(says)
    yield from (_case(says, case) for case in day["cases"])
    yield from _held(says)
    yield _corrections(says)
    yield from (_kit(says, kit) for kit in day["kits"])
    yield word(
        "digest.tomorrow", things=_listed([one["what"] for one in day["tomorrow"]], word("digest.none"))
    )
    if day["words"]:
        yield word("digest.words", day=says.date(day["words_day"]), words=day["words"])
    if day["exercises"]:
        drills = "; ".join(f"{c['case']}: {word('digest.drill', count=c['taken'])}" for c in day["exercises"])
        yield f"{word('exercise')} {drills}"


def _risks(says: _Says) -> Iterator[str]:
    risks = [_risk(says, one) for one in says.day["at_risk"]]
    theirs = says.day["others_have"]
    risks += [says.word("digest.theirs", owner=one["owner"], what=_what(says, one)) for one in theirs]
    if risks:
        yield says.word("digest.at_risk", risks="; ".join(risks))


def _held(says: _Says) -> Iterator[str]:
    if says.day["with"]:
        yield says.word("digest.with", groups="; ".join(_group(says, one) for one in says.day["with"]))
    if says.day["coolers"]:
        yield says.word(
            "digest.coolers", coolers="; ".join(_cooler(says, one) for one in says.day["coolers"])
        )


def _listed(parts: list[str], none: str) -> str:
    return ", ".join(parts) if parts else none


def _first(says: _Says) -> str:
    day, word = says.day, says.word
    head = word("digest.head", unit=day["unit"], date=says.date(day["date"]))
    if not day["needs_you"]:
        jars = any(one["samples"] for one in day["at_risk"])
        return f"{head} {word('digest.at_risk_only' if jars else 'digest.nothing')}"
    needs = [_what(says, one) for one in day["needs_you"]]
    return f"{head} {word('digest.needs', needs='; '.join(needs))}"


def _what(says: _Says, need: dict[str, Any]) -> str:
    """What it is, its jars, since when, whose; the one who reads it owns what names nobody else."""
    what = says.word(f"digest.alert.{need['what']}", subject=need["subject"])
    if need["samples"]:
        what += ", " + _jars(says, need["samples"])
    if need["owner"] not in (None, says.day["to"]):
        return what
    key = "digest.yours" if need["owner"] == says.day["to"] else "digest.since"
    return f"{what}, {says.word(key, at=says.clock(need['since']))}"


def _jars(says: _Says, samples: Sequence[str]) -> str:
    key = "digest.jars.one" if len(samples) == 1 else "digest.jars"
    return says.word(key, numbers=ranges(samples))


def _person(says: _Says, one: dict[str, Any]) -> str:
    if one["state"] == "back":
        return says.word("digest.back", name=one["name"], at=says.clock(one["back"]))
    till = says.clock(one["till"]) if one["till"] else says.word("digest.no_time")
    key = (
        "digest.overdue" if one["state"] == "overdue" else "digest.afloat" if one["afloat"] else "digest.out"
    )
    return says.word(key, name=one["name"], till=till)


def _risk(says: _Says, one: dict[str, Any]) -> str:
    if one["what"] == "excursion":
        most = one["at_most_minutes"]
        return says.word(
            "digest.excursion",
            cooler=one["cooler"],
            jars=_jars(says, one["samples"]),
            least=_span(says, one["at_least_minutes"]),
            most=says.word("watch.unknown") if most is None else _span(says, most),
            peak=f"{one['peak_celsius']:g}",
        )
    if "alert" in one:
        return says.word(f"digest.alert.{one['what']}", subject=one["how"])
    where = f"{one['case']} " if one["case"] and len(says.day["cases"]) > 1 else ""
    return where + says.word(f"digest.risk.{one['what']}", numbers=ranges(one["samples"]), how=one["how"])


def _span(says: _Says, minutes: int) -> str:
    """Like 55 min or 5 h 02."""
    hours, rest = divmod(minutes, 60)
    key = "watch.hours" if hours else "watch.minutes"
    return says.word(key, hours=hours, minutes=f"{rest:02}" if hours else rest)


def _case(says: _Says, case: dict[str, Any]) -> str:
    word = says.word
    parts = [word("digest.taken.one" if case["taken"] == 1 else "digest.taken", count=case["taken"])]
    if case["taken_today"] != case["taken"]:
        parts.append(word("digest.taken_today", count=case["taken_today"]))
    parts += [word(f"digest.{name}", count=case[name]) for name in ("stored", "sent") if case[name]]
    if case["struck"]:
        parts.append(word("digest.struck", count=case["struck"], numbers=ranges(case["numbers"]["struck"])))
    line = word("digest.case", case=case["case"], parts=", ".join(parts))
    if case["plan_gaps"] is None:
        return line
    if not case["plan_gaps"]:
        return f"{line} {word('digest.plan.whole')}"
    gaps = ", ".join(case["plan_gaps"][:LISTED])
    rest = len(case["plan_gaps"]) - LISTED
    return f"{line} {word('digest.plan.gaps', gaps=gaps)}" + (f" +{rest}" if rest > 0 else "")


def _group(says: _Says, one: dict[str, Any]) -> str:
    parts = [f"{ranges(one['samples'])} {one['with']}"]
    if len(says.day["cases"]) > 1:
        parts[0] = f"{one['case']} {parts[0]}"
    if one["place"]:
        parts.append(one["place"])
    if one["cooler"]:
        parts.append(says.word("part.cooler", value=one["cooler"]))
    return ", ".join(parts)


def _cooler(says: _Says, one: dict[str, Any]) -> str:
    """What it read last, and until when it stays cold; a cooler that nobody read says so."""
    if one["celsius"] is None or one["at"] is None:
        return says.word("digest.unread", cooler=one["name"])
    text = says.word(
        "digest.read", cooler=one["name"], celsius=f"{one['celsius']:g}", at=says.clock(one["at"])
    )
    if one["p50"]:
        text += ", " + says.word("digest.till", at=says.clock(one["p50"]))
        if one["p10"]:
            text += " " + says.word("digest.early", at=says.clock(one["p10"]))
    return text


def _corrections(says: _Says) -> str:
    word, made = says.word, says.day["corrections"]
    told = word("digest.none")
    if made["count"]:
        named = ", ".join(f"{one['sample']} {one['field']}" for one in made["listed"][:LISTED])
        told = f"{made['count']}" + (f" ({named})" if named else "")
    lacks = [f"{_field(says, one['what'])} {ranges(one['samples'])}" for one in says.day["missing"]]
    return word("digest.corrections", corrections=told, missing=_listed(lacks, word("digest.none")))


def _field(says: _Says, name: str) -> str:
    return says.word("digest.photo_waiting") if name == "photo_waiting" else says.word(f"sample.{name}.name")


def _kit(says: _Says, kit: dict[str, Any]) -> str:
    ready = kit["ready_for_jars"]
    if ready is None:
        return says.word("digest.kit.unknown", kit=kit["name"])
    return says.word("digest.kit", kit=kit["name"], count=ready)
