"""The digest as a page or two: its text, every list that it counts, a drawn map, the coolers' day."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from ..model.times import us_of_iso
from ..rules.area import Area
from ..rules.civil_time import local
from ..rules.limits import Limits
from ..rules.numbers import ranges
from .cold_chart import draw_chart
from .drawn_map import Mark, draw_map

FONT = 'font-family="DejaVu Sans Mono"'  # one that comes with the typesetter
DRAWN = 9  # charts: more would not fit beside the rest; coolers out of range come first
FEW = 5  # charts beside summed tables
ROWS = 16  # of who holds what
SINGLY = 60  # numbers that are listed one by one
LINE = 300  # characters of a line that was behind "more"
COUNTED = ("taken", "taken_today", "stored", "sent", "struck")


def digest_paper(found: dict[str, Any], area: Area | None, zone: ZoneInfo, limits: Limits) -> dict[str, Any]:
    """What the template `digest` is filled with. `found`: the digest with its `text` and `more`."""
    lines = [*found["text"].splitlines(), *(_short(line) for line in found["more"].splitlines())]
    held = _held(found["with"])
    marks = [Mark(one["sample"], one["lat"], one["lon"]) for one in found["places"]]
    out_first = sorted(found["coolers"], key=lambda one: one["band"] in (None, "ok", "cooling"))
    drawn = [one for one in out_first if one["readings"]]
    most = DRAWN if len(found["with"]) <= ROWS else FEW
    return {
        "size": "a4",
        "title": f"{found['unit']}, {found['date']}",
        "to": found["to"],
        "lines": [line for line in lines if not line.startswith("More: ")],
        "cases": [
            {
                "case": case["case"],
                "lists": [_counted(case, what) for what in COUNTED if case[what]],
                "gaps": case["plan_gaps"] or [],
            }
            for case in found["cases"]
        ],
        "with": held,
        "map": draw_map(marks, area, found["unit"]).replace('font-family="sans-serif"', FONT),
        "charts": [_chart(one, zone, limits) for one in drawn[:most]],
        "not_drawn": [one["name"] for one in drawn[most:]],
    }


def _short(line: str) -> str:
    """A line of "more" that would fill the page; its tables stand below, its whole is behind DIGEST MORE."""
    if len(line) <= LINE:
        return line
    return f"{line[:LINE].rpartition('; ')[0] or line[:LINE]}; ... whole by DIGEST MORE"


def _counted(case: dict[str, Any], what: str) -> dict[str, Any]:
    return {"what": what.replace("_", " "), "count": case[what], "jars": _listed(case["numbers"][what])}


def _listed(numbers: list[str]) -> list[str]:
    """Every number, many of them as ranges: none is left out."""
    return numbers if len(numbers) <= SINGLY else ranges(numbers).split()


def _held(groups: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Who holds what, where; where that would be too many rows, a row a holder."""
    rows = [
        {
            "case": one["case"],
            "who": one["with"],
            "where": one["place"] or (f"cooler {one['cooler']}" if one["cooler"] else ""),
            "jars": one["samples"],
        }
        for one in groups
    ]
    if len(rows) > ROWS:
        summed: dict[tuple[str, str], list[dict[str, Any]]] = {}
        for row in rows:
            summed.setdefault((row["case"], row["who"]), []).append(row)
        rows = [
            {
                "case": case,
                "who": who,
                "where": f"{len(of)} places" if len(of) > 1 else of[0]["where"],
                "jars": sorted(number for row in of for number in row["jars"]),
            }
            for (case, who), of in summed.items()
        ]
    return [{**row, "count": len(row["jars"]), "jars": _listed(row["jars"])} for row in rows]


def _chart(cooler: dict[str, Any], zone: ZoneInfo, limits: Limits) -> str:
    read = [(us_of_iso(one["at"]), one["celsius"]) for one in cooler["readings"]]
    ends = [local(us, zone).strftime("%d %H:%M") for us, _ in (read[0], read[-1])]
    shown = (limits.cold_freezing_c, limits.cold_limit_c, limits.cold_over_c)
    drawn = draw_chart(f"Cooler {cooler['name']}, C", read, shown, (ends[0], ends[1]))
    return drawn.replace("<svg ", f"<svg {FONT} ", 1)
