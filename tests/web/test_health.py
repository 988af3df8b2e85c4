"""What the machine's own monitoring is told."""

from __future__ import annotations

import httpx
from prometheus_client.parser import text_string_to_metric_families

from bot.model.errors import StoreUnavailable
from bot.model.vitals import StoreVitals, Vitals
from bot.web.health import build_health

NOW_US = 1_800_000_000_000_000
WELL = StoreVitals(
    chains=3, entries=41, messages=17, texts_waiting=2, oldest_text_us=NOW_US - 5_000_000, last_message_us=NOW_US
)


def line(store: StoreVitals = WELL, free_bytes: int = 10**10, refused: str | None = None) -> httpx.AsyncClient:
    async def look() -> Vitals:
        return Vitals(store=store, at_desk=4, free_bytes=free_bytes, now_us=NOW_US, refused=refused)

    return httpx.AsyncClient(transport=httpx.ASGITransport(build_health(look)), base_url="http://line")


async def test_a_line_that_is_well_says_so() -> None:
    async with line() as page:
        answer = await page.get("/health")
    assert (answer.status_code, answer.json()) == (200, {"ok": True, "wrong": []})


async def test_a_text_that_is_stuck_and_a_full_disk_are_said_in_words() -> None:
    stuck = WELL.model_copy(update={"oldest_text_us": NOW_US - 11 * 60_000_000})
    async with line(stuck, free_bytes=150_000_000) as page:
        answer = await page.get("/health")
    assert answer.status_code == 503
    assert answer.json()["wrong"] == [
        "Only 150 MB are free on the store's disk; make room.",
        "A text has waited 11 min; look at the log and at the gateways.",
    ]


async def test_a_store_that_can_be_read_and_takes_nothing_is_not_well() -> None:
    async with line(refused="The store may only be read; check the disk, and let the service write it.") as page:
        answer = await page.get("/health")
    assert (answer.status_code, answer.json()["wrong"][0][:25]) == (503, "The store may only be rea")


async def test_a_store_that_does_not_answer_is_told_with_its_sentence_and_as_a_figure() -> None:
    async def look() -> Vitals:
        raise StoreUnavailable("The store is locked by another program; close that program and send again.")

    async with httpx.AsyncClient(
        transport=httpx.ASGITransport(build_health(look)), base_url="http://line"
    ) as page:
        health, metrics = await page.get("/health"), await page.get("/metrics")
    assert health.status_code == 503
    assert "locked" in health.json()["wrong"][0]
    assert "coldjar_up 0.0" in metrics.text


async def test_every_figure_is_read_by_the_parser_of_another_library() -> None:
    # The text format's own reference parser, from prometheus-client.
    async with line() as page:
        answer = await page.get("/metrics")
    read = {
        sample.name: sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
        if not sample.name.endswith("_created")
    }
    assert read == {
        "coldjar_up": 1,
        "coldjar_writes": 1,
        "coldjar_texts_waiting": 2,
        "coldjar_oldest_text_seconds": 5,
        "coldjar_messages_at_desk": 4,
        "coldjar_disk_free_bytes": 10**10,
        "coldjar_last_message_timestamp_seconds": NOW_US / 1e6,
        "coldjar_chains": 3,
        "coldjar_entries_total": 41,
        "coldjar_messages_total": 17,
    }
