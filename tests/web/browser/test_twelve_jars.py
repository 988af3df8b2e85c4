"""A case with twelve jars, texted in a real browser to the real line."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from PIL import Image
from selenium.webdriver.common.by import By

from tests.web.browser.conftest import Phone

ROOT = Path(__file__).resolve().parents[3]
SOURCES = ("1P", "1S", "2P")


class Demo:
    """`coldjar demo` in a process and a folder of its own."""

    def __init__(self, store: Path) -> None:
        self.store = store
        self.child = subprocess.Popen(
            [sys.executable, "-m", "bot", "demo", "--port", "0", "--store", str(store)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        assert self.child.stdout is not None
        self.url = next(word for word in self.child.stdout.readline().split() if word.startswith("http"))

    def show(self, what: str) -> list[dict[str, Any]]:
        command = [sys.executable, "-m", "bot", "show", what, "--store", str(self.store), "--json"]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        found: list[dict[str, Any]] = json.loads(done.stdout)
        return found


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Demo]:
    started = Demo(tmp_path / "store")
    yield started
    with started.child:  # its output is closed with it
        started.child.terminate()


def photo(folder: Path) -> Path:
    path = folder / "shut jar.jpg"
    Image.new("RGB", (640, 480), (90, 80, 60)).save(path)
    return path


def exchange(phone: Phone, text: str, answer: str) -> None:
    before = sum(answer in line for line in phone.lines())
    phone.type(text)
    phone.until(lambda: sum(answer in line for line in phone.lines()) > before)


def test_a_case_with_twelve_jars_is_texted_from_a_phone(phone: Phone, demo: Demo, tmp_path: Path) -> None:
    phone.driver.get(demo.url)
    assert "exercise" in phone.driver.find_element(By.TAG_NAME, "body").text.lower()
    phone.keep_picture("demo-1-first-page")
    phone.find("a.button").click()
    phone.until(phone.ready)

    # One jar led by the hand, by digits, a button, a shared photo.
    exchange(phone, "jar", "in charge of safety")
    exchange(phone, "mate, cleared", "Phone and camera allowed")
    phone.keep_picture("demo-2-safety")
    phone.button("1 yes").click()
    phone.until(lambda: phone.says("What is written on the lid?"))
    exchange(phone, "01", "01: what is it?")
    phone.keep_picture("demo-3-choices")
    phone.button("3 clean water").click()
    phone.until(lambda: phone.says("clean water up-current"))
    exchange(phone, "shut now jar", "how full")
    exchange(phone, "3/4", "01: where?")
    exchange(phone, "47.2801N 19.9700W", "01: seal")
    exchange(phone, "E101", "01: photo")
    phone.find("#photos").send_keys(str(photo(tmp_path)))
    phone.find("#send").click()
    phone.until(lambda: phone.says("check bottle reads?"))
    exchange(phone, "M 4.4C", "Not stated: gloves")
    phone.keep_picture("demo-4-read-back")
    exchange(phone, "gloves changed ok", "01 on record")

    # Eight in one line each, then three sources, one of them corrected.
    for number in range(2, 10):
        line = f"{number:02d} spill sheen now 47.2801N 19.97{number:02d}W pad seal E1{number:02d}"
        exchange(phone, f"{line} gloves yes cooler M 4.4C photo", f"{number:02d} spill, sheen")
        exchange(phone, "ok", f"{number:02d} on record")
    for number, tank in enumerate(SOURCES, 10):
        line = f"{number} source tank {tank} now 47.2801N 19.9710W jar seal E1{number} drawn chief"
        exchange(phone, line, f"{number} saved, not confirmed: source, tank {tank}")
    exchange(phone, "12 seal is E121 not E112, misread", "seal E121, was E112")
    exchange(phone, "status", "Open:")
    phone.keep_picture("demo-5-status")

    jars = demo.show("samples")
    assert [jar["number"] for jar in jars] == [f"{number:02d}" for number in range(1, 13)]
    assert [jar["confirmed"] for jar in jars] == [True] * 9 + [False] * 3
    assert all(jar["exercise"] for jar in jars)
    assert jars[0]["photos"][0]["state"] == "received"
    assert jars[11]["corrections"][0]["why"] == "misread"

    # After a reload the log is as it was, and nothing is sent twice.
    before = [line for line in phone.lines() if "EXERCISE" in line][-3:]
    phone.driver.refresh()
    phone.until(phone.ready)
    assert [line for line in phone.lines() if "EXERCISE" in line][-3:] == before
    assert phone.script("return document.documentElement.scrollWidth <= window.innerWidth")
    phone.keep_picture("demo-6-after-reload")
    assert httpx.get(f"{demo.url}chat").headers["content-security-policy"].startswith("default-src 'none'")
