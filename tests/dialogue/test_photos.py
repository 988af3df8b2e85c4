"""Photos in the dialogue: to the jar being asked about, by caption, or kept in a pile that stays visible."""

from __future__ import annotations

from bot.model.message import Attachment, Fetched, Incoming
from tests.talk import ADDRESSES, Talk

LINE = "03 spill sheen 0902 47.2830N 19.9510W pad seal 5103"


def photo(letter: str = "a", **facts: object) -> Attachment:
    return Attachment.model_validate(
        {"sha256": letter * 64, "size": 1000, "media_type": "image/jpeg", "name": f"{letter}.jpg", **facts}
    )


async def test_a_photo_with_the_number_as_caption_goes_to_that_jar(talk: Talk) -> None:
    await talk.says("R1", LINE)
    answer = await talk.says("R1", "03", files=(photo(),))
    assert "1 photo" in answer
    assert (await talk.jar("03"))["photos"] == [
        {"sha256": "a" * 64, "state": "received", "camera_time": None}
    ]


async def test_a_photo_that_answers_the_question_goes_to_the_jar_being_led(talk: Talk) -> None:
    for text in ("jar", "mate, cleared", "yes", "03", "1", "1", "shut 0902 pad", "47.2830N 19.9510W", "5103"):
        await talk.says("R1", text)
    assert "cooler" in await talk.says("R1", "", files=(photo(),))
    assert len((await talk.jar("03"))["photos"]) == 1


async def test_a_photo_without_a_jar_is_kept_asked_about_once_and_stays_visible(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "ok")
    await talk.says("R1", "stop")
    assert "Which jar does it show?" in await talk.says("R1", "", files=(photo("b"),))
    await talk.says("R1", "stop")
    assert "Photos without a jar: 1." in await talk.says("R1", "status")
    assert [(one["sha256"][0], one["sample"]) for one in await talk.show("photos")] == [("b", None)]


async def test_a_batch_is_assigned_by_one_answer(talk: Talk) -> None:
    await talk.says("R1", LINE)
    await talk.says("R1", "ok")
    await talk.says("R1", "", files=(photo("b"), photo("c")))
    assert await talk.says("R1", "03") == "2 photo with 03."
    assert len((await talk.jar("03"))["photos"]) == 2


async def test_a_file_that_comes_takes_the_place_of_one_that_was_announced(talk: Talk) -> None:
    await talk.says("R1", LINE + " photo")
    assert [one["state"] for one in (await talk.jar("03"))["photos"]] == ["declared"]
    await talk.says("R1", "03", files=(photo(),))
    assert [one["state"] for one in (await talk.jar("03"))["photos"]] == ["received"]


async def test_a_camera_that_disagrees_with_what_was_said_is_queried_by_the_difference_alone(
    talk: Talk,
) -> None:
    await talk.says("R1", LINE)
    shot = photo(
        "d", camera_time="2026-10-12T10:02:00", camera_offset="+01:00", camera_position=(47.3830, -19.9510)
    )
    answer = await talk.says("R1", "03", files=(shot,))
    jar = await talk.jar("03")
    texts = {query["rule"]: query["text"] for query in jar["queries"]}
    assert texts == {
        "photo_time": "Its photo's camera time differs by 60 min from the time told.",
        # 0.1 degree of latitude at 47.3 N is 11.1 km (GeographicLib: 11 117 m).
        "photo_place": "Its photo's camera place lies 11 km from the place told.",
    }
    assert "10:02" not in answer, "the camera's time is not proposed"
    assert jar["event_time"] == "2026-10-12T09:02:00+01:00"


async def test_a_broken_file_gets_a_sentence_and_is_kept(talk: Talk) -> None:
    await talk.says("R1", LINE)
    answer = await talk.says("R1", "", files=(photo("e", problem="broken"),))
    assert "does not open as a photo. It is kept" in answer
    assert len(await talk.show("photos")) == 1


async def test_a_file_sent_with_a_command_is_kept_too(talk: Talk) -> None:
    await talk.says("R1", "status", files=(photo("f"),))
    assert [one["sha256"][0] for one in await talk.show("photos")] == ["f"]


async def test_a_strangers_file_is_named_by_its_message_alone(talk: Talk) -> None:
    await talk.says("sms:+447700900099", "look", files=(photo("9"),))
    assert await talk.show("photos") == []
    assert (await talk.verdict()).found == ()


async def test_a_file_that_is_no_photo_leaves_the_jar_unconfirmed_and_says_so(talk: Talk) -> None:
    await talk.says("R1", LINE)
    answer = await talk.says("R1", "03", files=(photo("e", problem="not_image"),))
    assert answer.startswith("That file is not a photo. It is kept as it came. 03 saved, not confirmed: spill")
    assert "on record" not in answer
    assert not (await talk.jar("03"))["confirmed"]
    assert (await talk.says("R1", "ok")).startswith("03 on record.")
    assert (await talk.jar("03"))["confirmed"]


async def test_a_file_that_comes_after_its_phone_was_revoked_is_its_senders_and_nobody_is_answered(talk: Talk) -> None:
    await talk.says("R1", LINE)
    (jar,) = await talk.show("samples")
    await talk.says("S1", "revoke R1")
    channel, _, account = ADDRESSES["R1"].partition(":")
    came = Incoming(
        channel=channel,
        account=account,
        message_id="m-files",
        received_us=talk.clock.now_us(),
        text="03",
        attachments=(photo("c"),),
        fetched=Fetched(sample=jar["id"], by="R1"),
    )
    talk.sent.clear()
    await talk.take(came)
    assert talk.sent == []
    kept = [entry for entry in await talk.show("entries", "CH-014") if entry["kind"] == "PhotoKept"]
    assert [(entry["author"], entry["body"]["photo"]["sha256"][0]) for entry in kept] == [("R1", "c")]
