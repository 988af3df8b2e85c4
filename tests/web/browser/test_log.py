"""The page as a person with a phone in one hand, a keyboard or a screen reader meets it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from bot.model.message import Choice

if TYPE_CHECKING:
    from tests.web.browser.conftest import Phone
    from tests.web.conftest import Served

MATRICES = tuple(Choice(id=word, label=word) for word in ("sheen", "thick", "lumps", "mixed with water"))


def test_a_text_goes_out_and_its_answer_comes_without_a_reload(demo: Served, phone: Phone) -> None:
    phone.open(demo.url + "/chat")
    phone.script("window.sameLoad = true")
    phone.type("03 spill sheen")
    phone.until(lambda: phone.says("heard 03 spill sheen"))
    phone.until(lambda: not phone.says("not sent yet"))
    assert phone.script("return window.sameLoad") is True
    (taken,) = demo.line.taken.values()
    assert (taken.text, taken.account) == ("03 spill sheen", "r1")
    assert taken.sent_us is not None
    assert abs(taken.sent_us - taken.received_us) < 60_000_000


def test_a_pressed_choice_goes_out_with_the_line_it_answers_and_its_buttons_go(
    demo: Served, phone: Phone
) -> None:
    demo.say("03: how does the oil lie? 1 sheen 2 thick 3 lumps 4 mixed with water", MATRICES, "matrix")
    phone.open(demo.url + "/chat")
    phone.keep_picture("question")
    phone.button("1 sheen").click()
    phone.until(lambda: phone.says("heard sheen"))
    (taken,) = demo.line.taken.values()
    assert (taken.press, taken.reply_to, taken.text) == ("sheen", "out:1", "")
    assert phone.driver.find_elements(By.CSS_SELECTOR, ".answers") == []


def test_a_line_drawn_by_the_script_is_the_line_drawn_by_the_server(demo: Served, phone: Phone) -> None:
    phone.open(demo.url + "/chat")
    phone.until(lambda: "Connected" in phone.state())
    demo.say("03: how does the oil lie? <b>1</b> sheen", MATRICES, "matrix")
    phone.until(lambda: phone.says("how does the oil lie"))
    marks = (
        "return document.getElementById('log').innerHTML.replace(/\\s+/g, ' ').replace(/> </g, '><').trim()"
    )
    by_script = phone.script(marks)
    phone.open(demo.url + "/chat")
    assert phone.script(marks) == by_script
    assert "&lt;b&gt;1&lt;/b&gt;" in by_script


def test_a_position_is_shown_with_its_accuracy_before_it_is_sent(demo: Served, phone: Phone) -> None:
    grant = {"permissions": ["geolocation"], "origin": demo.url}
    phone.driver.execute_cdp_cmd("Browser.grantPermissions", grant)
    fix = {"latitude": 47.283, "longitude": -19.951, "accuracy": 12}
    phone.driver.execute_cdp_cmd("Emulation.setGeolocationOverride", fix)
    phone.open(demo.url + "/chat")
    phone.button("Position").click()
    phone.until(lambda: "47.28300N 19.95100W, within 12 m" in phone.find("#ready").text)
    assert demo.line.deliveries == 0
    phone.keep_picture("position-ready")
    phone.find("#send").click()
    phone.until(lambda: phone.says("heard that"))
    (taken,) = demo.line.taken.values()
    assert taken.position is not None
    assert taken.position.model_dump() == {"lat": 47.283, "lon": -19.951, "accuracy_m": 12.0}


def test_a_refused_position_is_said_in_a_sentence(demo: Served, phone: Phone) -> None:
    deny = {"permission": {"name": "geolocation"}, "setting": "denied", "origin": demo.url}
    phone.driver.execute_cdp_cmd("Browser.setPermission", deny)
    phone.open(demo.url + "/chat")
    phone.button("Position").click()
    phone.until(lambda: "did not allow the position" in phone.state())


def test_the_keyboard_alone_reaches_everything_in_the_order_of_the_page(demo: Served, phone: Phone) -> None:
    demo.say("03: how does the oil lie?", MATRICES[:1], "matrix")
    phone.open(demo.url + "/chat")
    reached = []
    for _ in range(9):
        webdriver.ActionChains(phone.driver).send_keys(Keys.TAB).perform()
        focused = phone.driver.switch_to.active_element
        reached.append(focused.accessible_name)
        assert phone.script("return getComputedStyle(arguments[0]).outlineWidth", focused) != "0px"
    expected = "To the message field,1 sheen,SKIP,WRONG,Message,Send,Photo,Position,? Help"
    assert reached == expected.split(",")
    phone.find("#text").send_keys("07 lumps", Keys.ENTER)
    phone.until(lambda: phone.says("heard 07 lumps"))
    assert phone.driver.switch_to.active_element.get_attribute("id") == "text"


def test_at_360_pixels_nothing_is_wider_than_the_screen_and_every_target_is_48_high(
    demo: Served, phone: Phone
) -> None:
    demo.say("To custodian: " + "x" * 200, MATRICES, "matrix")
    phone.open(demo.url + "/chat")
    assert phone.script("return innerWidth") == 360
    assert phone.script("return document.documentElement.scrollWidth") <= 360
    heights = phone.script(
        "return [...document.querySelectorAll('button, .button, textarea')]"
        ".filter((one) => one.offsetParent).map((one) => one.getBoundingClientRect().height)"
    )
    assert len(heights) == 11
    assert min(heights) >= 48  # WCAG 2.2, 2.5.5 asks for 44 CSS pixels; gloves for more


def test_what_is_typed_and_not_sent_is_there_after_a_reload(demo: Served, phone: Phone) -> None:
    phone.open(demo.url + "/chat")
    phone.find("#text").send_keys("07 lumps 10")
    phone.open(demo.url + "/chat")
    assert phone.find("#text").get_attribute("value") == "07 lumps 10"
    phone.find("#send").click()
    phone.until(lambda: phone.says("heard 07 lumps 10"))
    phone.open(demo.url + "/chat")
    assert phone.find("#text").get_attribute("value") == ""


def test_an_urgent_line_is_called_out_and_leaves_the_open_question_open(demo: Served, phone: Phone) -> None:
    demo.say("03: seal, as printed?", (), "seal")
    phone.open(demo.url + "/chat")
    phone.until(lambda: "Connected" in phone.state())
    demo.say("Cooler M 8.4 C, limit 6.0.", MATRICES[:1], urgent=True)
    phone.until(lambda: phone.says("LINE URGENT Cooler M 8.4 C, limit 6.0."))
    alarm = phone.find("#alarm")
    assert (alarm.aria_role, alarm.get_property("textContent")) == ("alert", "Cooler M 8.4 C, limit 6.0.")
    labels = [button.text for button in phone.driver.find_elements(By.CSS_SELECTOR, ".answers button")]
    assert labels == ["SKIP", "WRONG", "1 sheen"]
    demo.say("03 seal 5103.")
    phone.until(lambda: not phone.driver.find_elements(By.CSS_SELECTOR, ".answers"))
