"""The numbers of the trade that are settings, each with its unit and its source.

`[limits]` in the setup file changes them; the record cites the value in force.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from pydantic import Field, JsonValue

from ..model.base import Frozen

COMMON = "common practice, no source"


class Limits(Frozen):
    """Every limit by name. Each description ends with its source."""

    time_future_minutes: float = Field(5, ge=0, description=f"A time this far ahead is queried: {COMMON}")
    time_late_hours: float = Field(
        12, gt=0, description=f"A time this far back is asked for its day: {COMMON}"
    )
    now_fresh_minutes: float = Field(2, gt=0, description=f"NOW counts when delivered within: {COMMON}")
    speed_knots: float = Field(40, gt=0, description=f"A faster way from the last place is queried: {COMMON}")
    late_minutes: float = Field(30, gt=0, description=f"A text this old on arrival came late: {COMMON}")
    stop_silence_minutes: float = Field(
        30, ge=0, description=f"The supervisor hears one stop a case in: {COMMON}"
    )
    photo_minutes: float = Field(15, gt=0, description=f"Camera and told time differ by more: {COMMON}")
    photo_metres: float = Field(500, gt=0, description=f"Camera and told place differ by more: {COMMON}")
    cold_freezing_c: float = Field(
        0.0, description="At or below: freezing, jars holding water (USGS A5 5.4.1)"
    )
    cold_limit_c: float = Field(
        6.0, description="At or below: in range (40 CFR 136 table II, seen in a state SOP)"
    )
    cold_over_c: float = Field(10.0, description=f"Above: over, between: at risk: {COMMON}")
    cold_absurd_low_c: float = Field(-30.0, description=f"At or below: no check bottle reads this: {COMMON}")
    cold_absurd_high_c: float = Field(60.0, description=f"At or above: no check bottle reads this: {COMMON}")
    cold_grace_hours: float = Field(2, ge=0, description=f"Jars may cool down for, with ice: {COMMON}")
    cold_reading_hours: float = Field(4, gt=0, description=f"A cooler is read again after: {COMMON}")
    fridge_reading_hours: float = Field(12, gt=0, description=f"A fridge is read again after: {COMMON}")
    cold_reread_minutes: float = Field(30, gt=0, description=f"Out of range, read again after: {COMMON}")
    cold_missed_minutes: float = Field(30, ge=0, description=f"A reading is missed when overdue by: {COMMON}")
    cooler_basic_w_per_k: float = Field(0.6, gt=0, description=f"Walls of 25 L basic: {COMMON}")
    cooler_ordinary_w_per_k: float = Field(0.8, gt=0, description=f"Walls of 50 L, ordinary: {COMMON}")
    cooler_thick_w_per_k: float = Field(0.4, gt=0, description=f"Walls of 50 L, thick: {COMMON}")
    cooler_foam_w_per_k: float = Field(0.6, gt=0, description=f"Walls of a foam box: {COMMON}")
    sun_celsius: float = Field(10, ge=0, description=f"Full sun on a dark lid adds up to: {COMMON}")
    holding_starts: Literal["collection", "receipt"] = Field(
        "collection", description="A holding time starts (a laboratory; EPA safe-water FAQ differs)"
    )
    holding_last_hours: float = Field(6, ge=0, description=f"The last warning of a holding time: {COMMON}")
    shipping_lead_hours: float = Field(24, ge=0, description=f"From sending a box to its arrival: {COMMON}")
    hot_oil_c: float = Field(40.0, description=f"Oil hotter than this burns and cracks cold glass: {COMMON}")
    safety_hours: float = Field(12, gt=0, description=f"The safety questions are asked again after: {COMMON}")
    kit_look_days: float = Field(31, gt=0, description=f"A kit is looked at again after: {COMMON}")
    kit_count_days: float = Field(92, gt=0, description=f"A kit is counted again after: {COMMON}")
    kit_fresh_hours: float = Field(12, gt=0, description=f"Counts within are one inspection: {COMMON}")
    kit_times_par: float = Field(10, gt=1, description=f"A count over so many pars is asked: {COMMON}")
    slurry_c: float = Field(0.5, gt=0, description=f"In ice slurry a thermometer may be off by: {COMMON}")
    alert_returns_minutes: float = Field(
        60, gt=0, description=f"An alert not solved comes back to its owner after: {COMMON}"
    )
    pushes_an_hour: float = Field(3, ge=1, description=f"Pushes a case and hour, not critical: {COMMON}")
    pending_minutes: float = Field(15, gt=0, description=f"Not taken, an offer reminds both after: {COMMON}")
    pending_told_minutes: float = Field(60, gt=0, description=f"An offer not taken is told on in: {COMMON}")
    not_in_cold_minutes: float = Field(20, gt=0, description=f"A jar in no cooler is asked for, in: {COMMON}")
    reading_overdue_minutes: float = Field(60, gt=0, description=f"A reading overdue is told on in: {COMMON}")
    overdue_minutes: float = Field(15, ge=0, description=f"After OUT TILL somebody is overdue: {COMMON}")
    silent_hours: float = Field(2, gt=0, description=f"Who is out and silent is asked OK? after: {COMMON}")
    silent_minutes: float = Field(15, gt=0, description=f"OK? unanswered is told after: {COMMON}")
    due_late_minutes: float = Field(5, gt=0, description=f"What comes so much later says so: {COMMON}")
    custody_carrier_minutes: float = Field(
        15, ge=0, description=f"Release to receipt is a gap without a named carrier after: {COMMON}"
    )
    plan_blanks: int = Field(1, ge=0, le=99, description=f"Unused ones of the same lot in a plan: {COMMON}")
    plan_backgrounds: int = Field(1, ge=0, le=99, description=f"Clean water samples in a plan: {COMMON}")
    plan_spill_points: int = Field(3, ge=0, le=99, description=f"Points of the spill in a plan: {COMMON}")
    plan_sheen_points: int = Field(2, ge=0, le=99, description=f"Points of a small sheen in a plan: {COMMON}")
    plan_jars_per_duplicate: int = Field(10, ge=1, description=f"One duplicate in so many oil jars: {COMMON}")
    plan_minutes_per_jar: float = Field(15, gt=0, description=f"Time that one more jar takes: {COMMON}")
    code_hours: float = Field(24.0, gt=0, description=f"An enrolment code counts for: {COMMON}")
    code_tries: int = Field(5, ge=1, le=20, description=f"Wrong codes a day, an address or person: {COMMON}")
    adopt_hours: float = Field(
        48.0, ge=0, description=f"Texts this old at most become a new phone's person's: {COMMON}"
    )
    speaker_minutes: float = Field(10, gt=0, description=f"Another speaks on a phone for: {COMMON}")
    stranger_replies: int = Field(50, ge=0, description=f"Strangers answered a day, over all: {COMMON}")


def limits_in_force(changed: Mapping[str, JsonValue]) -> Limits:
    """The limits with the unit's own values. Raises ValidationError where a name or value is not one."""
    return Limits.model_validate(dict(changed))
