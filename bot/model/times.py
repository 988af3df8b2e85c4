"""Instants as integer microseconds UTC, and their ISO 8601 forms."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

MINUTE_US = 60_000_000
HOUR_US = 60 * MINUTE_US
DAY_US = 24 * HOUR_US
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_ONE_US = timedelta(microseconds=1)


def us_of(moment: datetime) -> int:
    """The instant of an aware datetime. Raises ValueError where it has no offset."""
    if moment.tzinfo is None:
        raise ValueError("an instant needs an offset, like +01:00 or Z")
    return (moment - _EPOCH) // _ONE_US


def us_of_iso(text: str) -> int:
    """The instant of an ISO 8601 text with an offset. Raises ValueError where it is not one."""
    return us_of(datetime.fromisoformat(text))


def offset_minutes(text: str) -> int:
    """The offset from UTC of an ISO 8601 text. Raises ValueError where it has none."""
    offset = datetime.fromisoformat(text).utcoffset()
    if offset is None:
        raise ValueError("an instant needs an offset, like +01:00 or Z")
    return int(offset.total_seconds() // 60)


def utc(us: int) -> datetime:
    """The instant as an aware datetime in UTC."""
    return _EPOCH + timedelta(microseconds=us)


def iso_utc(us: int) -> str:
    """Like 2026-10-12T08:31:00Z; a fraction only where there is one."""
    return utc(us).isoformat().replace("+00:00", "Z")


def iso_at(us: int, offset_minutes: int) -> str:
    """The instant in ISO 8601 with this offset."""
    return utc(us).astimezone(timezone(timedelta(minutes=offset_minutes))).isoformat()
