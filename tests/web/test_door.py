"""Coming in by a one-time link, staying signed in, and leaving."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import httpx

if TYPE_CHECKING:
    from tests.web.conftest import Served

LINK = "/in/link-for-r1"


def token_in(page: httpx.Response) -> str:
    found = re.search(r'name="token" value="([0-9a-f]{64})"', page.text)
    assert found is not None
    return found[1]


def test_looking_at_a_link_does_not_use_it_up(crew: Served) -> None:
    for _ in range(3):
        with crew.client() as preview:
            assert preview.get(LINK).status_code == 200
    with crew.signed_in("link-for-r1") as client:
        assert 'data-who="r1"' in client.get("/chat").text


def test_a_link_works_once(crew: Served) -> None:
    with crew.signed_in("link-for-r1"):
        pass
    with crew.client() as second:
        answer = second.post(LINK, data={"token": token_in(second.get(LINK))})
        assert answer.status_code == 410
        assert "Ask your supervisor for a new one." in answer.text
        assert second.get("/chat").status_code == 401


def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites(crew: Served) -> None:
    with crew.client() as client:
        answer = client.post(LINK, data={"token": token_in(client.get(LINK))})
    cookie = answer.headers["set-cookie"].lower()  # RFC 6265bis, 5.6
    assert cookie.startswith("session=")
    for attribute in ("httponly", "samesite=strict", "path=/", "max-age=2592000"):
        assert attribute in cookie
    assert "secure" not in cookie  # loopback without HTTPS would never send it back


async def test_over_https_the_cookies_are_bound_to_the_host_and_the_browser_to_https(
    crew_by_https: httpx.AsyncClient,
) -> None:
    page = await crew_by_https.get(LINK)
    assert page.headers["strict-transport-security"] == "max-age=31536000"  # RFC 6797, 6.1
    answer = await crew_by_https.post(LINK, data={"token": token_in(page)})
    for cookie in (page.headers["set-cookie"], answer.headers["set-cookie"]):
        assert cookie.startswith("__Host-")  # RFC 6265bis, 4.1.3.2
        assert "secure" in cookie.lower()
    assert 'data-who="r1"' in (await crew_by_https.get("/chat")).text


def test_a_link_cannot_be_pressed_from_another_site_or_without_the_page(crew: Served) -> None:
    with crew.client() as client:
        token = token_in(client.get(LINK))
        foreign = {"sec-fetch-site": "cross-site"}
        assert client.post(LINK, data={"token": token}, headers=foreign).status_code == 403
        assert client.post(LINK, data={"token": "0" * 64}).status_code == 403
        assert client.post(LINK).status_code == 403
    with crew.client() as another:
        assert another.post(LINK, data={"token": token}).status_code == 403
    assert "link-for-r1" in crew.line.links


def test_signing_out_ends_the_session_itself(crew: Served) -> None:
    with crew.signed_in("link-for-r1") as client:
        kept = client.cookies["session"]
        answer = client.post("/out", data={"token": token_in(client.get("/chat"))})
        assert (answer.status_code, answer.headers["location"]) == (303, "/out")
        assert client.get("/chat").status_code == 401
        client.cookies.set("session", kept)
        assert client.get("/chat").status_code == 401
        assert client.get("/out").headers["cache-control"] == "no-store"


def test_nobody_can_be_signed_out_from_another_site(crew: Served) -> None:
    with crew.signed_in("link-for-r1") as client:
        token = token_in(client.get("/chat"))
        foreign = {"origin": "https://elsewhere.example"}
        assert client.post("/out", data={"token": token}, headers=foreign).status_code == 403
        assert client.get("/chat").status_code == 200


def test_the_next_person_on_a_phone_ends_the_session_of_the_last(crew: Served) -> None:
    with crew.signed_in("link-for-r1") as client:
        old = client.cookies["session"]
        token = token_in(client.get("/in/link-for-r2"))
        client.post("/in/link-for-r2", data={"token": token})
        assert 'data-who="r2"' in client.get("/chat").text
    assert old not in crew.line.sessions


def test_without_a_session_every_page_says_how_to_get_a_link_and_nothing_else(crew: Served) -> None:
    with crew.client() as client:
        assert client.get("/").headers["location"] == "/chat"
        for path in ("/chat", "/chat/shell"):
            page = client.get(path)
            assert page.status_code == 401
            assert "Ask your supervisor for a sign-in link" in page.text
            assert "Corrowby Haven" not in page.text
        assert client.get("/chat/stream").status_code == 401
        assert client.post("/chat/plain", data={"text": "03"}).status_code == 401
    assert crew.line.taken == {}


def test_a_cookie_or_a_link_that_could_not_be_ours_is_no_session(crew: Served) -> None:
    with crew.client(cookie="session=../../etc; visit=x") as client:
        assert client.get("/chat").status_code == 401
    with crew.client() as client:
        page = client.get("/in/%00%ff%20x")
        assert client.post("/in/%00%ff%20x", data={"token": token_in(page)}).status_code == 410
