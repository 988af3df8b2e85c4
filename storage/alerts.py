"""Alerts as their table holds them: as raised, and as they stand."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any

from bot.model.alert import Alert
from bot.model.keys import Key

from .database import Tx
from .engine import Found, Look

COLUMNS = "id, kind, subject, state, raised_us, doc, handle, incident, told_us, standing"
_NAMED = {"alert": "id", "alert_kind": "kind", "level": "level", "subject": "subject", "told": "told"}
# The last condition finds few: those told lately; the older ones count under no budget.
LOOKUPS = {
    "alert_of": "kind = $1 AND subject = $2 ORDER BY raised_us DESC LIMIT 2",
    "alerts_called": "handle = $1 AND state = 'open' ORDER BY raised_us DESC LIMIT 50",
    "alerts_open": "state = 'open' ORDER BY raised_us DESC LIMIT 500",
    "alert_pushed": "incident = $1 ORDER BY told_us DESC LIMIT 20",
}


def row_of(alert: Alert) -> tuple[Any, ...]:
    """The alert's whole row."""
    raised: dict[str, Any] = {name: getattr(alert, field) for name, field in _NAMED.items()}
    state = "open" if alert.is_open else "closed"
    return (
        alert.id,
        alert.kind,
        alert.subject,
        state,
        alert.raised_us,
        _json({**raised, "sample": None}),
        alert.handle,
        alert.incident,
        alert.told_us,
        _json(alert.model_dump(mode="json")),
    )


async def put(tx: Tx, alerts: Iterable[Alert]) -> None:
    """These alerts stand in their table as they are now."""
    places = ", ".join(f"${place}" for place, _ in enumerate(COLUMNS.split(", "), 1))
    sql = f"""INSERT INTO alerts ({COLUMNS}) VALUES ({places})
    ON CONFLICT (id) DO UPDATE SET state = excluded.state, told_us = excluded.told_us,
    standing = excluded.standing"""  # noqa: S608 - names from the code
    await tx.run_many(sql, [row_of(alert) for alert in alerts])


async def under(tx: Tx, key: Key) -> list[Alert]:
    """The alerts that the store holds under a board's key."""
    sql, values = look_under(key)
    return of_rows(await tx.rows(sql, *values))


def look_under(key: Key) -> Look:
    """The SELECT for the alerts under a board's key."""
    return f"SELECT standing FROM alerts WHERE {LOOKUPS[key[0]]}", key[1:]  # noqa: S608 - as above


def of_rows(rows: Found) -> list[Alert]:
    """What these SELECTs found."""
    return [Alert.model_validate_json(standing) for (standing,) in rows]


def look_for(among: Callable[[str, str], str], ids: Iterable[str]) -> Look:
    """The SELECT for the alerts of these ids."""
    sql = f"SELECT standing FROM alerts WHERE {among('id', '$1')}"  # noqa: S608 - no values in it
    return sql, (json.dumps(sorted(set(ids))),)


async def all_of(tx: Tx) -> list[Alert]:
    """All alerts in the order they were raised."""
    rows = await tx.rows("SELECT standing FROM alerts ORDER BY raised_us, id")
    return [Alert.model_validate_json(standing) for (standing,) in rows]


def _json(value: dict[str, Any]) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
