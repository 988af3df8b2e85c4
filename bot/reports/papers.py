"""What each paper holds, as plain values for its template. Nothing here says more than the record does."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import tzinfo
from typing import Any

import segno

from ..model.errors import AskedWrongly
from ..rules.label_code import label_code
from .record import stated
from .weak_points import explained, gap_text, weak_points

Line = Mapping[str, Any]
LABELS_WIDE = 2
KIND = ("kind", "duplicate_of")
SHIPPER_ASKS = (
    "Is the oil's type known? From whom?",
    "Is its flash point known? Measured or from a paper, and which?",
    "Is hydrogen sulphide or another hazard known?",
    "How many jars, of how many mL each, and how full?",
    "Is each closure secured, and is there room at 55 C?",
    "How much absorbent is in each tube and each box?",
    "Which packaging was tested, and by what mark is it known?",
    "What cools the box: water ice, packs? How is melt water held?",
    "By road, rail, sea or air, and over which borders?",
    "Who is told on arrival, and is the laboratory open then?",
)


@dataclass(frozen=True)
class Facts:
    """What `show` prints for a case, and what stands over every paper of it."""

    case: str
    exercise: bool
    unit: str
    made_at: str
    head: str
    size: str
    zone: tzinfo
    samples: Sequence[Line]
    custody: Sequence[Line] = ()
    roles: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def frame(self) -> dict[str, Any]:
        """What every paper says at its top and foot."""
        return {
            "case": self.case,
            "exercise": self.exercise,
            "unit": self.unit,
            "made_at": self.made_at,
            "head": self.head,
            "size": self.size,
        }

    def of(self, number: str) -> list[Line]:
        """The custody lines of one jar."""
        return [line for line in self.custody if line["sample"] == number]

    def hidden(self) -> set[str]:
        """The jars whose hand-over is open: no paper shows their recorded seal, for the receiver reads it."""
        return {line["sample"] for line in self.custody if line.get("state") == "open"}

    def item(self, jar: Line) -> dict[str, Any]:
        """One jar as papers list it."""
        return _item(jar, hide=jar["number"] in self.hidden())

    def told(self, jar: Line) -> list[str]:
        """The weak points of one jar."""
        return weak_points(jar, self.of(jar["number"]), self.zone)

    def told_blind(self, jar: Line) -> list[str]:
        """`told`, without what would tell a laboratory which jar is a duplicate."""
        blind = {
            **jar,
            "not_stated": [field for field in jar["not_stated"] if field not in KIND],
            "queries": [one for one in jar["queries"] if one["field"] not in KIND],
            "corrections": [one for one in jar["corrections"] if one["field"] not in KIND],
        }
        return self.told(blind)


def custody_sheet(facts: Facts, boxes: Sequence[Sequence[str]], blind: bool) -> dict[str, Any]:
    """The sheets that travel with jars, one a box. Of an open hand-over no recorded seal stands on any.

    Name and role of each who handles a jar go with it (US Region 5 contingency plan 3.4).
    """
    hidden = {jar["number"] for jar in facts.samples} if blind else facts.hidden()
    groups = boxes or [[jar["number"] for jar in facts.samples]]
    named = {str(line[side]) for line in facts.custody for side in ("from", "to") if line.get(side)}
    named |= {jar["collector"] for jar in facts.samples}
    return facts.frame() | {
        "sheets": [_sheet(facts, set(group), hidden) for group in groups],
        "people": [f"{name}: {', '.join(facts.roles.get(name, ()))}" for name in sorted(named)],
        "rows": 4,
    }


def _sheet(facts: Facts, group: set[str], hidden: set[str]) -> dict[str, Any]:
    links = [
        {**line, "seal_read": None if line["sample"] in hidden else line.get("seal_read")}
        for line in facts.custody
        if line["sample"] in group and line.get("type") != "collected" and "reading" not in line
    ]
    return {
        "jars": [_item(jar, jar["number"] in hidden) for jar in facts.samples if jar["number"] in group],
        "hidden": sorted(hidden & group),
        "links": [_link(line, facts.zone) for line in links],
    }


def _item(jar: Line, hide: bool = False) -> dict[str, Any]:
    seals = [_seal(one) for one in jar["seals"]]
    return {
        "number": jar["number"],
        "struck": jar["struck"],
        "evidence": jar["evidence_number"] or "",
        "matrix": jar["matrix"] or "oil not stated",
        "taken": stated(jar["event_time"]) if jar["event_time"] else "time not stated",
        "by": jar["collector"],
        "seal": "" if hide else ", ".join(seals) or "not stated",
        "ml": (jar["more"].get("container_ml") or {}).get("millilitres"),
        "tube": jar["tube"],
    }


def _seal(one: Line) -> str:
    named = str(one["number"] or f"tape {one['tape'] or ''}".strip())
    return named if one["state"] == "whole" else f"{named} ({one['state']})"


def _link(line: Line, zone: tzinfo) -> dict[str, Any]:
    if "gap" in line:
        told = {"gap": gap_text(line, zone), "explained": explained(line, zone)}
        return {"sample": line["sample"], "why": line["why"], **told}
    whom = str(line["to"]) + (f", {line['place']}" if line.get("place") else "")
    return {
        "sample": line["sample"],
        "gap": None,
        "from": line["from"] or "",
        "to": whom,
        "type": line["type"],
        "at": stated(line["closed_at"], zone) if line.get("closed_at") else line["state"],
        "seal": line.get("seal_read") or "",
        "condition": line.get("condition") or "",
        "exception": line.get("exception") or "",
    }


def labels(facts: Facts) -> dict[str, Any]:
    """One label a jar that has its evidence number; the others are named. Raises AskedWrongly for none."""
    there = [jar for jar in facts.samples if not jar["struck"]]
    waiting = [jar["number"] for jar in there if not jar["evidence_number"]]
    doubted = [jar["number"] for jar in there if jar["evidence_number"] and "number_query" in jar["flags"]]
    ready = [jar for jar in there if jar["evidence_number"] and "number_query" not in jar["flags"]]
    if not ready and doubted:
        raise AskedWrongly(f"Two jars bear the number {doubted[0]}; settle which before a label is printed.")
    if not ready:
        named = " ".join(waiting) or "none"
        raise AskedWrongly(
            f"No label is printed before its evidence number is on record; ask for it: need number {named}"
        )
    return facts.frame() | {
        "wide": LABELS_WIDE,
        "waiting": waiting,
        "doubted": sorted(set(doubted)),
        "labels": [
            {**_item(jar, hide=True), "code": _code(label_code(facts.case, jar["number"], facts.exercise))}
            for jar in ready
        ],
    }


def _code(text: str) -> list[str]:
    """The QR code as rows of 0 and 1, without its quiet zone; level H, so that a smudge does not spoil it."""
    return ["".join(map(str, row)) for row in segno.make_qr(text, error="h").matrix]


def transmittal(facts: Facts, asked: Mapping[str, str]) -> dict[str, Any]:
    """What goes to the laboratory with the jars; what nobody gave stays a line to be filled in by hand.

    No kind stands on it: which jar is a duplicate is not for the laboratory to know.
    """
    items = [jar for jar in facts.samples if not jar["struck"]]
    return facts.frame() | {
        "asked": dict(asked),
        "jars": [facts.item(jar) for jar in items],
        "exceptions": [{"number": jar["number"], "told": facts.told_blind(jar)} for jar in items],
        "hazards": [
            {"number": jar["number"], "told": told} for jar in items if (told := _hazard(jar["more"]))
        ],
    }


def _hazard(more: Mapping[str, Any]) -> str:
    """What was told of hazards, in the words it was told; nothing is inferred."""
    told = [str(more["hazards"])] if more.get("hazards") else []
    if isinstance(point := more.get("flash_point"), Mapping):
        told.append(f"flash point {point.get('celsius')} C")
    return "; ".join(told)


def packing(facts: Facts, boxes: Sequence[Sequence[str]]) -> dict[str, Any]:
    """Which jar is in which box and tube, and what to ask the trained shipper. It classifies nothing."""
    by_number = {jar["number"]: jar for jar in facts.samples if not jar["struck"]}
    groups = boxes or [list(by_number)]
    packed = [facts.item(by_number[number]) for group in groups for number in group]
    return facts.frame() | {
        "boxes": [
            {"n": n, "of": len(groups), "tubes": _tubes([facts.item(by_number[number]) for number in group])}
            for n, group in enumerate(groups, 1)
        ],
        "unpacked": sorted(set(by_number) - {one["number"] for one in packed}),
        "jars": len(packed),
        "ml": sum(one["ml"] or 0 for one in packed),
        "ml_unsaid": [one["number"] for one in packed if one["ml"] is None],
        "hazards": [
            {"number": one["number"], "told": told}
            for one in packed
            if (told := _hazard(by_number[one["number"]]["more"]))
        ],
        "asks": SHIPPER_ASKS,
    }


def _tubes(items: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Jars by the tube that was told; who has none told stands alone."""
    tubes: dict[str, list[dict[str, Any]]] = {}
    for place, one in enumerate(items):
        tubes.setdefault(str(one["tube"] or f"\0{place}"), []).append(one)
    return [
        {"name": None if name.startswith("\0") else name, "jars": jars, "many": len(jars) > 2}
        for name, jars in tubes.items()
    ]


def exceptions(facts: Facts) -> dict[str, Any]:
    """What to read before testifying: every weak point of every jar."""
    return facts.frame() | {
        "jars": [
            {**facts.item(jar), "told": facts.told(jar), "with": jar["with"], "status": jar["status"]}
            for jar in facts.samples
        ]
    }
