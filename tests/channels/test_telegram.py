"""Telegram against a Bot API emulator of other people, by polling: every action of a phone, every error."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import piexif
import pytest
from PIL import Image

from bot.clock import SystemClock
from bot.phone_lines import telegram_line
from bot.settings import Settings
from bot.show import show
from bot.wiring import House
from tests.channels.bot_api import TOKEN, BotApi, bot_api
from tests.running import running, until, until_rows
from tests.talk import SETUP

# The library warns of its own next release whenever an error says how long to wait.
pytestmark = pytest.mark.filterwarnings("ignore:Deprecated since version v22.2")
R1, R2, S1, GROUP = 501, 502, 504, -700
UNIT = (
    SETUP.replace('"sms:+447700900001", "web:r1"', f'"telegram:{R1}", "sms:+447700900001"')
    .replace('"sms:+447700900002"', f'"telegram:{R2}"')
    .replace('"sms:+447700900004"', f'"telegram:{S1}"')
    .replace('"sms:+447700900003"', f'"telegram:{GROUP}"')
)
RAWS = "SELECT text FROM raw_messages ORDER BY row"
JAR = "04 spill thick now 47.2852N 19.9478W jar seal 5104"


def settings(api: BotApi) -> dict[str, Any]:
    return {"telegram_token": TOKEN, "telegram_api": api.url}


async def raws(house: House, count: int) -> list[dict[str, Any]]:
    rows = await until_rows(house, RAWS, lambda rows: len(rows) >= count)
    return [json.loads(text) for (text,) in rows]


def jpeg(shot: str | None = None) -> bytes:
    held = io.BytesIO()
    exif = piexif.dump({"Exif": {piexif.ExifIFD.DateTimeOriginal: shot.encode()}}) if shot else b""
    Image.new("RGB", (64, 48), "grey").save(held, "JPEG", exif=exif)
    return held.getvalue()


async def test_a_phone_is_heard_and_answered_and_the_menu_stands(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.says(R1, JAR)
        answer = await api.hears(R1)
        assert answer.fields["text"].startswith("04 saved, not confirmed: spill, thick oil")
        menu = next(call for call in api.calls if call.method == "setMyCommands")
        assert {"command": "jar", "description": "begin a jar"} in menu.fields["commands"]
        await api.says(R1, "/status@some_line")
        assert (await api.hears(R1)).fields["text"].startswith("CH-014: your last jar is 04.")
        assert [raw["text"] for raw in await raws(house, 2)] == [JAR, "status"]
        await until(lambda: api._update_queues._state(TOKEN).updates == [])  # confirmed by the offset, after the commit


async def test_a_button_carries_its_question_and_pressed_later_changes_nothing(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        for text in ("/jar", "mate, cleared", "yes", "03"):
            await api.says(R1, text)
        kind = await api.hears(R1, "what is it?")
        assert [row[0]["text"] for row in kind.fields["reply_markup"]["inline_keyboard"]][:2] == ["spill", "suspect source"]
        data = await api.presses(R1, kind, "spill")
        assert data.startswith("kind/")
        assert len(data.encode()) <= 64
        matrix = await api.hears(R1, "how does the oil lie?")
        await api.presses(R1, kind, "suspect source")
        assert "belongs to an earlier question" in (await api.hears(R1)).fields["text"]
        await api.presses(R1, matrix, "SKIP")
        await api.hears(R1, "New gloves")
        await until(lambda: sum(call.method == "answerCallbackQuery" for call in api.calls) == 3)
        rows = await until_rows(house, "SELECT doc FROM samples", len)
        assert json.loads(rows[0][0])["facts"]["kind"]["value"] == "spill"


async def test_a_shared_position_is_the_place(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.says(R1, "04 spill thick now seal 5104")
        await api.hears(R1)
        place = {"latitude": 47.2852, "longitude": -19.9478, "horizontal_accuracy": 12.0}
        await api.sends(R1, location=place)
        await api.hears(R1, "47.2852")
        rows = await until_rows(house, "SELECT doc FROM samples", len)
        value = json.loads(rows[0][0])["facts"]["position"]["value"]
        assert (value["lat"], value["lon"], value["source"], value["accuracy_m"]) == (47.2852, -19.9478, "shared", 12)


async def test_a_photo_is_fetched_and_on_record_and_the_loss_of_camera_facts_is_said(url: str, tmp_path: Path) -> None:
    data = jpeg()
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.says(R1, JAR)
        await api.hears(R1)
        await api.sends(R1, photo=api.photo(data), caption="04")
        rows = await until_rows(house, "SELECT doc FROM samples", lambda rows: '"received"' in rows[0][0])
        [photo] = json.loads(rows[0][0])["photos"]
        assert await house.originals.read(photo["sha256"]) == data


async def test_an_album_is_one_batch_with_one_question(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.says(R1, JAR)
        await api.hears(R1)
        for place in range(3):
            await api.sends(R1, photo=api.photo(jpeg() + bytes([place])), media_group_id="a1")
        assert (await api.hears(R1)).fields["text"].startswith("3 file seen. It is on record when it is here.")
        assert (await api.hears(R1)).fields["text"].startswith("3 photo kept. Which jar does it show?")
        await api.says(R1, "04")
        await api.hears(R1, "3 photo with 04")
        assert len(await raws(house, 4)) == 4


async def test_a_document_keeps_what_its_camera_wrote(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT):
        await api.says(R1, JAR)
        await api.hears(R1)
        document = api.file(jpeg("2020:01:01 10:16:00")) | {"file_name": "jar.jpg", "mime_type": "image/jpeg"}
        await api.sends(R1, document=document, caption="04")
        assert "camera time differs by" in (await api.hears(R1, "camera")).fields["text"]


async def test_a_voice_note_is_kept_and_listed_to_be_typed_and_gives_no_value(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.sends(R1, voice=api.file(b"OggS 04 spill") | {"duration": 3, "mime_type": "audio/ogg"})
        assert "A person must type it" in (await api.hears(R1)).fields["text"]
        rows = await until_rows(house, "SELECT doc FROM photos", len)
        assert json.loads(rows[0][0])["photo"]["problem"] == "voice"
        [listed] = await show(house.store.database, "photos", None)
        assert listed["flags"] == ["to be typed by a person"]
        assert await until_rows(house, "SELECT COUNT(*) FROM samples", len) == [(0,)]


async def test_an_edit_is_a_proposed_correction_and_counts_only_when_agreed(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.says(R1, "04 spill thick now seal 5104")
        await api.hears(R1)
        await api.edits(R1, "04 seal is 5105 not 5104, misread")
        asked = await api.hears(R1, "You edited a text. What you sent first stands.")
        rows = await until_rows(house, "SELECT seal FROM samples", len)
        assert rows == [("5104",)]
        assert asked.fields["text"].endswith("OK or NO.")
        await api.says(R1, "ok")
        await api.hears(R1, '04 seal 5105, was 5104: "misread"')


async def test_what_is_no_word_of_theirs_is_refused_in_words(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.sends(R1, contact={"phone_number": "+447700900999", "first_name": "Someone"})
        assert (await api.hears(R1)).fields["text"].startswith("No contacts here")
        sticker = api.file(b"x") | {"type": "regular", "width": 9, "height": 9, "is_animated": False, "is_video": False}
        await api.sends(R1, sticker=sticker)
        assert (await api.hears(R1)).fields["text"].startswith("This line takes texts")
        assert "Someone" not in json.dumps(await raws(house, 2))
        assert "900999" not in json.dumps(await raws(house, 2))


async def test_an_update_that_cannot_be_read_is_kept_and_holds_up_nothing(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.push("message", {"message_id": "seven", "chat": {"id": R1}}, checked=False)
        await api.push("message", {"message_id": 8, "date": "noon", "chat": "nowhere"}, checked=False)
        await api.says(R1, "?")
        await api.hears(R1, "JAR")
        rows = await until_rows(house, "SELECT state, text FROM raw_messages ORDER BY row", lambda rows: len(rows) == 3)
        assert [state for state, _ in rows] == ["parked", "parked", "taken"]
        assert '\\"message_id\\": \\"seven\\"' in rows[0][1]


async def test_a_file_over_the_limit_is_refused_in_a_sentence(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.sends(R1, document=api.file(b"x") | {"file_size": 20_000_001, "file_name": "long.mov"})
        assert "over 20 MB" in (await api.hears(R1)).fields["text"]
        assert await until_rows(house, "SELECT COUNT(*) FROM due WHERE kind = 'fetch'", len) == [(0,)]


async def test_a_blocked_line_gives_up_at_once_and_the_supervisor_hears(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        api.refuse("sendMessage", 403, "Forbidden: bot was blocked by the user")
        await api.says(R1, "?")
        assert "blocked" in (await api.hears(S1)).fields["text"]
        rows = await until_rows(house, "SELECT state FROM outbox ORDER BY row", len)
        assert rows[0] == ("given_up",)


async def test_when_telegram_says_wait_everybody_waits_and_no_try_is_counted(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        api.refuse("sendMessage", 429, "Too Many Requests: retry after 2", retry_after=2)
        await api.says(R1, "?")
        await until(lambda: not api.refusals["sendMessage"])
        await api.says(R2, "?")
        first, second = await api.hears(R2), await api.hears(R1)
        asked = next(call.at_s for call in api.calls if call.method == "sendMessage")
        assert min(first.at_s, second.at_s) == asked
        rows = await until_rows(
            house, "SELECT attempts, state FROM outbox ORDER BY row", lambda rows: [s for _, s in rows] == ["sent"] * 2
        )
        assert [attempts for attempts, _ in rows] == [1, 1]


async def test_a_group_that_moved_is_followed_on_record(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        api.refuse("sendMessage", 400, "Bad Request: group chat was upgraded", migrate_to_chat_id=-100700)
        await api.push("message", api.body(GROUP, group=True, text="?"))
        await api.hears(-100700)
        rows = await until_rows(house, "SELECT address, person FROM addresses WHERE address LIKE 'telegram:-%'", len)
        assert ("telegram:-100700", "C1") in rows


@pytest.mark.parametrize(
    ("status", "words", "trouble"),
    [
        (401, "Unauthorized", "Telegram refuses the token"),
        (409, "Conflict: terminated by other getUpdates request", "another program takes this bot's messages"),
        (502, "Bad Gateway", "Telegram is not reached"),
    ],
)
async def test_a_trouble_with_telegram_is_told_once_by_another_way_and_passes(
    url: str, tmp_path: Path, status: int, words: str, trouble: str
) -> None:
    by_web = UNIT.replace(f'"telegram:{S1}"', '"web:s1"')
    async with bot_api() as api:
        for _ in range(30):
            api.refuse("getUpdates", status, words)
        async with running(url, tmp_path, settings(api), setup=by_web, told_after_s=0.5) as house:
            rows = await until_rows(house, "SELECT doc FROM outbox WHERE address = 'web:s1'", len)
            assert trouble in json.loads(rows[0][0])["text"]
            api.refusals.clear()
            if status == 401:
                return  # a token is not asked about again at once
            await api.says(R1, "?")
            await api.hears(R1, "JAR")  # it came back by itself
            assert len(await until_rows(house, "SELECT doc FROM outbox WHERE address = 'web:s1'", len)) == 1


async def test_a_button_already_gone_is_no_error(url: str, tmp_path: Path) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT):
        await api.says(R1, JAR)
        shown = await api.hears(R1)
        api.refuse("editMessageReplyMarkup", 400, "Bad Request: message is not modified")
        api.refuse("answerCallbackQuery", 400, "Bad Request: query is too old")
        await api.presses(R1, shown, "OK")
        await api.hears(R1, "04 on record")
        await api.says(R1, "?")
        await api.hears(R1)


async def test_check_says_what_is_wrong_with_the_token_or_the_webhook() -> None:
    async with bot_api() as api:
        line = telegram_line(Settings(**settings(api)), SystemClock())
        assert line is not None
        assert await line.check() == []
        api.refuse("getMe", 401, "Unauthorized")
        again = telegram_line(Settings(**settings(api)), SystemClock())
        assert again is not None
        assert await again.check() == ["Telegram refuses telegram_token; ask its maker for the one in force."]
        api._update_queues._state(TOKEN).url = "https://elsewhere.example/hook"
        pushed = telegram_line(Settings(**settings(api)), SystemClock())
        assert pushed is not None
        assert (await pushed.check())[0].startswith("Telegram pushes this bot's messages elsewhere")


async def test_a_photo_that_comes_late_is_of_whoever_sent_it_and_not_of_who_speaks_there_then(
    url: str, tmp_path: Path
) -> None:
    async with bot_api() as api, running(url, tmp_path, settings(api), setup=UNIT) as house:
        await api.says(R1, "R2 speaking")
        await api.hears(R1, "R2 speaks on R1's phone")
        await api.says(R1, JAR)
        await api.hears(R1, "04 saved")
        api.refuse("getFile", 429, "Too Many Requests: retry after 2", retry_after=2)
        await api.sends(R1, photo=api.photo(jpeg()), caption="04")
        await until(lambda: not api.refusals["getFile"])
        await api.says(R1, "R1 speaking")
        await api.hears(R1, "R1 speaks on this phone again.")
        await api.says(R1, "jar")
        asked = await api.hears(R1, "in charge of safety")
        await until_rows(house, "SELECT doc FROM samples", lambda rows: '"received"' in rows[0][0])
        async with house.store.database.read() as tx:
            [(kept,)] = await tx.rows("SELECT text FROM entries WHERE kind = 'PhotoKept'")
        assert (json.loads(kept)["author"], json.loads(kept)["phone"]) == ("R2", "R1")
        assert api.sent.empty(), "R1 was told nothing of R2's jar"
        await api.says(R1, "mate, cleared")
        assert "Phone and camera allowed" in (await api.hears(R1)).fields["text"], asked
