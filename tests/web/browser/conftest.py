"""A real browser (Debian's Chromium, driven over W3C WebDriver), the size of a phone."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

CHROMIUM, CHROMEDRIVER = shutil.which("chromium"), shutil.which("chromedriver")
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=360,740",
)
WAIT_S = 20


class Phone:
    """A browser of 360 by 740, as a person holds it."""

    def __init__(self, folder: Path) -> None:
        options = webdriver.ChromeOptions()
        options.binary_location = str(CHROMIUM)
        for flag in (*FLAGS, f"--user-data-dir={folder}"):
            options.add_argument(flag)
        self.driver = webdriver.Chrome(options, Service(str(CHROMEDRIVER)))
        screen = {"width": 360, "height": 740, "deviceScaleFactor": 2, "mobile": True}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)

    def open(self, url: str) -> None:
        self.driver.get(url)
        self.until(self.ready)

    def script(self, code: str, *values: object) -> Any:
        return self.driver.execute_script(code, *values)

    def until(self, holds: Callable[[], object]) -> None:
        """Wait for it; a page that is being replaced meanwhile is looked at again."""
        moving = (NoSuchElementException, StaleElementReferenceException)
        WebDriverWait(self.driver, WAIT_S, 0.05, ignored_exceptions=moving).until(lambda _: holds())

    def ready(self) -> bool:
        """Whether a log is open and its script runs: it says at once whether there is a line."""
        return bool(self.driver.find_elements(By.ID, "state")) and self.state() != ""

    def find(self, css: str) -> Any:
        return self.driver.find_element(By.CSS_SELECTOR, css)

    def lines(self) -> list[str]:
        rows = self.script("return [...document.querySelectorAll('.line')].map((line) => line.innerText)")
        return [" ".join(row.split()) for row in rows]

    def says(self, words: str) -> bool:
        return any(words in line for line in self.lines())

    def state(self) -> str:
        return str(self.find("#state").text)

    def type(self, text: str) -> None:
        self.find("#text").send_keys(text)
        self.find("#send").click()

    def button(self, label: str) -> Any:
        return self.driver.find_element(By.XPATH, f"//button[normalize-space()='{label}']")

    def worker_ready(self) -> bool:
        """Whether the service worker has the page and holds the bare log."""
        return bool(
            self.script(
                "return navigator.serviceWorker.controller"
                " && caches.match('/chat/shell').then((kept) => kept !== undefined)"
            )
        )

    def keep_picture(self, name: str) -> None:
        if folder := os.environ.get("COLDJAR_SCREENSHOTS"):
            self.driver.save_screenshot(str(Path(folder) / f"{name}.png"))


@pytest.fixture
def phone(tmp_path: Path) -> Iterator[Phone]:
    if CHROMIUM is None or CHROMEDRIVER is None:
        pytest.skip("no chromium and chromedriver here: the pages were not looked at")
    phone = Phone(tmp_path / "profile")
    yield phone
    phone.driver.quit()
