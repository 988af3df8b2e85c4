"""The digest as a page or two: its text, every list that it counts, a drawn map, the coolers' day."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from ..model.times import us_of_iso
from ..rules.area import Area
from ..rules.civil_time import local
from ..rules.limits import Limits
from .cold_chart import draw_chart
from .drawn_map import Mark, draw_map

FONT = 'font-family="DejaVu Sans Mono"'  # one that comes with the typesetter
DRAWN = 9  # charts: more would not fit beside the rest; coolers out of range come first
COUNTED = ("taken", "taken_today", "stored", "sent", "struck")


def digest_paper(found: dict[str, Any], area: Area | None, zone: ZoneInfo, limits: Limits) -> dict[str, Any]:
    """What the template `digest` is filled with. `found`: the digest with its `text` and `more`."""
    lines = [*found["text"].splitlines(), *found["more"].splitlines()]
    marks = [Mark(one["sample"], one["lat"], one["lon"]) for one in found["places"]]
    out_first = sorted(found["coolers"], key=lambda one: one["band"] in (None, "ok", "cooling"))
    drawn = [one for one in out_first if one["readings"]]
    return {
        "size": "a4",
        "title": f"{found['unit']}, {found['date']}",
        "to": found["to"],
        "lines": [line for line in lines if not line.startswith("More: ")],
        "cases": [
            {
                "case": case["case"],
                "lists": [
                    {"what": what.replace("_", " "), "count": case[what], "jars": case["numbers"][what]}
                    for what in COUNTED
                    if case[what]
                ],
                "gaps": case["plan_gaps"] or [],
            }
            for case in found["cases"]
        ],
        "with": [
            {
                "case": one["case"],
                "who": one["with"],
                "where": one["place"] or (f"cooler {one['cooler']}" if one["cooler"] else ""),
                "jars": one["samples"],
            }
            for one in found["with"]
        ],
        "map": draw_map(marks, area, found["unit"]).replace('font-family="sans-serif"', FONT),
        "charts": [_chart(one, zone, limits) for one in drawn[:DRAWN]],
        "not_drawn": [one["name"] for one in drawn[DRAWN:]],
    }


def _chart(cooler: dict[str, Any], zone: ZoneInfo, limits: Limits) -> str:
    read = [(us_of_iso(one["at"]), one["celsius"]) for one in cooler["readings"]]
    ends = [local(us, zone).strftime("%d %H:%M") for us, _ in (read[0], read[-1])]
    shown = (limits.cold_freezing_c, limits.cold_limit_c, limits.cold_over_c)
    drawn = draw_chart(f"Cooler {cooler['name']}, C", read, shown, (ends[0], ends[1]))
    return drawn.replace("<svg ", f"<svg {FONT} ", 1)
