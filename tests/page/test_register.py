"""The register over a real service: who sees what, what stands first, and that looking is on record.

GeoJSON: RFC 7946, checked by `geojson-pydantic` and read by `shapely`. CSV: RFC 4180, read by Python's own reader.
"""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from pathlib import Path
from urllib.parse import quote

import bagit
import httpx
import shapely
from geojson_pydantic import FeatureCollection
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from tests.page.conftest import Running, press
from tests.test_cli import listed

SHEETS = ("", "/cases", "/case?of=CH-014", "/custody?of=CH-014", "/jar?of=CH-014%233", "/cooler?of=M", "/people", "/kits")


def words(page: httpx.Response) -> str:
    """What a page says, without its marks."""
    return " ".join(re.sub(r"<[^>]+>", " ", page.text).split())


def jar_of(played: Running, number: str) -> str:
    return next(line["id"] for line in listed("samples", played.store) if line["number"] == number)


# --- signing in ---------------------------------------------------------------------------------


def test_a_link_opens_the_register_once(played: Running) -> None:
    with played.chat("S1") as client:
        link = played.page_link(client)
        assert client.get("/register").status_code == 401
        assert press(client, link).headers["location"] == "/register"
        assert client.get("/register").status_code == 200
        used = press(client, link)
        assert used.status_code == 410
        assert "Text PAGE to the line" in used.text
        assert "supervisor" not in used.text


def test_looking_at_a_link_does_not_use_it_up(played: Running) -> None:
    with played.chat("S1") as client:
        link = played.page_link(client)
        assert client.get(link).status_code == client.get(link).status_code == 200
        assert press(client, link).status_code == 303


def test_no_link_stands_in_the_store_in_clear(played: Running) -> None:
    with played.chat("S1") as client:
        token = played.page_link(client).rpartition("/")[2]
    held = b"".join(file.read_bytes() for file in played.store.glob("coldjar.db*"))
    assert b"[page link]" in held
    assert token.encode() not in held


def test_a_session_of_the_log_does_not_open_the_register(played: Running) -> None:
    with played.chat("S1") as client:
        assert client.get("/chat").status_code == 200
        assert client.get("/register").status_code == 401


def test_signing_out_ends_the_session_and_its_stream(played: Running) -> None:
    with played.chat("S1") as client:
        press(client, played.page_link(client))
        page = client.get("/register").text
        token = re.findall(r'name="token" value="([0-9a-f]{64})"', page)[-1]
        with client.stream("GET", "/register/stream") as stream:
            lines = stream.iter_lines()
            assert next(lines) == "retry: 5000"
            kept = dict(client.cookies)
            assert client.post("/register/out", data={"token": token}).status_code == 303
            assert "" in list(lines)  # the stream comes to its end by itself
        client.cookies.update(kept)
        assert client.get("/register").status_code == 401


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(played: Running) -> None:
    with played.chat("S1") as client:
        cookie = press(client, played.page_link(client)).headers["set-cookie"]
    assert {"HttpOnly", "SameSite=strict", "Max-Age=28800"} <= set(cookie.split("; "))


def test_who_has_no_page_is_told_so(played: Running) -> None:
    with played.chat("L1") as client:
        client.post("/chat/messages", json={"id": "0a1b2c3d4e", "text": "page"})
        assert "There is no page for your role." in client.get("/chat").text


def test_who_asks_for_a_page_that_there_is_not_is_led_back_to_where_they_were(played: Running) -> None:
    with httpx.Client(base_url=played.url) as client:
        for path, way in (("/register/a/b", "register"), ("/page/a/b", "register"), ("/chat/a", "log"), ("/a", "log")):
            page = client.get(path)
            place = {"register": "/register", "log": "/chat"}[way]
            assert page.status_code == 404
            assert f"There is no page here. The {way} is at {place}." in page.text
            assert f'href="{place}"' in page.text


# --- what stands there --------------------------------------------------------------------------


def test_problems_come_first_and_exercises_last(supervisor: httpx.Client) -> None:
    said = words(supervisor.get("/register"))
    assert said.index("What needs you") < said.index("critical") < said.index("Open cases")
    assert said.index("CH-014 jar 04: Its place lies") < said.index("Open cases")
    rest = said.partition("Open cases")[2]
    assert rest.index("CH-014") < rest.index("EXERCISE CH-900")


def test_a_jar_shows_what_was_struck_where_it_stood_and_why(played: Running, supervisor: httpx.Client) -> None:
    page = supervisor.get("/register/jar", params={"of": jar_of(played, "03")})
    assert re.search(r"<s>5103</s>.*?misread.*?5104", page.text, re.DOTALL)
    assert "Confirmed by its author." in page.text


def test_a_jar_that_was_out_of_cold_says_so_on_its_sheet_and_in_its_case(
    played: Running, supervisor: httpx.Client
) -> None:
    assert "was out of range" in words(supervisor.get("/register/jar", params={"of": jar_of(played, "03")}))
    case = words(supervisor.get("/register/case", params={"of": "CH-014"}))
    assert re.search(r"03 spill, sheen .*? was out of range 04 spill", case)
    flags = {jar["number"]: jar["flags"] for jar in listed("samples", played.store)}
    assert "excursion" in flags["03"]


def test_what_was_typed_stands_as_it_was_typed_and_no_digit_is_added(played: Running, supervisor: httpx.Client) -> None:
    jar = words(supervisor.get("/register/jar", params={"of": jar_of(played, "03")}))
    assert "47.2830N 19.9510W, typed (47.283, -19.951 WGS84)" in jar
    assert "47.28300" not in jar
    other = words(supervisor.get("/register/jar", params={"of": jar_of(played, "04")}))
    assert re.search(r"Fill 50 ?% R1", other)


def test_what_needs_somebody_leads_to_its_sheet_and_says_nothing_that_its_button_does(
    supervisor: httpx.Client,
) -> None:
    page = supervisor.get("/register")
    assert "Reply MINE" not in page.text
    assert re.search(r'<a href="/register/cooler\?of=M">Cooler M', page.text)
    for path in set(re.findall(r'<a href="(/register/[^"]+)"', page.text)):
        assert supervisor.get(path.replace("&amp;", "&")).status_code == 200, path


def test_who_is_out_stands_first_with_what_they_said(supervisor: httpx.Client) -> None:
    said = words(supervisor.get("/register/people"))
    assert "R2 out, till 12 Oct 2026 17:00 +01:00 responder" in said
    assert said.index("R2 out") < said.index("C1 not out")


def test_a_case_is_drawn_with_north_its_bar_and_its_jars(supervisor: httpx.Client) -> None:
    page = supervisor.get("/register/case", params={"of": "CH-014"}).text
    drawing = page.partition("<svg")[2].partition("</svg>")[0]
    assert {">N<", ">03<", ">04<"} <= set(re.findall(r">\w+<", drawing))
    assert re.search(r">\d+ km<", drawing)
    assert "the dashed line is the operating area" in page
    assert "<polyline" in drawing


def test_custody_says_who_took_a_jar_and_what_was_read_outside_a_hand_over(supervisor: httpx.Client) -> None:
    page = supervisor.get("/register/custody?of=CH-014")
    said = words(page)
    assert "taken by R1 none due" in said  # nobody gave it to anybody: no reading is missing
    assert "None to" not in said
    assert "12 Oct 2026 10:21 +01:00 read by C1 5105" in said  # the unit's clocks, IANA Europe/Lisbon
    for name in ("exceptions", "custody"):
        paper = supervisor.get(f"/register/file/{name}.pdf?of=CH-014")
        assert "CH-014" in PdfReader(io.BytesIO(paper.content)).pages[0].extract_text()


def test_a_cooler_shows_its_record_its_bounds_and_its_forecast_apart(supervisor: httpx.Client) -> None:
    said = words(supervisor.get("/register/cooler", params={"of": "M"}))
    assert said.index("Forecast") < said.index("Out of range, as bounds") < said.index("Readings, the newest first")
    assert "8.4 C, at risk" in said
    assert said.index("4.4 C, in range") < said.index("44C struck, 4.4 instead: misread")  # in its place, at 09:45
    assert "6.0 C, at or below: in range (40 CFR 136 table II" in said  # every limit that judged it, with its source
    assert "A forecast is no record." in said


def test_words_that_people_typed_are_never_marks_of_the_page(played: Running, supervisor: httpx.Client) -> None:
    with played.chat("R1") as client:
        client.post("/chat/messages", json={"id": "0a1b2c3d5e", "text": "07 spill 1002 place <b>quay</b> seal 5107"})
    page = supervisor.get("/register/jar", params={"of": jar_of(played, "07")}).text
    assert "<b>quay</b>" not in page
    assert "&lt;b&gt;quay&lt;/b&gt;" in page


# --- doing ----------------------------------------------------------------------------------------


def test_an_alert_is_taken_with_one_button_and_the_ladder_hears_it(played: Running, supervisor: httpx.Client) -> None:
    page = supervisor.get("/register").text
    handle = re.findall(r'name="handle" value="([^"]+)"', page)[0]
    token = re.findall(r'name="token" value="([0-9a-f]{64})"', page)[0]
    assert supervisor.post("/register/take", data={"token": token, "word": "mine", "handle": handle}).status_code == 303
    (alert,) = [one for one in listed("alerts", played.store) if one["subject"].upper().endswith(handle)]
    assert alert["owner"] == "S1"
    assert f"SOLVED {handle}, with how, ends it." in supervisor.get("/register").text
    assert handle not in re.findall(r'name="handle" value="([^"]+)"', supervisor.get("/register").text)


def test_at_a_change_of_shift_each_item_is_confirmed_by_who_comes(played: Running, supervisor: httpx.Client) -> None:
    with played.chat("S1") as client:
        client.post("/chat/messages", json={"id": "0a1b2c3d6e", "text": "mine CH-014"})
    with played.chat("D1") as client:
        press(client, played.page_link(client))
        page = client.get("/register").text
        form = page.partition('value="have"')[2].partition("</form>")[0]
        handle = re.findall(r'name="handle" value="([^"]+)"', form)[0]
        token = re.findall(r'name="token" value="([0-9a-f]{64})"', page)[0]
        fields = {"token": token, "word": "have", "handle": handle}
        assert client.post("/register/take", data=fields).status_code == 303
    owners = {one["owner"] for one in listed("alerts", played.store) if one["subject"].upper().endswith(handle)}
    assert owners == {"D1"}
    assert 'value="have"' in supervisor.get("/register").text


def test_a_form_from_elsewhere_takes_nothing(supervisor: httpx.Client) -> None:
    assert supervisor.post("/register/take", data={"token": "0" * 64, "word": "mine", "handle": "M"}).status_code == 403


# --- on record ----------------------------------------------------------------------------------


def test_each_look_at_evidence_and_each_file_is_an_entry(played: Running, supervisor: httpx.Client) -> None:
    of = jar_of(played, "03")
    supervisor.get("/register/jar", params={"of": of})
    supervisor.get("/register/file/jars.csv", params={"of": "CH-014"})
    *_, looked, took = listed("entries", played.store, "--case", "CH-014")
    assert (looked["kind"], looked["author"], looked["body"]["of"]) == ("EvidenceViewed", "S1", of)
    assert (took["kind"], took["body"]["file"]) == ("FileTaken", "CH-014-jars.csv")
    assert len(took["body"]["sha256"]) == 64


def test_what_was_refused_is_no_look(played: Running, responder: httpx.Client) -> None:
    before = len(listed("entries", played.store, "--case", "CH-900"))
    responder.get("/register/case", params={"of": "CH-900"})
    assert len(listed("entries", played.store, "--case", "CH-900")) == before


# --- files --------------------------------------------------------------------------------------


def test_the_places_are_geojson_that_others_read(supervisor: httpx.Client) -> None:
    answer = supervisor.get("/register/file/jars.geojson", params={"of": "CH-014"})
    assert answer.headers["content-type"] == "application/geo+json"  # RFC 7946, 12
    FeatureCollection.model_validate_json(answer.content)
    features = {one["properties"]["number"]: one for one in answer.json()["features"]}
    point = shapely.from_geojson(json.dumps(features["03"]["geometry"]))
    assert (point.x, point.y) == (-19.951, 47.283)
    assert features["07"]["geometry"] is None  # 3.2: unlocated
    assert features["03"]["properties"]["seal"] == "5104"


def test_the_table_is_csv_with_one_row_a_jar(played: Running, supervisor: httpx.Client) -> None:
    answer = supervisor.get("/register/file/jars.csv", params={"of": "CH-014"})
    rows = list(csv.DictReader(io.StringIO(answer.text, newline="")))
    assert {row["number"]: row["seal"] for row in rows}["03"] == "5104"
    flags = {row["number"]: row["flags"].split() for row in rows}
    assert flags == {jar["number"]: jar["flags"] for jar in listed("samples", played.store, "--case", "CH-014")}
    assert "excursion" in flags["03"]
    assert "attachment" in answer.headers["content-disposition"]


def test_papers_and_the_bundle_are_handed_out_whole(played: Running, supervisor: httpx.Client, tmp_path: Path) -> None:
    paper = supervisor.get("/register/file/custody.pdf", params={"of": "CH-014"})
    assert "CH-014" in PdfReader(io.BytesIO(paper.content)).pages[0].extract_text()
    answer = supervisor.get("/register/file/bundle.zip", params={"of": "CH-014"})
    zipfile.ZipFile(io.BytesIO(answer.content)).extractall(tmp_path)
    (bag,) = tmp_path.iterdir()
    assert bagit.Bag(str(bag)).is_valid()  # RFC 8493, by the library bagit
    aside = played.store / "originals" / "aside"
    left = (list(aside.glob("bundle-*")) for _ in range(100) if supervisor.get("/register").is_success)
    assert [] in left  # it goes once its last byte was handed out


# --- whatever is asked --------------------------------------------------------------------------


@settings(max_examples=80, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20), st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
def test_no_address_is_a_fault_of_ours(supervisor: httpx.Client, name: str, of: str) -> None:
    for path in ("/register/", "/register/file/", "/page/"):
        query = quote(of, safe="", errors="replace")
        assert supervisor.get(f"{path}{quote(name, safe='')}?of={query}").status_code < 500
