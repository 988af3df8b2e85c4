"""Lines that say something by themselves, asked for or not: each is tried in turn."""

from __future__ import annotations

import re

from .administration import hear_administration
from .cold_moves import hear_moved
from .cooler_corrections import hear_cooler_correction
from .cooler_line import hear_cooler, hear_ice
from .corrections import hear_correction, hear_struck
from .custody.lines import hear_custody
from .custody.lost import hear_lost
from .custody.read import hear_reading
from .custody.times import hear_time_correction
from .evidence import hear_given, hear_need
from .forecast_asked import hear_chart, hear_how_long
from .holding_line import hear_clock, hear_done
from .ice_asked import hear_ice_left
from .kit_line import hear_kit
from .kit_restock import hear_restock
from .kit_walk import hear_inspect
from .lines import hear_jar
from .plan_lines import hear_plan_line
from .real_find import hear_real_find
from .turn import Turn
from .whereabouts import hear_out

LINES = (
    hear_time_correction,
    hear_administration,
    hear_real_find,
    hear_correction,
    hear_struck,
    hear_custody,
    hear_reading,
    hear_need,
    hear_given,
    hear_cooler_correction,
    hear_cooler,
    hear_ice,
    hear_ice_left,
    hear_moved,
    hear_clock,
    hear_done,
    hear_how_long,
    hear_chart,
    hear_kit,
    hear_inspect,
    hear_restock,
    hear_out,
    hear_plan_line,
    hear_lost,
    hear_jar,
)
# What some write before a jar's number. "No 04" without its point refuses a jar.
_BEFORE = re.compile(
    r"\s*(?:(?:(?:jar|sample|bottle)(?:\s+(?:number|nr\.?|no\.?))?|number|nr\.?|no\.)\s*[:#]?\s*|#\s*)(?=\d)",
    re.IGNORECASE,
)


def hear_whole_line(turn: Turn, text: str) -> bool:
    """True where the text was a whole line and what it says is on record."""
    text = _BEFORE.sub("", text, count=1) if _BEFORE.match(text) else text
    return any(hear(turn, text) for hear in LINES)
