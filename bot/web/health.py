"""`/health` and `/metrics` for the machine's own monitoring, on a loopback port of their own.

Metrics in the text format of Prometheus (OpenMetrics): figures of the line, none about people.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from prometheus_client import CollectorRegistry, Counter, Gauge, generate_latest
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from ..model.errors import StoreUnavailable
from ..model.vitals import Vitals

LONG_WAIT_S = 600  # a text that waits longer than the pump's longest pause is stuck
LEAST_FREE_BYTES = 200_000_000

Look = Callable[[], Awaitable[Vitals]]


def build_health(look: Look) -> Starlette:
    """The two pages; `look` raises StoreUnavailable where the store does not answer."""

    async def health(request: Request) -> Response:
        try:
            now = await look()
            wrong, aside = troubles(now), {} if now.writes else {"standing_by": True}
        except StoreUnavailable as problem:
            wrong, aside = [str(problem)], {}
        return JSONResponse({"ok": not wrong, "wrong": wrong, **aside}, status_code=503 if wrong else 200)

    async def metrics(request: Request) -> Response:
        try:
            text = as_metrics(await look())
        except StoreUnavailable:
            text = generate_latest(_registry(up=False))
        return Response(text, media_type=CONTENT_TYPE_PLAIN_0_0_4)

    return Starlette(routes=[Route("/health", health), Route("/metrics", metrics)])


def troubles(now: Vitals) -> list[str]:
    """One sentence for each thing that must be seen to."""
    found = [] if now.refused is None else [now.refused]
    if now.free_bytes < LEAST_FREE_BYTES:
        found.append(f"Only {now.free_bytes // 1_000_000} MB are free on the store's disk; make room.")
    if now.oldest_text_s > LONG_WAIT_S:
        minutes = int(now.oldest_text_s // 60)
        found.append(f"A text has waited {minutes} min; look at the log and at the gateways.")
    return found


def as_metrics(now: Vitals) -> bytes:
    """The line's figures as monitoring reads them."""
    registry = _registry(up=True)
    for name, what, value in (
        ("writes", "1 where this process writes the store, 0 while it stands by", int(now.writes)),
        ("texts_waiting", "Texts that wait to be sent", now.store.texts_waiting),
        ("oldest_text_seconds", "How long the oldest of them has waited", now.oldest_text_s),
        ("messages_at_desk", "Messages that came in and are not stored yet", now.at_desk),
        ("disk_free_bytes", "Free on the store's disk", now.free_bytes),
        (
            "last_message_timestamp_seconds",
            "When the last message came",
            (now.store.last_message_us or 0) / 1e6,
        ),
        ("chains", "Chains on record", now.store.chains),
    ):
        Gauge(f"coldjar_{name}", what, registry=registry).set(value)
    Counter("coldjar_entries", "Entries on record", registry=registry).inc(now.store.entries)
    Counter("coldjar_messages", "Messages on record", registry=registry).inc(now.store.messages)
    return generate_latest(registry)


def _registry(up: bool) -> CollectorRegistry:
    """Made anew each time: the store counts, not this process."""
    registry = CollectorRegistry()
    Gauge("coldjar_up", "1 where the store answers", registry=registry).set(int(up))
    return registry
