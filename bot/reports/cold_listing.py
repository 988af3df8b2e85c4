"""Coolers as programs read them: readings with their bands, excursions as bounds, the forecast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from ..model.cold import FOREVER_US, Corrected, Life
from ..model.entries import ForecastMade
from ..model.people import Cooler
from ..model.sample import Sample
from ..model.times import MINUTE_US, iso_utc, us_of_iso
from ..rules.cold import FREEZING, Carried, Excursion, bands, excursions, water_in
from ..rules.forecast.grade import grade
from ..rules.limits import Limits

PRINTED = ("cold_freezing_c", "cold_limit_c", "cold_over_c", "cold_grace_hours")


def cooler_line(
    life: Life, cooler: Cooler | None, limits: Limits, jars: Mapping[str, Sample]
) -> dict[str, Any]:
    """One cooler; every limit that judged it stands beside, with its source."""
    water = water_in(life, jars)
    judged = bands(life, limits, water)
    return {
        "name": life.name,
        "class": cooler.cooler_class if cooler is not None else None,
        "readings": [
            {
                "at": reading.at,
                "celsius": reading.celsius,
                "raw": reading.raw,
                "by": reading.by,
                "band": band,
                "received_at": iso_utc(reading.received_us),
                "thermometer": reading.thermometer,
                "second": reading.second,
                "ice_left": reading.ice_left,
            }
            for reading, band in zip(life.readings, judged, strict=True)
        ],
        "corrections": [corrected_line(one) for one in life.corrected],
        "excursions": [_excursion(one, jars) for one in excursions(life, limits, water)],
        "forecast": forecast_line(life.forecasts[-1]) if life.forecasts else None,
        "grade": _grade(life, limits),
        "told": [told.model_dump(mode="json", exclude={"sample", "at_us"}) for told in life.told],
        "jars": [
            {
                "sample": _number(stay.sample, jars),
                "in": iso_utc(stay.from_us),
                "out": None if stay.until_us == FOREVER_US else iso_utc(stay.until_us),
            }
            for stay in life.stays
        ],
        "limits": [limit_line(name, limits) for name in PRINTED],
    }


def corrected_line(one: Corrected) -> dict[str, Any]:
    """What its author struck, in place of what; or, as `account`, what another says and nothing changed."""
    return {
        "at": one.at,
        "old": one.old,
        "new": one.new,
        "by": one.by,
        "received_at": iso_utc(one.received_us),
        "why": one.why or "none given",
        "sort": "account" if one.beside else "correction",
    }


def cold_log(line: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The readings of a cooler's line in time, those that were struck in their places and why."""
    told = [{**one, "struck": None} for one in line["readings"]]
    told += [
        {"at": one["at"], "celsius": None, "raw": one["old"], "by": one["by"], "band": None, "struck": one}
        for one in line["corrections"]
        if one["sort"] == "correction"
    ]
    return sorted(told, key=lambda one: (us_of_iso(one["at"]), one["struck"] is None))


def _grade(life: Life, limits: Limits) -> dict[str, Any] | None:
    """How its forecasts turned out, None before the first was put to the test."""
    found = grade(life, limits)
    return asdict(found) if found.forecasts else None


def limit_line(name: str, limits: Limits) -> dict[str, Any]:
    """A limit in force, with what it decides and its source."""
    return {"limit": name, "value": getattr(limits, name), "is": Limits.model_fields[name].description}


def _number(sample: str, jars: Mapping[str, Sample]) -> str:
    return jars[sample].number if sample in jars else sample


def _excursion(one: Excursion, jars: Mapping[str, Sample]) -> dict[str, Any]:
    return {**_bounds(one), "samples": sorted(_number(id_, jars) for id_ in one.samples)}


def _bounds(one: Excursion) -> dict[str, Any]:
    return {
        "sort": one.sort,
        "at_least_minutes": _minutes(one.at_least_us),
        "at_most_minutes": _minutes(one.at_most_us),
        "peak_celsius": one.peak_celsius,
        "first_out": iso_utc(one.first_out_us),
        "last_out": iso_utc(one.last_out_us),
        "last_good_before": _iso(one.last_good_before_us),
        "first_good_after": _iso(one.first_good_after_us),
        "open": one.open,
        "confirmed": one.confirmed,
    }


def carried_line(one: Carried, limits: Limits) -> dict[str, Any]:
    """An excursion as a jar carries it; its peak is the one observed while that jar was in.

    The limit that it passes stands beside, with its source.
    """
    name = "cold_freezing_c" if one.excursion.sort == FREEZING else "cold_limit_c"
    told = {"peak_celsius": one.peak_celsius, "limit": limit_line(name, limits)}
    return {"cooler": one.excursion.cooler, **_bounds(one.excursion), **told}


def forecast_line(one: ForecastMade) -> dict[str, Any]:
    """A forecast, or why there is none."""
    return {
        "made_at": iso_utc(one.made_us),
        "p10": _iso(one.p10_us),
        "p50": _iso(one.p50_us),
        "p90": _iso(one.p90_us),
        "freezing": {
            "p10": _iso(one.freezing_p10_us),
            "p50": _iso(one.freezing_p50_us),
            "p90": _iso(one.freezing_p90_us),
        },
        "limit_celsius": one.limit_c,
        "looked_until": _iso(one.until_us or None),
        "off": one.off,
        "better_with": list(one.better),
    }


def _minutes(us: int | None) -> float | None:
    """Minutes, to the second as told; nothing is rounded into or out of a bound."""
    if us is None:
        return None
    minutes = us / MINUTE_US
    return int(minutes) if minutes.is_integer() else minutes


def _iso(us: int | None) -> str | None:
    return None if us is None else iso_utc(us)
