"""What each role sees of the register over a real service: by the table of roles, and never a seal it is to read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from urllib.parse import quote

import httpx
import pytest

from tests.page.conftest import Running, press
from tests.page.test_register import jar_of, words


def test_a_responder_sees_their_own_case_and_no_other(responder: httpx.Client) -> None:
    assert "CH-900" not in responder.get("/register").text
    assert responder.get("/register/case", params={"of": "CH-014"}).status_code == 200
    assert responder.get("/register/case", params={"of": "CH-900"}).status_code == 403


@pytest.mark.parametrize("path", ["/register/people", "/register/file/jars.csv?of=CH-014"])
def test_what_a_role_may_not_see_is_refused_in_a_sentence(path: str, responder: httpx.Client) -> None:
    answer = responder.get(path)
    assert answer.status_code == 403
    assert "That is not for your role to see." in answer.text


@pytest.mark.parametrize("who", ["S1", "R1", "C1", "A1"])
def test_every_way_that_a_sheet_offers_is_open_to_whoever_reads_it(who: str, played: Running) -> None:
    with played.chat(who) as client:
        press(client, played.page_link(client))
        waiting, seen = ["/register"], {"/register"}
        while waiting:
            page = client.get(path := waiting.pop())
            held_back = who == "C1" and path.endswith("jars.csv?of=CH-014")  # they are to read a seal that stands in it
            assert page.status_code == (409 if held_back else 200), (who, path)
            found = re.findall(r'(?:href|src)="(/register[^"]*)"', page.text)
            new = {one for one in found if "/file/" not in one or "jars.csv" in one} - seen
            waiting, seen = [*waiting, *new], seen | new
            if who == "A1":  # by the table of roles they see no custody, no evidence and take no alert
                assert not re.search("With whom.*<svg|/file/photo|I take it|/register/custody", page.text, re.DOTALL)
        assert len(seen) > 5


@pytest.mark.parametrize("path", ["/case?of=CH-999", "/jar?of=CH-014%2399", "/jar?of=x", "/nothing", "/file/x?of=CH-014"])
def test_what_is_not_there_is_a_sentence(path: str, supervisor: httpx.Client) -> None:
    answer = supervisor.get(f"/register{path}")
    assert answer.status_code == 404
    assert "The register is at /register." in answer.text
    assert "<title>Register</title>" in answer.text
    assert 'href="/register"' in answer.text
    assert "Open the log" not in answer.text


@pytest.fixture
def custodian(played: Running) -> Iterator[httpx.Client]:
    """A browser in which C1, to whom jar 03 is offered, reads the register."""
    with played.chat("C1") as client:
        press(client, played.page_link(client))
        yield client


def test_who_is_to_read_a_seal_is_shown_it_on_no_sheet_and_in_no_file(
    played: Running, custodian: httpx.Client, supervisor: httpx.Client
) -> None:
    of = quote(jar_of(played, "03"), safe="")
    for path in ("/case?of=CH-014", f"/jar?of={of}", "/custody?of=CH-014"):
        page = custodian.get(f"/register{path}")
        assert page.status_code == 200
        assert not {"5103", "5104"} & set(re.findall(r"\d{4}", words(page)))
    assert "5104" in supervisor.get(f"/register/jar?of={of}").text
    for name in ("jars.csv", "jars.geojson", "custody.pdf", "bundle.zip"):
        answer = custodian.get(f"/register/file/{name}?of=CH-014")
        assert answer.status_code == 409
        assert "read the jars first" in answer.text
