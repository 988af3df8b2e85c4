"""What is told of coolers."""

from __future__ import annotations

from .base import Body

__all__ = [
    "CoolerRead",
]


class CoolerRead(Body):
    """A cooler's check bottle read this. `at` is ISO 8601 with offset; Celsius."""

    cooler: str
    celsius: float
    raw: str
    at: str
    at_us: int
    unit_derived: bool = False
    ice_left: str | None = None
    for_sample: str | None = None
