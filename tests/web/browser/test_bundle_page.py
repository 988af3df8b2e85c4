"""The page of a case bundle in a real browser, with the network off."""

from __future__ import annotations

import zipfile
from pathlib import Path

from tests.export.conftest import store, whole
from tests.web.browser.conftest import Phone

__all__ = ["store", "whole"]  # fixtures


def test_the_page_opens_with_the_network_off_and_shows_struck_values_and_photos(
    phone: Phone, whole: Path, tmp_path: Path
) -> None:
    with zipfile.ZipFile(whole) as bundle:
        bundle.extractall(tmp_path)
    screen = {"width": 1100, "height": 1600, "deviceScaleFactor": 1, "mobile": False}
    phone.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    phone.driver.execute_cdp_cmd("Network.enable", {})
    off = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
    phone.driver.execute_cdp_cmd("Network.emulateNetworkConditions", off)
    phone.driver.get((tmp_path / "CH-014/record.html").as_uri())
    assert phone.find("h1").text == "CH-014: record of samples"
    row = phone.driver.find_element("xpath", "//tr[td='Seal' and .//s]")
    assert row.find_element("css selector", "s").text == "5103"
    assert "misread" in row.text
    assert phone.find("svg.timeline").size["width"] > 900
    phone.script("document.querySelectorAll('img').forEach((image) => { image.loading = 'eager' })")
    drawn = "return [...document.images].map((image) => image.complete && image.naturalWidth)"
    phone.until(lambda: phone.script(drawn) == [640, 640])
    asked = phone.script("return performance.getEntriesByType('resource').map((one) => one.name)")
    assert all(url.startswith(("file:", "data:")) for url in asked)
    phone.keep_picture("bundle")


def test_on_a_phone_the_page_is_no_wider_than_the_screen_and_each_cell_says_what_it_is(
    phone: Phone, whole: Path, tmp_path: Path
) -> None:
    with zipfile.ZipFile(whole) as bundle:
        bundle.extractall(tmp_path)
    phone.driver.get((tmp_path / "CH-014/record.html").as_uri())
    assert phone.script("return document.documentElement.scrollWidth") <= 360
    wide = "return [...document.querySelectorAll('td')].filter((one) => one.scrollWidth > one.clientWidth).length"
    assert phone.script(wide) == 0
    said = "return getComputedStyle(document.querySelector('[data-head=Exception], [data-head=To]'), '::before').content"
    assert phone.script(said) == '"To: "'
    assert phone.find("svg.timeline").size["width"] > 900  # it scrolls in its own frame
    assert phone.script("const one = document.querySelector('.scroll'); return one.clientWidth < one.scrollWidth")
    phone.keep_picture("bundle-phone")
