"""What needed a person, and who took it."""

from __future__ import annotations

from .base import Body

__all__ = [
    "AlertRaised",
]


class AlertRaised(Body):
    """Something needs a person now."""

    alert: str
    alert_kind: str
    subject: str
    level: str
    told: tuple[str, ...]
