"""Messages from the script: taken once, or refused in a sentence."""

from __future__ import annotations

import json
import socket
from hashlib import sha256
from typing import TYPE_CHECKING

import httpx
import pytest

if TYPE_CHECKING:
    from tests.web.conftest import Served

ONE_FIELD = b'--x\r\nContent-Disposition: form-data; name="text"\r\n\r\n03\r\n--x--\r\n'
ID = "0a1b2c3d-0001-4000-8000-000000000001"


def post(served: Served, **fields: object) -> httpx.Response:
    body = json.dumps({"id": ID, "text": "03 sheen"} | fields)
    with served.client() as client:
        return client.post("/chat/messages", content=body, headers={"content-type": "application/json"})


def one_sentence(answer: httpx.Response) -> str:
    sentence = str(answer.json()["sentence"])
    assert sentence.endswith(".")
    assert "\n" not in sentence
    return sentence


def test_a_message_is_taken_with_all_it_says(demo: Served) -> None:
    answer = post(
        demo,
        sent_at="2026-10-12T10:02:00+01:00",
        lat=47.283,
        lon=-19.951,
        accuracy=12,
        press="sheen",
        reply_to="out:1",
    )
    assert (answer.status_code, answer.json()) == (200, {"state": "taken", "again": False})
    (taken,) = demo.line.taken.values()
    assert taken.message_id == f"r1:{ID}"
    assert taken.address == "web:r1"
    assert (taken.text, taken.press, taken.reply_to) == ("03 sheen", "sheen", "out:1")
    assert taken.sent_us == 1_791_795_720_000_000  # date -u -d 2026-10-12T09:02Z +%s, by GNU date
    assert taken.position is not None
    assert (taken.position.lat, taken.position.lon, taken.position.accuracy_m) == (47.283, -19.951, 12)


def test_the_time_of_sending_may_be_milliseconds_since_1970(demo: Served) -> None:
    assert post(demo, sent_at=1_791_795_720_000).status_code == 200
    (taken,) = demo.line.taken.values()
    assert taken.sent_us == 1_791_795_720_000_000


def test_a_message_that_does_not_say_when_it_was_sent_is_given_no_such_time(demo: Served) -> None:
    assert post(demo).status_code == 200
    (taken,) = demo.line.taken.values()
    assert taken.sent_us is None
    assert taken.position is None


def test_a_second_delivery_is_told_as_such_and_changes_nothing(demo: Served) -> None:
    post(demo)
    again = post(demo)
    assert (again.status_code, again.json()) == (200, {"state": "taken", "again": True})
    assert len(demo.line.taken) == 1


def test_the_same_id_from_two_people_is_two_messages(crew: Served) -> None:
    for link in ("link-for-r1", "link-for-r2"):
        with crew.signed_in(link) as client:
            answer = client.post("/chat/messages", json={"id": ID, "text": "03"})
            assert answer.json() == {"state": "taken", "again": False}
    assert [taken.account for taken in crew.line.taken.values()] == ["r1", "r2"]


def test_photos_arrive_byte_for_byte_with_the_last_part_of_their_names(demo: Served) -> None:
    photos = [bytes(range(256)) * 5000, b"\r\n--boundary\r\n" * 9]
    files = [("photo", ("a\\b/jar 03.jpg", photos[0])), ("photo", ("lid\u202e.heic", photos[1]))]
    with demo.client() as client:
        answer = client.post("/chat/messages", data={"id": ID}, files=files)
    assert answer.status_code == 200
    (taken,) = demo.line.taken.values()
    assert [one.sha256 for one in taken.attachments] == [sha256(photo).hexdigest() for photo in photos]
    assert [one.name for one in taken.attachments] == ["jar 03.jpg", "lid.heic"]
    assert (demo.shelf.folder / taken.attachments[0].sha256).read_bytes() == photos[0]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"id": ""}, "no id"),
        ({"id": "short"}, "no id"),
        ({"id": "x" * 65}, "no id"),
        ({"id": "not/allowed!"}, "no id"),
        ({"text": ""}, "nothing to send"),
        ({"text": "x" * 10_001}, "over 10000 characters"),
        ({"text": "\ud83d"}, "cannot be kept"),
        ({"text": "a\x00b"}, "cannot be kept"),
        ({"lat": 47.2, "lon": "nan"}, "lacks"),
        ({"lat": "1e999", "lon": 1}, "lacks"),
        ({"lat": 47.2}, "lacks"),
        ({"lat": 90.1, "lon": 0}, "not on the globe"),
        ({"lat": 0, "lon": -180.5}, "not on the globe"),
        ({"lat": 0, "lon": 0, "accuracy": -1}, "accuracy"),
        ({"accuracy": 5}, "lacks"),
        ({"sent_at": "yesterday"}, "not a time"),
        ({"sent_at": "2026-10-12T10:02:00"}, "offset"),
        ({"sent_at": "0001-01-01T00:00+23:59"}, "out of range"),
        ({"sent_at": 99_999_999_999_999}, "out of range"),
        ({"press": "x" * 201}, "over 200 characters"),
        ({"colour": "red"}, "no field"),
        ({"text": ["03"]}, "broken"),
        ({"text": True}, "broken"),
    ],
)
def test_a_field_that_cannot_be_used_is_refused_in_one_sentence(
    long_running: Served, fields: dict[str, object], words: str
) -> None:
    answer = post(long_running, **fields)
    assert answer.status_code == 422
    assert words in one_sentence(answer)
    assert long_running.line.taken == {}


def test_a_text_of_just_ten_thousand_characters_is_taken(demo: Served) -> None:
    assert post(demo, text="ü" * 10_000).status_code == 200


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("application/json", b"[1]", 422),
        ("application/json", b"[" * 100_000, 422),
        ("application/json", b'{"id": NaN}', 422),
        ("application/json", b"\xff\xfe", 422),
        ("application/json", b"1" * 300_000, 413),
        ("text/plain", b"03 sheen", 415),
        ("", b"", 415),
        ("multipart/form-data", b"", 422),
        ("multipart/form-data; boundary=x", b"--x\r\nnonsense", 422),
        ("multipart/form-data; boundary=x; charset=undefined", ONE_FIELD, 422),
        ("application/x-www-form-urlencoded", b"%ff%00=&&&=", 422),
    ],
)
def test_a_body_that_cannot_be_read_is_refused_in_one_sentence(
    long_running: Served, kind: str, body: bytes, status: int
) -> None:
    with long_running.client() as client:
        answer = client.post("/chat/messages", content=body, headers={"content-type": kind})
    assert answer.status_code == status
    one_sentence(answer)
    assert long_running.line.taken == {}


def test_a_form_whose_last_photo_was_cut_off_is_refused_whole(demo: Served) -> None:
    part = b'--x\r\nContent-Disposition: form-data; name="%b"%b\r\n\r\n%b\r\n'
    whole = part % (b"id", b"", ID.encode()) + part % (b"text", b"", b"03")
    whole += part % (b"photo", b'; filename="a.jpg"', b"photo " * 99)
    with demo.client() as client:
        kind = {"content-type": "multipart/form-data; boundary=x"}
        cut = client.post("/chat/messages", content=whole[:-99], headers=kind)
        assert (cut.status_code, demo.line.taken) == (422, {})
        assert client.post("/chat/messages", content=whole + b"--x--\r\n", headers=kind).status_code == 200


def test_a_file_over_the_limit_is_refused_with_the_limit(demo: Served) -> None:
    with demo.client() as client:
        answer = client.post(
            "/chat/messages", data={"id": ID}, files={"photo": ("big.jpg", b"x" * 2_000_001)}
        )
    assert answer.status_code == 413
    assert one_sentence(answer) == "That file is over 2 MB. Send a smaller copy."


def test_a_message_over_the_limit_as_a_whole_is_refused(demo: Served) -> None:
    files = [("photo", (f"{number}.jpg", b"x" * 1_900_000)) for number in range(4)]
    with demo.client() as client:
        answer = client.post("/chat/messages", data={"id": ID}, files=files)
    assert answer.status_code == 413
    one_sentence(answer)
    assert list(demo.shelf.folder.glob("*")) == []


def test_an_upload_that_is_cut_off_leaves_nothing(demo: Served) -> None:
    head = f"POST /chat/messages HTTP/1.1\r\nHost: 127.0.0.1:{demo.port}\r\nOrigin: {demo.url}\r\n"
    head += "Content-Type: multipart/form-data; boundary=x\r\nContent-Length: 9999\r\n\r\n"
    part = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="a"\r\n\r\n'
    with socket.create_connection(("127.0.0.1", demo.port)) as cut:
        cut.sendall(head.encode() + part)
    assert post(demo).status_code == 200
    assert len(demo.line.taken) == 1
    assert list(demo.shelf.folder.glob("*")) == []


def test_more_photos_than_allowed_or_a_file_under_another_name_are_refused(demo: Served) -> None:
    many = [("photo", (f"{number}.jpg", b"x")) for number in range(11)]
    with demo.client() as client:
        assert client.post("/chat/messages", data={"id": ID}, files=many).status_code == 422
        other = client.post("/chat/messages", data={"id": ID}, files={"paper": ("a.pdf", b"x")})
        assert other.status_code == 422
    assert list(demo.shelf.folder.glob("*")) == []


def test_a_store_that_takes_nothing_is_said_so_that_it_comes_again(demo: Served) -> None:
    demo.line.full = True
    answer = post(demo)
    assert answer.status_code == 503
    assert int(answer.headers["retry-after"]) > 0  # RFC 9110, 10.2.3
    one_sentence(answer)
    demo.line.full = False
    assert post(demo).json() == {"state": "taken", "again": False}


def test_a_fault_of_ours_is_a_sentence_too_and_shows_nothing_of_the_inside(demo: Served) -> None:
    answer = post(demo, text="break")
    assert answer.status_code == 500
    one_sentence(answer)
    assert "fault of ours" not in answer.text
    assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://elsewhere.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_message_from_another_site_is_refused(demo: Served, headers: dict[str, str]) -> None:
    with demo.client(**headers) as client:
        answer = client.post("/chat/messages", json={"id": ID, "text": "03"})
    assert answer.status_code == 403
    one_sentence(answer)
    assert demo.line.taken == {}


def test_a_message_written_by_somebody_else_on_this_phone_is_refused(demo: Served) -> None:
    assert post(demo, who="r2").status_code == 409
    assert post(demo, who="r1").status_code == 200
    assert len(demo.line.taken) == 1


def test_nobody_signed_in_is_told_how_to_come_in(crew: Served) -> None:
    answer = post(crew)
    assert answer.status_code == 401
    assert "sign-in link" in one_sentence(answer)
    assert crew.line.taken == {}
