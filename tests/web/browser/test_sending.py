"""What is said on the page reaches the line exactly once, whatever happens to the connection."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image
from selenium.webdriver.common.by import By

if TYPE_CHECKING:
    from tests.web.browser.conftest import Phone
    from tests.web.conftest import Served


@contextmanager
def network_page(port: int) -> Iterator[list[str]]:
    """A server that answers everything with a page of its own, as a network that wants a sign-in does."""
    asked: list[str] = []

    class Page(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.rfile.read(int(self.headers["content-length"]))
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()
            self.wfile.write(b"<p>Welcome to the network</p>")

        def log_message(self, *args: object) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", port), Page) as server:
        serving = threading.Thread(target=server.serve_forever, args=(0.05,))
        serving.start()
        try:
            yield asked
        finally:
            server.shutdown()
            serving.join()


def test_what_is_said_without_a_line_waits_through_a_reload_and_goes_exactly_once(
    demo: Served, phone: Phone
) -> None:
    phone.open(demo.url + "/chat")
    phone.until(phone.worker_ready)
    phone.type("02 blank")
    phone.until(lambda: phone.says("heard 02 blank"))
    demo.stop()
    phone.type("03 sheen 1002 seal 5103")
    phone.type("04 thick 1016 seal 5104")
    phone.until(lambda: "2 not sent yet, kept on this phone" in phone.state())
    phone.keep_picture("waiting")
    phone.open(demo.url + "/chat")
    assert [line.partition(" YOU ")[2] for line in phone.lines()] == [
        "03 sheen 1002 seal 5103 waiting, not sent yet",
        "04 thick 1016 seal 5104 waiting, not sent yet",
    ]
    phone.keep_picture("opened-without-a-line")
    demo.start()
    phone.until(lambda: phone.says("heard 04 thick"))
    phone.until(lambda: "nothing waits" in phone.state())
    said = ["02 blank", "03 sheen 1002 seal 5103", "04 thick 1016 seal 5104"]
    assert [taken.text for taken in demo.line.taken.values()] == said
    assert demo.line.deliveries == 3
    assert not phone.says("waiting, not sent yet")
    by_person = [line.partition(" YOU ")[2] for line in phone.lines() if " YOU " in line]
    assert by_person == said
    assert phone.lines()[1].endswith("heard 02 blank")
    assert len(phone.driver.find_elements(By.CSS_SELECTOR, ".day")) == 1


def test_a_page_put_in_between_by_a_network_is_not_taken_for_the_line(demo: Served, phone: Phone) -> None:
    phone.open(demo.url + "/chat")
    demo.stop()
    with network_page(demo.port) as asked:
        phone.type("05 lumps")
        phone.until(lambda: "/chat/messages" in asked)
        phone.until(lambda: asked.count("/chat/messages") > 1)
        assert phone.says("05 lumps waiting, not sent yet")
    demo.start()
    phone.until(lambda: phone.says("heard 05 lumps"))
    assert [taken.text for taken in demo.line.taken.values()] == ["05 lumps"]


def test_a_photo_arrives_byte_for_byte(demo: Served, phone: Phone, tmp_path: Path) -> None:
    photo = tmp_path / "jar.jpg"
    Image.effect_noise((640, 480), 80).save(photo, exif=Image.Exif())
    phone.open(demo.url + "/chat")
    phone.find("#photos").send_keys(str(photo))
    phone.until(lambda: phone.find("#ready").is_displayed())
    phone.keep_picture("photo-ready")
    phone.type("03 seal")
    phone.until(lambda: phone.says("heard 03 seal"))
    (taken,) = demo.line.taken.values()
    (attachment,) = taken.attachments
    original = photo.read_bytes()
    assert (attachment.sha256, attachment.size, attachment.name) == (
        sha256(original).hexdigest(),  # FIPS 180-4, as Python's library computes it
        len(original),
        "jar.jpg",
    )


def test_a_text_that_is_not_taken_stays_with_its_sentence_and_holds_nothing_up(
    demo: Served, phone: Phone
) -> None:
    phone.open(demo.url + "/chat")
    phone.script("document.getElementById('text').removeAttribute('maxlength')")
    phone.script("document.getElementById('text').value = 'x'.repeat(10001)")
    phone.find("#send").click()
    phone.type("05 next")
    phone.until(lambda: phone.says("heard 05 next"))
    refused, said, answer = (line[6:] for line in phone.lines())
    assert refused.endswith("not taken: That text is over 10000 characters; send it in parts. Remove")
    assert (said.startswith("YOU 05 next"), answer) == (True, "LINE heard 05 next")
    phone.button("Remove").click()
    phone.until(lambda: not phone.says("not taken"))
    phone.until(lambda: "nothing waits" in phone.state())


def test_an_answer_that_overtakes_the_receipt_stands_below_what_it_answers(
    demo: Served, phone: Phone
) -> None:
    phone.open(demo.url + "/chat")
    phone.until(lambda: "Connected" in phone.state())
    demo.line.receipts.clear()
    phone.type("03 sheen")
    phone.type("04 thick")
    phone.until(lambda: phone.says("heard 03 sheen") and phone.says("04 thick waiting"))
    in_order = [line[6:] for line in phone.lines()]
    demo.line.receipts.set()
    assert in_order == [
        "YOU 03 sheen waiting, not sent yet",
        "LINE heard 03 sheen",
        "YOU 04 thick waiting, not sent yet",
    ]
    phone.until(lambda: phone.says("heard 04 thick"))


def test_a_call_for_help_that_waits_says_where_else_to_call(demo: Served, phone: Phone) -> None:
    phone.open(demo.url + "/chat")
    demo.line.full = True
    phone.type("sos man overboard")
    phone.until(lambda: phone.says("not sent yet. Use radio or call your emergency number now."))


def test_two_open_tabs_send_a_waiting_text_once_and_both_show_it_taken(demo: Served, phone: Phone) -> None:
    phone.open(demo.url + "/chat")
    phone.until(phone.worker_ready)
    first = phone.driver.current_window_handle
    phone.driver.switch_to.new_window("tab")
    phone.open(demo.url + "/chat")
    demo.stop()
    phone.type("06 source 1051")
    phone.until(lambda: phone.says("06 source 1051 waiting, not sent yet"))
    phone.driver.switch_to.window(first)
    phone.until(lambda: phone.says("06 source 1051 waiting, not sent yet"))
    demo.start()
    phone.until(lambda: phone.says("heard 06 source 1051"))
    phone.until(lambda: not phone.says("waiting, not sent yet"))
    assert [taken.text for taken in demo.line.taken.values()] == ["06 source 1051"]


def test_what_one_person_has_not_sent_is_never_sent_for_the_next(crew: Served, phone: Phone) -> None:
    phone.driver.get(crew.url + "/in/link-for-r1")
    phone.find("button").click()
    phone.until(phone.ready)
    phone.until(phone.worker_ready)
    crew.line.full = True
    phone.type("08 said by R1")
    phone.until(lambda: "1 not sent yet" in phone.state())
    phone.button("Sign out").click()
    phone.until(lambda: "until you sign in again" in phone.state())
    phone.button("Sign out").click()
    phone.until(lambda: "not signed in on this phone" in phone.find("h1").text)
    phone.until(lambda: phone.script("return caches.keys().then((names) => names.length)") == 0)
    crew.line.full = False
    phone.driver.get(crew.url + "/in/link-for-r2")
    phone.find("button").click()
    phone.until(phone.ready)
    phone.type("09 said by R2")
    phone.until(lambda: phone.says("heard 09 said by R2"))
    assert not phone.says("08 said by R1")
    assert [(taken.account, taken.text) for taken in crew.line.taken.values()] == [("r2", "09 said by R2")]
