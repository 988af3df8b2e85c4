"""A chart in the log: beneath its figures, as wide as the phone has room, and only for whom it was sent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.reports.test_forecast_chart import drawn_text

if TYPE_CHECKING:
    from tests.web.browser.conftest import Phone
    from tests.web.conftest import Served

FIGURES = "M, C half, and one in ten under and over: 10:10 3.5 (3.0-4.0), 14:10 4.5 (3.0-8.0)."
LOOK = """const one = document.querySelector('img.drawn'), box = one.getBoundingClientRect();
return [one.complete && one.naturalWidth > 0, one.alt, box.left, box.right, box.width / box.height,
  document.documentElement.scrollWidth]"""


def test_a_chart_is_seen_whole_at_360_pixels_drawn_by_script_or_server(demo: Served, phone: Phone) -> None:
    phone.open(demo.url + "/chat")
    phone.until(lambda: "Connected" in phone.state())
    demo.say(FIGURES, drawing=drawn_text())
    phone.until(lambda: phone.script("const one = document.querySelector('img.drawn'); return one && one.complete"))
    by_script = phone.script(LOOK)
    phone.keep_picture("chart")
    phone.open(demo.url + "/chat")
    phone.until(lambda: phone.script("return document.querySelector('img.drawn').complete"))
    assert phone.script(LOOK) == by_script
    shown, alt, left, right, shape, page = by_script
    assert (shown, alt) == (True, "Chart of the figures above")
    assert 0 <= left < right <= 360
    assert right - left >= 250
    assert abs(shape - 320 / 250) < 0.02
    assert page <= 360


def test_a_drawing_is_for_whom_it_was_sent_alone(crew: Served) -> None:
    crew.say(FIGURES, drawing=drawn_text())
    with crew.signed_in("link-for-r1") as one, crew.signed_in("link-for-r2") as other, crew.client() as nobody:
        shown = one.get("/chat/drawing/1")
        assert (shown.status_code, shown.headers["content-type"]) == (200, "image/svg+xml")
        assert shown.text == drawn_text()
        assert "default-src 'none'" in shown.headers["content-security-policy"]
        assert other.get("/chat/drawing/1").status_code == 404
        assert one.get("/chat/drawing/2").status_code == 404
        assert nobody.get("/chat/drawing/1").status_code == 401
