"""New lines as server-sent events, read as the WHATWG HTML standard (9.2.6) says."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import islice
from typing import TYPE_CHECKING, Any

import httpx

if TYPE_CHECKING:
    from tests.web.conftest import Served


def events(answer: httpx.Response) -> Iterator[tuple[str, str, str]]:
    """Each dispatched event as (event, id, data); comments as ("", "", text)."""
    event, last_id, data = "message", "", ""
    for line in answer.iter_lines():
        name, _, value = line.partition(":")
        value = value.removeprefix(" ")
        if line.startswith(":"):
            yield "", "", value
        elif name == "event":
            event = value
        elif name == "id":
            last_id = value
        elif name == "data":
            data += value
        elif line == "":
            yield event, last_id, data
            event, data = "message", ""


def lines(found: Iterator[tuple[str, str, str]], count: int, kind: str = "line") -> list[tuple[str, Any]]:
    """The next `count` lines of the log as (id, line)."""
    only = ((last_id, json.loads(data)) for event, last_id, data in found if event == kind)
    return [next(only) for _ in range(count)]


def test_lines_come_with_their_rows_first_what_was_missed_then_what_is_new(demo: Served) -> None:
    for text in ("one", "two", "three"):
        demo.say(text)
    with demo.client() as client, client.stream("GET", "/chat/stream?after=1") as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        found = events(answer)
        assert [(row, line["text"]) for row, line in lines(found, 2)] == [("2", "two"), ("3", "three")]
        demo.say("four")
        assert [(row, line["text"]) for row, line in lines(found, 1)] == [("4", "four")]


def test_after_a_cut_the_browser_names_the_last_line_it_has(demo: Served) -> None:
    for text in ("one", "two", "three"):
        demo.say(text)
    again = {"last-event-id": "2"}
    with demo.client() as client, client.stream("GET", "/chat/stream?after=0", headers=again) as answer:
        assert [line["text"] for _, line in lines(events(answer), 1)] == ["three"]


def test_a_page_without_a_line_is_given_the_last_ones_of_both_sides(demo: Served) -> None:
    with demo.client() as client:
        client.post("/chat/messages", json={"id": "0a1b2c3d", "text": "jar"})
        with client.stream("GET", "/chat/stream") as answer:
            found = events(answer)
            told = [(line["who"], line["text"], line["key"]) for _, line in lines(found, 2, "past")]
            assert told == [("you", "jar", "in:r1:0a1b2c3d"), ("line", "heard jar", "out:2")]
            demo.say("next")
            assert [line["text"] for _, line in lines(found, 1)] == ["next"]


def test_a_quiet_line_is_heard_to_beat(demo: Served) -> None:
    with demo.client() as client, client.stream("GET", "/chat/stream?after=0") as answer:
        found = events(answer)
        assert next(found) == ("", "", "still here")
        assert next(found)[0] == "beat"


def test_a_page_that_goes_leaves_nothing_behind(demo: Served) -> None:
    bell = demo.line.bell
    with demo.client() as client, client.stream("GET", "/chat/stream?after=0") as answer:
        found = events(answer)
        next(found)
        assert bell.addresses == {"web:r1"}
    demo.until(lambda: bell.addresses == frozenset())


def test_a_session_that_ends_ends_its_open_page(crew: Served) -> None:
    with crew.signed_in("link-for-r1") as client, client.stream("GET", "/chat/stream?after=0") as answer:
        found = events(answer)
        next(found)
        crew.line.sessions.clear()
        crew.say("to R1 only")
        left = [event for event, _, _ in islice(found, 40)]
        assert len(left) < 40
        assert "line" not in left


def test_lines_of_one_person_never_reach_another(crew: Served) -> None:
    with crew.signed_in("link-for-r2") as client:
        crew.say("to R1 only")
        with client.stream("GET", "/chat/stream?after=0") as answer:
            found = events(answer)
            assert [next(found)[0] for _ in range(4)] == ["", "beat", "", "beat"]
