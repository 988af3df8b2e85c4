"""The register in a real browser, on a phone and on a desk; accessibility by axe-core's own rules."""

from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path
from typing import Any

import axe_core_python
import httpx
import pytest
from selenium.webdriver.common.by import By

from tests.page.conftest import Running
from tests.page.test_register import SHEETS
from tests.web.browser.conftest import Phone, phone

__all__ = ["phone"]  # the fixture
AXE = (files(axe_core_python) / "axe.min.js").read_text(encoding="utf-8")
SIZES = {"phone": (360, 740), "desk": (1440, 900)}


@pytest.fixture
def reader(phone: Phone, played: Running, supervisor: httpx.Client) -> Phone:
    """A browser in which S1 reads the register."""
    phone.driver.get(f"{played.url}/out")
    phone.driver.add_cookie({"name": "page", "value": supervisor.cookies["page"], "sameSite": "Strict"})
    return phone


def sized(phone: Phone, size: str) -> None:
    width, height = SIZES[size]
    screen = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": size == "phone"}
    phone.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)


@pytest.mark.parametrize("size", SIZES)
def test_every_sheet_fits_and_breaks_no_rule_of_accessibility(size: str, reader: Phone, played: Running) -> None:
    sized(reader, size)
    for path in SHEETS:
        reader.driver.get(f"{played.url}/register{path}")
        assert reader.script("return document.documentElement.scrollWidth") <= SIZES[size][0], path
        reader.script(AXE)
        found: Any = reader.driver.execute_async_script("axe.run().then(arguments[arguments.length - 1])")
        assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == [], path
        assert len(found["passes"]) > 10


def test_what_is_pressed_on_a_phone_is_large_enough_for_gloves(reader: Phone, played: Running) -> None:
    # 44 CSS pixels: WCAG 2.2, 2.5.5; 24 for a link in a table's line: 2.5.8.
    sized(reader, "phone")
    heights = "return [...document.querySelectorAll(arguments[0])].map((one) => one.getBoundingClientRect().height)"
    for path in SHEETS:
        reader.driver.get(f"{played.url}/register{path}")
        for what, least in (("nav a, li a, .way a, button", 44), ("td a", 24)):
            assert all(height >= least for height in reader.script(heights, what)), (path, what)


def test_no_head_stands_on_a_phone_before_nothing(reader: Phone, played: Running) -> None:
    sized(reader, "phone")
    reader.driver.get(f"{played.url}/register/custody?of=CH-014")
    shown = "return [...document.querySelectorAll('td')].filter((one) => one.offsetParent).map((one) => one.innerText.trim())"
    cells = reader.script(shown)
    assert cells
    assert "" not in cells


def test_what_needs_somebody_stands_in_one_line_on_a_desk(reader: Phone, played: Running) -> None:
    sized(reader, "desk")
    reader.driver.get(f"{played.url}/register")
    lines = "return [...document.querySelectorAll('[data-head=Since] div')].map((one) => one.getClientRects()[0].height)"
    heights = reader.script(lines)
    assert heights
    assert max(heights) < 30  # one line of it, at 106 % of 16 px and 1.4


def test_a_drawing_of_custody_scrolls_in_its_own_frame_on_a_phone(reader: Phone, played: Running) -> None:
    sized(reader, "phone")
    reader.driver.get(f"{played.url}/register/custody?of=CH-014")
    assert reader.script("const one = document.querySelector('.scroll'); return one.scrollWidth > 2 * one.clientWidth")


def test_nothing_is_asked_of_another_host(reader: Phone, played: Running) -> None:
    for path in SHEETS:
        reader.driver.get(f"{played.url}/register{path}")
        asked = reader.script("return performance.getEntriesByType('resource').map((one) => one.name)")
        assert all(str(one).startswith((played.url, "data:")) for one in asked)


def test_an_open_sheet_shows_what_is_told_meanwhile(reader: Phone, played: Running) -> None:
    reader.driver.get(f"{played.url}/register")
    reader.until(lambda: "keeps itself up to date" in reader.find("#state").text)
    with played.chat("R1") as client:
        client.post("/chat/messages", json={"id": os.urandom(8).hex(), "text": "08 spill 1002 48.9N 19.9510W seal 5108"})
    reader.until(lambda: "CH-014 jar 08" in reader.find("#sheet").text)


def test_without_script_every_sheet_says_the_same(supervisor: httpx.Client, reader: Phone, played: Running) -> None:
    reader.driver.get(f"{played.url}/register/kits")
    for cell in reader.driver.find_elements(By.CSS_SELECTOR, "td"):
        assert cell.text in supervisor.get("/register/kits").text


def test_the_sheets_are_kept_as_pictures(reader: Phone, played: Running, tmp_path: Path) -> None:
    folder = Path(os.environ.get("COLDJAR_SCREENSHOTS") or tmp_path)
    for size in SIZES:
        sized(reader, size)
        for name, path in (("register", ""), ("custody", "/custody?of=CH-014"), ("case", "/case?of=CH-014")):
            reader.driver.get(f"{played.url}/register{path}")
            picture = folder / f"{name}-{size}.png"
            assert reader.driver.save_screenshot(str(picture))
            assert picture.stat().st_size > 5_000


def test_a_link_is_opened_by_its_one_button(phone: Phone, played: Running) -> None:
    with played.chat("S1") as client:
        link = played.page_link(client)
    phone.driver.get(f"{played.url}{link}")
    phone.find("button").click()
    phone.until(lambda: phone.driver.current_url == f"{played.url}/register")
