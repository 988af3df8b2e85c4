"""The pages: what they say to the browser, and their use without script."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest

import bot.web
from bot.model.message import Choice
from bot.ports import LogLine
from bot.web.lines import open_questions, shown

if TYPE_CHECKING:
    from tests.web.conftest import Served

STATIC = Path(bot.web.__file__).parent / "static"
LISBON = ZoneInfo("Europe/Lisbon")

# The OWASP Secure Headers Project's recommended response headers, with the values that fit a page
# that only talks to itself; Clear-Site-Data is left out, for it would throw away what is not sent yet.
OWASP = {
    "x-frame-options": "DENY",
    "x-content-type-options": "nosniff",
    "x-permitted-cross-domain-policies": "none",
    "x-dns-prefetch-control": "off",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-embedder-policy": "require-corp",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


class Inline(HTMLParser):
    """What a strict content security policy would refuse in a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "style" or (tag == "script" and "src" not in told):
            self.found.append(tag)
        self.found += [name for name in told if name == "style" or name.startswith("on")]


def form_of(page: str) -> dict[str, str]:
    """The hidden fields of the form to write in."""
    return dict(re.findall(r'name="(token|id)" value="([0-9a-f]+)"', page.partition('id="say"')[2]))


@pytest.mark.parametrize("path", ["/", "/chat", "/chat/shell", "/nowhere", "/chat/stream?after=x"])
def test_every_answer_carries_the_recommended_headers(demo: Served, path: str) -> None:
    with demo.client() as client, client.stream("GET", path) as answer:
        assert {name: answer.headers.get(name) for name in OWASP} == OWASP
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'; ")
        assert "unsafe" not in policy
        for ours in ("form-action 'self'", "frame-ancestors 'none'", "base-uri 'none'"):
            assert ours in policy
        assert "geolocation=(self)" in answer.headers["permissions-policy"]
        assert "camera=(self)" in answer.headers["permissions-policy"]


def test_parts_of_the_page_are_asked_for_anew_each_time(demo: Served) -> None:
    with demo.client() as client:
        part = client.get("/static/log.js")
        assert part.headers["cache-control"] == "no-cache"
        known = {"if-none-match": part.headers["etag"]}
        assert client.get("/static/log.js", headers=known).status_code == 304  # RFC 9110, 13.1.2
        assert client.get("/sw.js").headers["content-type"].startswith("text/javascript")
        assert client.get("/static/../app.py").status_code == 404


@pytest.mark.parametrize("path", ["/", "/chat", "/chat/shell", "/nowhere"])
def test_no_page_has_script_or_style_in_it(demo: Served, path: str) -> None:
    demo.say("03: how does the oil lie?", (Choice(id="a", label="sheen"),), "matrix")
    inline = Inline()
    with demo.client() as client:
        inline.feed(client.get(path).text)
    assert inline.found == []


def test_a_request_for_another_host_is_refused(demo: Served) -> None:
    with demo.client(host="rebound.example") as client:
        assert client.get("/chat").status_code == 421  # RFC 9110, 15.5.20


def test_the_demonstration_opens_with_what_to_try_and_the_way_to_the_log(demo: Served) -> None:
    with demo.client() as client:
        page = client.get("/").text
        assert "Type jar and press Send." in page
        assert 'href="/chat"' in page
        assert "EXERCISE" in client.get("/chat").text
        assert client.get("/in/link-for-r1").status_code == 404


def test_what_is_said_cannot_become_markup(demo: Served) -> None:
    demo.say('<img src=x onerror="alert(1)">')
    with demo.client() as client:
        page = client.get("/chat").text
    assert "&lt;img src=x onerror=&#34;alert(1)&#34;&gt;" in page
    assert "<img" not in page


def test_the_form_works_without_script_and_the_answer_stands_on_the_next_page(demo: Served) -> None:
    photo = {"photo": ("jar.jpg", b"\xff\xd8 a photo")}
    with demo.client() as client:
        fields = form_of(client.get("/chat").text) | {"text": "03 sheen\r\nseal 5103"}
        answer = client.post("/chat/plain", data=fields, files=photo)
        assert (answer.status_code, answer.headers["location"]) == (303, "/chat")
        assert "heard 03 sheen" in client.get("/chat").text
    (taken,) = demo.line.taken.values()
    assert taken.text == "03 sheen\nseal 5103"
    assert [one.name for one in taken.attachments] == ["jar.jpg"]


def test_a_form_sent_twice_is_one_message_and_an_old_page_with_new_words_is_another(demo: Served) -> None:
    with demo.client() as client:
        fields = form_of(client.get("/chat").text)
        for text in ("03 sheen", "03 sheen", "04 thick"):
            files = {"photo": ("", b"")}  # what a browser sends where no file was chosen
            client.post("/chat/plain", data=fields | {"text": text}, files=files)
    assert [taken.text for taken in demo.line.taken.values()] == ["03 sheen", "04 thick"]
    assert [taken.attachments for taken in demo.line.taken.values()] == [(), ()]


def test_the_buttons_of_the_open_question_work_without_script(demo: Served) -> None:
    demo.say("03: how does the oil lie?", (Choice(id="mixed water", label="mixed"),), "matrix")
    with demo.client() as client:
        page = client.get("/chat").text
        assert '<button form="say" name="press" value="out:1 mixed water">1 mixed</button>' in page
        assert '<button form="say" name="word" value="SKIP">SKIP</button>' in page
        client.post("/chat/plain", data=form_of(page) | {"press": "out:1 mixed water"})
        client.post("/chat/plain", data=form_of(page) | {"word": "SKIP"})
    pressed, skipped = demo.line.taken.values()
    assert (pressed.press, pressed.reply_to, pressed.text) == ("mixed water", "out:1", "")
    assert (skipped.press, skipped.reply_to, skipped.text) == (None, None, "SKIP")


def test_a_form_that_is_refused_comes_back_with_its_text(demo: Served) -> None:
    with demo.client() as client:
        fields = form_of(client.get("/chat").text)
        stale = client.post("/chat/plain", data=fields | {"token": "0" * 64, "text": "05 lumps"})
        assert (stale.status_code, "05 lumps</textarea>" in stale.text) == (403, True)
        both = client.post("/chat/plain", data=fields | {"word": "SKIP", "text": "06 lumps"})
        assert (both.status_code, "06 lumps</textarea>" in both.text) == (422, True)
        demo.line.full = True
        full = client.post("/chat/plain", data=fields | {"text": "07 lumps"})
        assert (full.status_code, "07 lumps</textarea>" in full.text) == (503, True)
        assert form_of(full.text)["id"] != fields["id"]
    assert demo.line.taken == {}


def test_a_form_from_another_site_is_refused_even_with_its_token(demo: Served) -> None:
    with demo.client() as client:
        fields = form_of(client.get("/chat").text) | {"text": "03"}
        foreign: dict[str, str] = {"origin": "https://elsewhere.example"}
        assert client.post("/chat/plain", data=fields, headers=foreign).status_code == 403
        untold = {"origin": "null"}  # what a form sends under our referrer policy, on plain http
        assert client.post("/chat/plain", data=fields, headers=untold).status_code == 303
    assert len(demo.line.taken) == 1


def test_every_part_that_the_log_loads_is_kept_for_offline() -> None:
    kept = set(re.findall(r'"/static/([a-z.]+)"', (STATIC / "sw.js").read_text()))
    parts = {part.name for part in STATIC.iterdir()}
    assert kept == parts - {"sw.js", "forget.js", "register.css", "register.js"}  # the register needs a line


def line_at(at: datetime, **more: object) -> LogLine:
    at_us = int(at.timestamp()) * 1_000_000
    return LogLine("out:1", 1, at_us, True, "03 on record.", **more)  # type: ignore[arg-type]  # what each test adds


def test_a_time_that_comes_twice_in_a_night_stands_under_two_headings() -> None:
    # IANA time zone database: Europe/Lisbon goes from +01:00 to +00:00 at 2026-10-25T01:00Z.
    first = shown(line_at(datetime(2026, 10, 25, 0, 30, tzinfo=UTC)), LISBON)
    second = shown(line_at(datetime(2026, 10, 25, 1, 30, tzinfo=UTC)), LISBON)
    assert (first["time"], first["day"]) == ("01:30", "Sun 25 Oct 2026 UTC+01:00")
    assert (second["time"], second["day"]) == ("01:30", "Sun 25 Oct 2026 UTC+00:00")
    assert first["at"] == "2026-10-25T01:30:00+01:00"


def test_an_urgent_line_leaves_the_open_question_open_and_an_answer_closes_it() -> None:
    def line(key: str, *, asks: str | None = None, urgent: bool = False) -> LogLine:
        return LogLine(key, 1, 0, True, "text", asks=asks, urgent=urgent)

    question, alarm, answer = line("out:1", asks="seal"), line("out:2", urgent=True), line("out:3")
    assert open_questions([shown(one, LISBON) for one in (question, alarm)]) == {"out:1"}
    assert open_questions([shown(one, LISBON) for one in (question, alarm, answer)]) == set()


def test_photos_and_a_place_stand_with_their_line() -> None:
    at = datetime(2026, 10, 12, 9, 2, tzinfo=UTC)
    told = shown(line_at(at, photos=("a", "b"), place="47.2830N 19.9510W"), LISBON)
    assert told["more"] == ["2 photos", "47.2830N 19.9510W"]
