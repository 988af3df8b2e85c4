"""SMS through the real gammu-smsd (Debian's 1.42, by libdbi on SQLite) and its dummy phone, both directions."""

from __future__ import annotations

import asyncio
import json
import signal
from pathlib import Path

import pytest
import smsutil

from bot.channels.sms_gammu import GONE_S, SmsGammu, reports
from bot.clock import SystemClock
from bot.model.errors import ChannelDown, StoreUnavailable
from bot.model.message import Incoming, MessageState, Outgoing, Receipt
from bot.model.modem import SentPart
from bot.ports import Hands, Line
from bot.wiring import House
from storage.gammu import GammuDatabase
from tests.channels.modem import Modem, modem
from tests.running import running, until, until_rows
from tests.talk import KEY, SETUP

R1, R2 = "+447700900001", "+447700900002"
BY_WEB = SETUP.replace('addresses = ["sms:+447700900004"]', 'addresses = ["web:s1"]')
RAWS = "SELECT text FROM raw_messages ORDER BY row"
EXTENSION = "place [quay] {2} ~3 ^ \\ | € at @ Ø_"


async def texts(house: House, count: int) -> list[str]:
    rows = await until_rows(house, RAWS, lambda rows: len(rows) >= count)
    assert len(rows) == count
    return [json.loads(text)["text"] for (text,) in rows]


def settings(made: Modem) -> dict[str, Path]:
    return {"sms_gammu": made.database}


async def test_a_phone_is_heard_and_answered_and_no_words_stay_in_the_modem_s_tables(url: str, tmp_path: Path) -> None:
    async with modem(tmp_path / "gw") as made, running(url, tmp_path, settings(made)) as house:
        made.say("07700 900001".replace(" ", ""), "04 spill thick now seal 5104 " + EXTENSION)
        answer = await made.hears(R1)
        assert answer.startswith("04 saved, not confirmed: spill, thick oil")
        assert EXTENSION.removeprefix("place ") in answer
        # The cuts are those of an independent implementation of 3GPP TS 23.040.
        cut = smsutil.split(answer)
        heard = made.rows("SELECT text, coding, udh FROM heard ORDER BY place")
        assert [text for text, _, _ in heard] == [part.content for part in cut.parts]
        assert {coding for _, coding, _ in heard} == {"Default_No_Compression"}
        said = await until_rows(house, "SELECT report FROM outbox", lambda rows: rows and rows[0][0])
        assert said == [("accepted",)]
        assert await until_rows(house, "SELECT address FROM raw_messages", len) == [(f"sms:{R1}",)]
        await until(lambda: made.rows("SELECT Processed, Text, TextDecoded FROM inbox") == [("true", "", "")])
        assert set(made.rows("SELECT Text, TextDecoded FROM sentitems")) == {("", "")}
        # The network's own word comes last, as the program writes it (gammu-smsd-tables, sentitems.Status).
        made.run("UPDATE sentitems SET Status = 'DeliveryOK'")
        assert await until_rows(house, "SELECT report FROM outbox", lambda rows: rows == [("delivered",)])


async def test_texts_of_every_sort_come_in_whole_and_go_out_as_they_were_said(url: str, tmp_path: Path) -> None:
    other = "place Ølbrygga μ ≤ 4°, “here” \U0001f6f6"
    long = "04 spill now seal 5104 place " + "at the third ladder from the lamp " * 4 + "Корнилий \U0001f6f6 "
    async with modem(tmp_path / "gw") as made, running(url, tmp_path, settings(made)) as house:
        made.say(R1, other)
        made.say(R2, "one+", "050003070301")
        made.say(R2, "three €", "050003070303")
        made.say(R2, "two+", "050003070302")
        assert sorted(await texts(house, 2)) == sorted([other, "one+two+three €"])
        for place, part in enumerate(smsutil.split(long).parts, 1):
            made.say(R1, part.content, f"060804000B{len(smsutil.split(long).parts):02X}{place:02X}")
        assert (await texts(house, 3))[2] == long
        answer = await made.hears(R1, "04 saved")
        assert "Корнилий \U0001f6f6" in answer
        assert made.rows("SELECT COUNT(*), MAX(coding) FROM heard WHERE text LIKE '04 saved%'") == [(1, "Unicode_No_Compression")]
        [(id_,)] = made.rows("SELECT id FROM heard WHERE text LIKE '04 saved%'")
        heard = made.rows(f"SELECT text FROM heard WHERE id = {id_} ORDER BY place")
        assert len(heard) == len(smsutil.split(answer).parts) > 1


async def test_a_killed_program_loses_nothing_and_one_supervisor_notice_goes_out(url: str, tmp_path: Path) -> None:
    lines: list[Line] = []
    seen = "SELECT MAX(UpdatedInDB) FROM phones"
    async with modem(tmp_path / "gw") as made:
        await until(lambda: made.rows(seen) != [(None,)])
        async with running(
            url, tmp_path, settings(made), setup=BY_WEB, told_after_s=0.2, tune=lines.append
        ) as house:
            await _killed_and_back(made, house, lines[0], seen)


async def _killed_and_back(made: Modem, house: House, line: Line, seen: str) -> None:
    assert isinstance(line, SmsGammu)
    made.say(R1, "04 spill thick now seal 5104")
    await made.hears(R1, "04 saved")
    await made.stop(signal.SIGKILL)
    line.gone_s = 1.0
    notice = await until_rows(house, "SELECT doc FROM outbox WHERE address = 'web:s1'", len)
    assert "gammu-smsd has stopped, or its modem is gone" in json.loads(notice[0][0])["text"]
    async with house.store.work() as work, asyncio.timeout(5):
        await work.queue([_text("Read cooler M.")], "run", house.clock.now_us(), {f"sms:{R2}"})
    house.pump.ring()
    sql = f"SELECT state, attempts FROM outbox WHERE address = 'sms:{R2}' AND problem IS NOT NULL"
    assert await until_rows(house, sql, len) == [("waiting", 0)]
    made.say(R1, "fill 3/4")
    before = made.rows(seen)
    await made.start()
    await until(lambda: made.rows(seen) != before)
    line.gone_s = GONE_S
    assert await made.hears(R2) == "Read cooler M."
    await made.hears(R1, "fill 3/4")
    assert await texts(house, 2) == ["04 spill thick now seal 5104", "fill 3/4"]
    assert len(await until_rows(house, "SELECT doc FROM outbox WHERE address = 'web:s1'", len)) == 1


async def test_a_text_that_the_program_gives_twice_after_a_kill_counts_once(url: str, tmp_path: Path) -> None:
    async with modem(tmp_path / "gw") as made:
        made.say(R1, "04 spill thick now ", "050003070201")
        made.say(R1, "seal 5104", "050003070202")
        await until(lambda: len(made.rows("SELECT ID FROM inbox")) == 2)
        await made.stop(signal.SIGKILL)
        kept = "ReceivingDateTime, Text, SenderNumber, Coding, UDH, TextDecoded, RecipientID"
        made.run(f"CREATE TABLE kept AS SELECT {kept} FROM inbox ORDER BY ID")
        again = f"INSERT INTO inbox ({kept}) SELECT {kept} FROM kept"
        made.run(again + " LIMIT 1")  # saved, and killed before its phone had let it go
        await made.start()
        async with running(url, tmp_path, settings(made)) as house:
            await made.hears(R1, "04 saved")
            made.run(again)
            await until(lambda: made.rows("SELECT COUNT(*) FROM inbox WHERE Processed = 'false'") == [(0,)])
            assert await texts(house, 1) == ["04 spill thick now seal 5104"]
            assert await until_rows(house, "SELECT row FROM outbox", len) == [(1,)]


def _text(words: str, **more: object) -> Outgoing:
    return Outgoing(channel="sms", account=R2, person="R2", text=words, queued_us=1).model_copy(update=more)


async def _reported(row: int, report: str) -> None: ...


async def _moved(old: str, new: str) -> None: ...


async def test_what_was_not_stored_is_not_acknowledged_and_comes_again(tmp_path: Path) -> None:
    (tmp_path / "gw").mkdir()
    made = Modem(tmp_path / "gw")
    insert = "INSERT INTO inbox (Text, SenderNumber, UDH, RecipientID) VALUES"
    made.run(f"{insert} ('0041', '{R1}', '', ''), ('0042', '{R2}', '', ''), ('0043', '{R1}', '050003070201', '')")
    asked: list[str] = []

    async def take(message: Incoming) -> Receipt:
        asked.append(message.text)
        if message.text == "A" and len(asked) == 1:
            raise StoreUnavailable("The store's disk is full; free some space and send again.")
        return Receipt(state=MessageState.TAKEN)

    line = SmsGammu(GammuDatabase(made.database), SystemClock(), KEY)
    hands = Hands(take=take, reported=_reported, moved=_moved, region=lambda: "GB")
    with pytest.raises(StoreUnavailable):
        await line.take_in(hands)
    assert made.rows("SELECT ID, Processed, Text FROM inbox") == [(1, "false", "0041"), (2, "true", ""), (3, "false", "0043")]
    await line.take_in(hands)
    assert asked == ["A", "B", "A"]
    # A part that waited long for the others is handed over as it is, but not while the program is away.
    made.run("DROP TRIGGER update_inbox_time; UPDATE inbox SET UpdatedInDB = '2026-10-12 08:00:00' WHERE ID = 3")
    await line.take_in(hands)
    line.trouble = None
    await line.take_in(hands)
    assert asked == ["A", "B", "A", "C"]
    assert made.rows("SELECT DISTINCT Processed FROM inbox") == [("true",)]


async def test_a_text_that_may_have_been_placed_already_is_placed_once(tmp_path: Path) -> None:
    (tmp_path / "gw").mkdir()
    made = Modem(tmp_path / "gw")
    line = SmsGammu(GammuDatabase(made.database), SystemClock(), KEY)
    with pytest.raises(ChannelDown, match="not reached yet"):
        await line.send(_text("Read cooler M.", row=7))
    line.trouble = None
    await line.send(_text("Read cooler M.", row=7))
    await line.send(_text("Read cooler M.", row=7, again=True))
    await line.send(_text("Read cooler M.", row=8, again=True))
    assert made.rows("SELECT CreatorID FROM outbox") == [("coldjar 7 1",), ("coldjar 8 1",)]


@pytest.mark.parametrize(
    ("states", "said"),
    [
        (["DeliveryOK", "DeliveryOK"], "delivered"),
        (["DeliveryOK", "SendingOK"], "accepted"),
        (["DeliveryOK", "DeliveryFailed"], "undelivered"),
        (["SendingOKNoReport"], "accepted"),
        (["SendingError"], "refused"),
    ],
)
def test_a_long_text_is_delivered_once_each_part_is(states: list[str], said: str) -> None:
    # The states are those of gammu-smsd-tables(7), sentitems.Status.
    assert reports([SentPart("coldjar 1 1", state) for state in states]) == {"coldjar 1 1": said}
